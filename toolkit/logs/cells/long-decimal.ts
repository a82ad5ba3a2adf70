import { POWERS_OF_TEN } from './powers-of-ten.js';

const ZERO = 48;

/** So many digits make an integer that a double holds exactly, and so many more a second one. */
const HEAD_DIGITS = 15;
const TAIL_DIGITS = 9;

/** Far above the relative error of the quotient as a sum of two doubles, far below that of one. */
const DOUBT = 2 ** -90;

/**
 * The quotient D / 10^n, correctly rounded, of the integer D whose digits stand in `bytes[start, end)`, where any other
 * byte (the decimal mark) is passed over. NaN where that takes more than is done here: for more than 24 digits, or, once
 * in 10^10 numbers, where the quotient lies too close to the middle between two doubles.
 *
 * Digits beyond the 15 that one double holds are kept in a second one, and the quotient is the sum of two doubles with an
 * exact remainder between them [Dekker1971]. What it is off by cannot change its rounding if moving it either way by more
 * than that does not.
 *
 * @param n - from 1 to 22, so that the power is exact
 */
export function longQuotient(bytes: Uint8Array, start: number, end: number, n: number): number {
  let head = 0;
  let tail = 0;
  let digitCount = 0;
  for (let i = start; i < end; i++) {
    const digit = bytes[i] - ZERO;
    if (digit < 0 || digit > 9 || (digit === 0 && head === 0)) continue;
    if (digitCount < HEAD_DIGITS) head = head * 10 + digit;
    else tail = tail * 10 + digit;
    digitCount++;
  }
  if (digitCount > HEAD_DIGITS + TAIL_DIGITS) return Number.NaN;

  // D = dividend + rest, head * scale + tail without loss.
  const scale = POWERS_OF_TEN[Math.max(0, digitCount - HEAD_DIGITS)];
  const product = head * scale;
  const dividend = product + tail;
  const rest = tail - (dividend - product) + productError(head, scale, product);

  const power = POWERS_OF_TEN[n];
  const quotient = dividend / power;
  const back = quotient * power;
  const correction = (dividend - back - productError(quotient, power, back) + rest) / power;

  const doubt = DOUBT * quotient;
  const value = quotient + (correction + doubt);
  return value === quotient + (correction - doubt) ? value : Number.NaN;
}

/** What a · b differs by from the double next to it: an exact sum of the products of their halves. */
function productError(a: number, b: number, product: number): number {
  const aHigh = highHalf(a);
  const bHigh = highHalf(b);
  const aLow = a - aHigh;
  const bLow = b - bHigh;
  return aHigh * bHigh - product + aHigh * bLow + aLow * bHigh + aLow * bLow;
}

/** The first 26 bits of a double. */
function highHalf(a: number): number {
  const shifted = (2 ** 27 + 1) * a;
  return shifted - (shifted - a);
}
