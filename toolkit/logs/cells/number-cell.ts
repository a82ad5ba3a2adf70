import { decodeBytes } from './decode.js';
import { longQuotient } from './long-decimal.js';
import { POWERS_OF_TEN } from './powers-of-ten.js';

const COMMA = 44;

/**
 * The number written in `bytes[start, end)`, or NaN if it is not plain enough to be read here.
 *
 * Reads an optional sign, digits with one decimal mark, an optional exponent, blanks around. With at most 15 digits
 * the digits are an exact integer, and one multiplication or division by an exact power of ten (at most 10^22) is
 * correctly rounded [Clinger1990]; longer ones are left to `longQuotient`, and the rest to `Number`.
 */
export function numberFromBytes(bytes: Uint8Array, start: number, end: number, decimalByte: number): number {
  let i = start;
  while (i < end && (bytes[i] === 32 || bytes[i] === 9)) i++;
  while (end > i && (bytes[end - 1] === 32 || bytes[end - 1] === 9)) end--;
  let isNegative = false;
  if (i < end) {
    const sign = bytes[i];
    if (sign === 45) {
      isNegative = true;
      i++;
    } else if (sign === 43) i++;
  }
  const firstDigit = i;
  let digits = 0;
  let digit = 0;
  for (; i < end; i++) {
    digit = bytes[i] - 48;
    if (digit < 0 || digit > 9) break;
    digits = digits * 10 + digit;
  }
  let digitCount = i - firstDigit;
  let exponent = 0;
  if (i < end && bytes[i] === decimalByte) {
    const firstDecimal = ++i;
    for (; i < end; i++) {
      digit = bytes[i] - 48;
      if (digit < 0 || digit > 9) break;
      digits = digits * 10 + digit;
    }
    exponent = firstDecimal - i;
    digitCount -= exponent;
  }
  if (digitCount === 0) return Number.NaN;
  const digitsEnd = i;
  if (i < end) {
    if ((bytes[i] | 32) !== 101) return Number.NaN;
    i++;
    let exponentSign = 1;
    if (i < end && (bytes[i] === 45 || bytes[i] === 43)) {
      if (bytes[i] === 45) exponentSign = -1;
      i++;
    }
    const firstExponentDigit = i;
    let written = 0;
    for (; i < end; i++) {
      digit = bytes[i] - 48;
      if (digit < 0 || digit > 9) return Number.NaN;
      written = written * 10 + digit;
    }
    if (i === firstExponentDigit || i - firstExponentDigit > 3) return Number.NaN;
    exponent += exponentSign * written;
  }
  if (digitCount > 15 || exponent < -22 || exponent > 22) {
    const isQuotient = exponent < 0 && exponent >= -22;
    const value = isQuotient ? longQuotient(bytes, firstDigit, digitsEnd, -exponent) : Number.NaN;
    if (Number.isNaN(value)) return fromText(bytes, start, end, decimalByte);
    return isNegative ? -value : value;
  }
  if (exponent < 0) digits /= POWERS_OF_TEN[-exponent];
  else if (exponent > 0) digits *= POWERS_OF_TEN[exponent];
  return isNegative ? -digits : digits;
}

/** A number that was found to be plain, by its text; NaN where it is too large. */
function fromText(bytes: Uint8Array, start: number, end: number, decimalByte: number): number {
  const text = decodeBytes(bytes.subarray(start, end));
  const value = Number(decimalByte === COMMA ? text.replace(',', '.') : text);
  return Number.isFinite(value) ? value : Number.NaN;
}

const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/;

/** A number whose thousands are set apart, by the mark that is not the decimal one, a blank or an apostrophe. */
const GROUPED: Readonly<Record<'.' | ',', RegExp>> = {
  '.': /^[+-]?\d{1,3}(?:,\d{3})+(?:\.\d*)?$|^[+-]?\d{1,3}(?:[ \u00a0\u2009\u202f'’]\d{3})+(?:\.\d*)?$/,
  ',': /^[+-]?\d{1,3}(?:\.\d{3})+(?:,\d*)?$|^[+-]?\d{1,3}(?:[ \u00a0\u2009\u202f'’]\d{3})+(?:,\d*)?$/,
};

/** The number a cell's text stands for, correctly rounded, or NaN if it is none. */
export function numberFromText(text: string, decimal: '.' | ','): number {
  let plain = text.trim();
  if (decimal === '.' && NUMBER.test(plain)) return Number(plain);
  plain = plain.replace(/^[−–]/, '-');
  if (GROUPED[decimal].test(plain)) plain = withoutGroups(plain, decimal);
  if (decimal === ',') {
    if (plain.includes('.')) return Number.NaN;
    plain = plain.replace(',', '.');
  }
  return NUMBER.test(plain) ? Number(plain) : Number.NaN;
}

/** Whether the text is a number with thousands set apart: `1,234.5` with a decimal point, `1.234,5` with a comma. */
export function hasThousands(text: string, decimal: '.' | ','): boolean {
  return GROUPED[decimal].test(text.trim().replace(/^[−–]/, '-'));
}

function withoutGroups(text: string, decimal: '.' | ','): string {
  return text.replace(decimal === '.' ? /[^\d.+-]/g : /[^\d,+-]/g, '');
}

const MISSING = new Set([
  '',
  'na',
  'n/a',
  'n.a.',
  '#n/a',
  'nan',
  '-nan',
  'nan(ind)',
  '-nan(ind)',
  'null',
  'nil',
  'none',
  'missing',
  'no data',
  'nodata',
  'unavailable',
  'not available',
  '-',
  '--',
  '---',
  '–',
  '—',
  '.',
  '?',
]);

/** Whether a cell says that there is no value, rather than holding a text. */
export function isMissingText(text: string): boolean {
  const plain = text.trim().toLowerCase();
  return MISSING.has(plain) || /^\*+$/.test(plain);
}
