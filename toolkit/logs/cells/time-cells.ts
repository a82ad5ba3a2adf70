import { timeFromText } from '../../units/time-text.js';
import { LogFormatError } from '../log-format-error.js';
import {
  DATE_ORDERS,
  type DateOrder,
  dayNumber,
  type LocalDate,
  localDateFromText,
  twelveHourTime,
  withoutMidnight,
} from './local-date.js';
import { isMissingText, numberFromText } from './number-cell.js';
import { quoted } from './quoted.js';

/** How a column of times is written; the first readable cell decides. */
export type TimeForm = 'number' | 'clock' | 'local' | 'zoned' | 'local-date';

/** Where a cell stands, for messages. */
export interface CellPlace {
  readonly line: number;
  readonly column: number;
}

const DAY_S = 86_400;

/** A clock that falls back by a day less this has passed midnight, s: a pause of an hour may lie in it. */
const LONGEST_PAUSE_S = 3600;

/**
 * Reads the cells of the time column one after the other, in the form that the first of them has. Whole seconds of
 * the first time are taken off, so that no precision is lost on an epoch of ten digits.
 */
export class TimeCells {
  form: TimeForm | undefined;
  /** What was taken off, s since midnight, the start or 1970. */
  firstWholeS = 0;
  /** Whether dots alone said that the day stands first. */
  isOrderAssumed = false;
  private orders: readonly DateOrder[];
  private firstDate: LocalDate | undefined;
  private lastDateText = '';
  private lastDays = 0;
  /** The date in a column of its own that holds for the rows from there on, and what it made of the row before. */
  private dateBeside = '';
  private lastBesideS = Number.NaN;
  /** Midnights since the date beside the clock last changed. */
  private lateDays = 0;
  /** How often the clock passed midnight and the date beside it stayed, and before which line first. */
  lateDateCount = 0;
  lateDateLine = 0;
  /** Rows without a date of their own, and the first of them. */
  withoutDateCount = 0;
  withoutDateLine = 0;

  constructor(
    private readonly decimal: '.' | ',',
    private readonly stated: DateOrder | undefined,
  ) {
    this.orders = stated === undefined ? DATE_ORDERS : [stated];
  }

  /** A copy that goes its own way from here on. */
  clone(): TimeCells {
    return Object.assign(new TimeCells(this.decimal, this.stated), this);
  }

  /**
   * Seconds, or the number in the unit of the log; NaN for a cell that is not like the first.
   *
   * @throws LogFormatError if a second date comes and day and month cannot be told apart
   */
  read(text: string, place: CellPlace): number {
    if (this.form === undefined || this.form === 'number') {
      const number = numberFromText(text, this.decimal);
      if (!Number.isNaN(number)) this.form = 'number';
      if (this.form === 'number') return number;
    }
    if (this.form === undefined || this.form === 'local-date') {
      const date = localDateFromText(text);
      if (date !== undefined) return this.readDate(date, place);
      if (this.form === 'local-date') return Number.NaN;
    }
    const half = twelveHourTime(text);
    const time = half === undefined ? timeFromText(text) : { form: 'clock' as const, ...half };
    if (time === undefined) return Number.NaN;
    if (this.form === undefined) {
      this.form = time.form;
      this.firstWholeS = time.wholeS;
    }
    return time.form === this.form ? time.wholeS - this.firstWholeS + time.fractionS : Number.NaN;
  }

  /**
   * Seconds of a clock whose date stands in a column of its own. A row without a date is of the day of the row before; where
   * the clock passes midnight and the date stays, because it is written late or once only, a day is added until it changes.
   *
   * @param place - of the date
   * @throws LogFormatError as `read`; or if the clock counts beyond a day, so that it says how long, not when
   */
  readBeside(dateText: string, clockText: string, place: CellPlace): number {
    const isMissing = isMissingText(dateText);
    const date = isMissing ? this.dateBeside : withoutMidnight(dateText);
    const timeS = this.read(`${date} ${clockText}`, place);
    if (Number.isNaN(timeS)) {
      const clock = timeFromText(clockText);
      if (clock?.form === 'clock' && clock.wholeS > DAY_S) throw beyondDay(clockText, dateText, place);
      return timeS;
    }
    if (isMissing) {
      if (this.withoutDateCount === 0) this.withoutDateLine = place.line;
      this.withoutDateCount++;
    }
    const stepS = timeS - this.lastBesideS;
    if (date !== this.dateBeside) this.lateDays = 0;
    else if (stepS <= LONGEST_PAUSE_S - DAY_S) {
      if (this.lateDateCount === 0) this.lateDateLine = place.line;
      this.lateDateCount++;
      this.lateDays++;
    } else if (stepS >= DAY_S - LONGEST_PAUSE_S && this.lateDays > 0) this.lateDays--;
    this.dateBeside = date;
    this.lastBesideS = timeS;
    return timeS + this.lateDays * DAY_S;
  }

  /**
   * What `readBeside` makes of another time of the day it has just read; NaN where the cell does not say the day, or says it
   * late, since the rows before matter then.
   */
  readOnSameDay(dateText: string, clockText: string, place: CellPlace): number {
    const isDayWritten = this.lateDays === 0 && !isMissingText(dateText);
    return isDayWritten ? this.read(`${withoutMidnight(dateText)} ${clockText}`, place) : Number.NaN;
  }

  /** Takes note of rows of that same day that were read elsewhere, by the time of the last of them. */
  passOnSameDay(timeS: number): void {
    this.lastBesideS = timeS;
  }

  private readDate(date: LocalDate, place: CellPlace): number {
    if (this.firstDate === undefined) {
      // A year of four digits in front leaves nothing to state.
      const isYearFirst = date.orders.length === 1 && date.orders[0] === 'year-month-day';
      const orders = isYearFirst ? date.orders : date.orders.filter((order) => this.orders.includes(order));
      if (orders.length === 0) return Number.NaN;
      this.form = 'local-date';
      this.firstDate = date;
      this.firstWholeS = date.wholeS;
      this.orders = orders;
      this.lastDateText = date.dateText;
    } else if (date.dateText !== this.lastDateText) {
      const days = this.daysSinceFirst(date, place);
      if (Number.isNaN(days)) return Number.NaN;
      this.lastDateText = date.dateText;
      this.lastDays = days;
    }
    return this.lastDays * DAY_S + date.wholeS - this.firstWholeS + date.fractionS;
  }

  private daysSinceFirst(date: LocalDate, place: CellPlace): number {
    const first = this.firstDate!;
    let orders = this.orders.filter((order) => date.orders.includes(order));
    if (orders.length === 0) return Number.NaN;
    // No country writes the month first and dots between.
    if (orders.length > 1 && date.dateText.includes('.') && orders.includes('day-month-year')) {
      orders = ['day-month-year'];
      this.isOrderAssumed = true;
    }
    const days = new Set(orders.map((order) => dayNumber(date.parts, order) - dayNumber(first.parts, order)));
    if (days.size > 1) throw ambiguousDate(first, date, orders, place);
    this.orders = orders;
    return [...days][0];
  }
}

function beyondDay(clockText: string, dateText: string, { line, column }: CellPlace): LogFormatError {
  return new LogFormatError([
    {
      code: 'clock-beyond-day',
      line,
      column,
      message: `${quoted(clockText)} beside the date ${quoted(dateText)} is no time of day: the column counts hours since the start`,
      remedy: "name that column alone by the option columns: { time: '…' }, and the dates are left out",
    },
  ]);
}

function ambiguousDate(
  first: LocalDate,
  date: LocalDate,
  orders: readonly DateOrder[],
  { line, column }: CellPlace,
): LogFormatError {
  return new LogFormatError([
    {
      code: 'ambiguous-date',
      line,
      column,
      message: `from ${quoted(first.dateText)} to ${quoted(date.dateText)} may be ${orders
        .map((order) => {
          const days = dayNumber(date.parts, order) - dayNumber(first.parts, order);
          return `${days} ${days === 1 ? 'day' : 'days'} as ${order}`;
        })
        .join(' or ')}`,
      remedy: `write the option ${orders.map((order) => `{ dateOrder: '${order}' }`).join(' or ')}; better, log ISO 8601 (2031-05-09T14:30:00)`,
    },
  ]);
}
