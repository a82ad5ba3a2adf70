/** A time written as text, taken apart so that no precision is lost on an epoch of ten digits. */
export interface TimeText {
  /** `clock` counts from midnight or the start; `local` and `zoned` are dates without and with a zone. */
  readonly form: 'clock' | 'local' | 'zoned';
  /** Whole seconds since midnight, the start or 1970-01-01T00:00:00Z. */
  readonly wholeS: number;
  /** The fraction of a second, 0 <= fraction < 1. */
  readonly fractionS: number;
}

const CLOCK = /^(\d{1,4}):([0-5]\d):([0-5]\d|60)(?:[.,](\d{1,9})\d*)?$/;
const DATE_TIME =
  /^(\d{4})-?(\d\d)-?(\d\d)(?:[Tt]|\s+)(\d\d):?([0-5]\d)(?::?([0-5]\d|60)(?:[.,](\d{1,9})\d*)?)?\s*([Zz]|[+\-−]\d\d(?::?[0-5]\d)?)?$/;
const DAYS = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/**
 * Reads `h:mm:ss` (hours may run beyond 24, fractions after point or comma) or an ISO 8601 date and time in
 * extended or basic form, with `T` or a blank between, with or without a zone [ISO8601].
 *
 * A date without a zone is read as if it were UTC: differences are right as long as the clock was not put forward
 * or back. Undefined for anything else; `mm:ss` is not accepted, since it could as well be `h:mm`.
 *
 * @example
 * timeFromText('1:02:03.5')?.wholeS; // => 3723
 * timeFromText('1985-04-12T23:20:50.52Z')?.wholeS; // => 482196050
 */
export function timeFromText(text: string): TimeText | undefined {
  const clock = CLOCK.exec(text);
  if (clock !== null) {
    return {
      form: 'clock',
      wholeS: Number(clock[1]) * 3600 + Number(clock[2]) * 60 + Number(clock[3]),
      fractionS: fraction(clock[4]),
    };
  }
  const match = DATE_TIME.exec(text);
  if (match === null) return undefined;
  const year = Number(match[1]);
  const month = Number(match[2]);
  const day = Number(match[3]);
  const hour = Number(match[4]);
  const minute = Number(match[5]);
  const second = match[6] === undefined ? 0 : Number(match[6]);
  const leap = (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0;
  if (month < 1 || month > 12 || day < 1 || day > DAYS[month - 1] || (month === 2 && day === 29 && !leap))
    return undefined;
  if (hour > 24 || (hour === 24 && (minute > 0 || second > 0))) return undefined;
  const utcS = Date.UTC(year, month - 1, day) / 1000 + hour * 3600 + minute * 60 + second;
  const zone = match[8];
  return {
    form: zone === undefined ? 'local' : 'zoned',
    wholeS: utcS - zoneOffsetS(zone),
    fractionS: fraction(match[7]),
  };
}

function fraction(digits: string | undefined): number {
  return digits === undefined ? 0 : Number(digits) / 10 ** digits.length;
}

function zoneOffsetS(zone: string | undefined): number {
  if (zone === undefined || zone === 'Z' || zone === 'z') return 0;
  const sign = zone.startsWith('+') ? 1 : -1;
  const digits = zone.slice(1).replace(':', '');
  return sign * (Number(digits.slice(0, 2)) * 3600 + Number(digits.slice(2) || '0') * 60);
}
