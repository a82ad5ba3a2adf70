import { timeFromText } from '../../units/time-text.js';

/** In which order the parts of a date stand. */
export type DateOrder = 'day-month-year' | 'month-day-year' | 'year-month-day';

/** All orders, in the order of messages. */
export const DATE_ORDERS: readonly DateOrder[] = ['day-month-year', 'month-day-year', 'year-month-day'];

/** A date that is not written as ISO 8601 has it, with a time of day. */
export interface LocalDate {
  /** The date as written, without the time. */
  readonly dateText: string;
  /** Its three parts as they stand there; the name of a month as its number. */
  readonly parts: readonly [number, number, number];
  /** The orders in which the parts make a date. */
  readonly orders: readonly DateOrder[];
  /** Time of day, s, whole and the rest. */
  readonly wholeS: number;
  readonly fractionS: number;
}

const LOCAL =
  /^(?:(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*,?\s+)?((\d{1,4})([./ -])(\d{1,2}|[a-z]{3,9}\.?)\3(\d{1,4}))(?:,?\s+|t)(\d{1,2}):([0-5]\d)(?::([0-5]\d|60)(?:[.,](\d{1,9})\d*)?)?\s*([ap]\.?m\.?)?$/i;
/** The name of the month before the day: `May 9, 2031 14:30:00`. */
const MONTH_FIRST =
  /^(?:(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*,?\s+)?(([a-z]{3,9})\.?[ -](\d{1,2})(?:,\s*|[ -])(\d{4}|\d\d))(?:,?\s+|t)(\d{1,2}):([0-5]\d)(?::([0-5]\d|60)(?:[.,](\d{1,9})\d*)?)?\s*([ap]\.?m\.?)?$/i;
const TWELVE_HOURS = /^(\d{1,2}):([0-5]\d):([0-5]\d|60)(?:[.,](\d{1,9})\d*)?\s*([ap]\.?m\.?)$/i;
const MONTHS = ['jan', 'feb', 'mar', 'apr', 'may', 'jun', 'jul', 'aug', 'sep', 'oct', 'nov', 'dec'];

/** `00:00:00` behind a date, as programs write it that know dates with a time only. */
const MIDNIGHT = /(?:\s+|t)(?:0?0:00(?::00(?:[.,]0+)?)?|12:00(?::00)?\s*a\.?m\.?)$/i;

/**
 * Reads `9.5.2031 14:30:00`, `05/09/2031 2:30:00 PM`, `9-May-31 14:30`, `May 9, 2031 14:30`: which of the numbers is the day
 * is left open where the numbers themselves leave it open. Undefined for anything else.
 */
export function localDateFromText(text: string): LocalDate | undefined {
  const match = LOCAL.exec(text);
  if (match === null) return monthFirstDate(text);
  const named = /^[a-z]/i.test(match[4]);
  const month = named ? monthOf(match[4]) : Number(match[4]);
  const time = timeOfDay(match[6], match[7], match[8], match[9], match[10]);
  if (time === undefined || (named && month === 0)) return undefined;
  const parts = [Number(match[2]), month, Number(match[5])] as const;
  const digits = [match[2].length, 0, match[5].length] as const;
  const orders = DATE_ORDERS.filter(
    (order) => !(named && order === 'month-day-year') && isDate(parts, digits, order),
  );
  return orders.length === 0 ? undefined : { dateText: match[1], parts, orders, ...time };
}

function monthFirstDate(text: string): LocalDate | undefined {
  const match = MONTH_FIRST.exec(text);
  if (match === null) return undefined;
  const time = timeOfDay(match[5], match[6], match[7], match[8], match[9]);
  const parts = [monthOf(match[2]), Number(match[3]), Number(match[4])] as const;
  if (time === undefined || !isDate(parts, [2, 0, match[4].length], 'month-day-year')) return undefined;
  return { dateText: match[1], parts, orders: ['month-day-year'], ...time };
}

/** 1 to 12; 0 for a word that is no month. */
function monthOf(word: string): number {
  return MONTHS.indexOf(word.slice(0, 3).toLowerCase()) + 1;
}

/** The text without the midnight behind it, where that is all the time it tells. */
export function withoutMidnight(text: string): string {
  return text.replace(MIDNIGHT, '');
}

/** Whether the text is a date without a time of day but midnight, as it stands in a column of its own. */
export function isDateAlone(text: string): boolean {
  const date = withoutMidnight(text);
  if (date.includes(':')) return false;
  const midnight = `${date} 00:00:00`;
  return timeFromText(midnight)?.form === 'local' || localDateFromText(midnight) !== undefined;
}

/** Whether the text is a time of day, which makes a date and time behind a date: with a zone or without. */
export function isTimeOfDay(text: string): boolean {
  if (!/^\d{1,2}:/.test(text)) return false;
  const onSomeDay = `2031-05-09 ${text}`;
  return timeFromText(onSomeDay) !== undefined || localDateFromText(onSomeDay) !== undefined;
}

/** A clock of twelve hours, `2:30:00 PM`, as seconds since midnight. */
export function twelveHourTime(
  text: string,
): { readonly wholeS: number; readonly fractionS: number } | undefined {
  const match = TWELVE_HOURS.exec(text);
  return match === null ? undefined : timeOfDay(match[1], match[2], match[3], match[4], match[5]);
}

function timeOfDay(
  hourText: string,
  minute: string,
  second: string | undefined,
  fraction: string | undefined,
  half: string | undefined,
): { readonly wholeS: number; readonly fractionS: number } | undefined {
  let hour = Number(hourText);
  if (half !== undefined) {
    if (hour < 1 || hour > 12) return undefined;
    hour = (hour % 12) + (/^p/i.test(half) ? 12 : 0);
  }
  if (hour > 23) return undefined;
  return {
    wholeS: hour * 3600 + Number(minute) * 60 + Number(second ?? 0),
    fractionS: fraction === undefined ? 0 : Number(fraction) / 10 ** fraction.length,
  };
}

/** Days since 1970-01-01 of a date whose parts stand in that order; years of two digits are of this century. */
export function dayNumber(parts: readonly [number, number, number], order: DateOrder): number {
  const [year, month, day] = inOrder(parts, order);
  return Date.UTC(year < 100 ? 2000 + year : year, month - 1, day) / 86_400_000;
}

function inOrder(
  [a, b, c]: readonly [number, number, number],
  order: DateOrder,
): readonly [year: number, month: number, day: number] {
  return order === 'day-month-year' ? [c, b, a] : order === 'month-day-year' ? [c, a, b] : [a, b, c];
}

function isDate(
  parts: readonly [number, number, number],
  digits: readonly [number, number, number],
  order: DateOrder,
): boolean {
  const yearDigits = order === 'year-month-day' ? digits[0] : digits[2];
  const dayDigits = order === 'year-month-day' ? digits[2] : digits[0];
  if ((yearDigits !== 2 && yearDigits !== 4) || dayDigits > 2) return false;
  const [, month, day] = inOrder(parts, order);
  if (month < 1 || month > 12 || day < 1 || day > 31) return false;
  const date = new Date(dayNumber(parts, order) * 86_400_000);
  return date.getUTCDate() === day;
}
