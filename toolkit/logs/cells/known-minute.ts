import { POWERS_OF_TEN } from './powers-of-ten.js';

const ZERO = 48;
const COMMA = 44;
const POINT = 46;

/** More digits of a fraction are not looked at where times are read by all rules. */
const MOST_FRACTION_DIGITS = 9;

/** A time of day with seconds: what stands before them, and what behind them and their fraction. */
const WITH_SECONDS = /^(.*\d:\d\d:)[0-5]\d(?:[.,]\d{1,9})?([^\d.,].*)?$/;

const encoder = new TextEncoder();

/**
 * Reads times from their bytes as long as the minute stays the same: those that differ in their seconds only from a time
 * that was read by all rules, whichever way of writing dates and times that was.
 */
export class KnownMinute {
  private before: Uint8Array = new Uint8Array(0);
  private behind: Uint8Array = new Uint8Array(0);
  /** The cell of its date, where dates stand beside the clock. */
  private date: Uint8Array = new Uint8Array(0);
  /** Where the minute begins, s; NaN where none is known. */
  private startS = Number.NaN;

  /**
   * Takes on the minute of a time, or forgets the last one where no seconds are found in it.
   *
   * @param text - the cell as it stands there
   * @param read - what all rules make of such a text, s
   * @param date - the cell of its date, where that stands beside the clock
   */
  learn(text: string, read: (text: string) => number, date = ''): void {
    this.startS = Number.NaN;
    const found = WITH_SECONDS.exec(text);
    if (found === null) return;
    const [, before = '', behind = ''] = found;
    const startS = read(`${before}00${behind}`);
    // There is no such second in 24:00.
    if (read(`${before}59${behind}`) !== startS + 59) return;
    this.startS = startS;
    this.before = encoder.encode(before);
    this.behind = encoder.encode(behind);
    this.date = encoder.encode(date);
  }

  /** Whether the cell `bytes[start, end)` beside the clock has the date of the minute. */
  hasDate(bytes: Uint8Array, start: number, end: number): boolean {
    return end - start === this.date.length && standsAt(bytes, start, this.date);
  }

  /** The time in `bytes[start, end)`, s, or NaN where it is of another minute or has to be read by all rules. */
  read(bytes: Uint8Array, start: number, end: number): number {
    const { before, behind } = this;
    const secondsAt = start + before.length;
    const behindAt = end - behind.length;
    if (behindAt < secondsAt + 2 || !standsAt(bytes, start, before) || !standsAt(bytes, behindAt, behind))
      return Number.NaN;
    const tens = bytes[secondsAt] - ZERO;
    const ones = bytes[secondsAt + 1] - ZERO;
    if (tens < 0 || tens > 5 || ones < 0 || ones > 9) return Number.NaN;
    const wholeS = this.startS + 10 * tens + ones;
    const mark = secondsAt + 2;
    if (mark === behindAt) return wholeS;
    if (bytes[mark] !== POINT && bytes[mark] !== COMMA) return Number.NaN;
    const digitCount = behindAt - mark - 1;
    if (digitCount === 0 || digitCount > MOST_FRACTION_DIGITS) return Number.NaN;
    let digits = 0;
    for (let i = mark + 1; i < behindAt; i++) {
      const digit = bytes[i] - ZERO;
      if (digit < 0 || digit > 9) return Number.NaN;
      digits = digits * 10 + digit;
    }
    return wholeS + digits / POWERS_OF_TEN[digitCount];
  }
}

/** Whether `text` stands at that place. Compared from its end, where times differ first. */
function standsAt(bytes: Uint8Array, at: number, text: Uint8Array): boolean {
  for (let i = text.length - 1; i >= 0; i--) if (bytes[at + i] !== text[i]) return false;
  return true;
}
