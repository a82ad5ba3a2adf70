import { ArgumentError, requireNumber } from '../errors.js';
import { incompleteBeta, incompleteGamma, logBeta, logGamma } from './special-functions.js';

/**
 * Cumulative distribution function of the standard normal distribution.
 *
 * Full relative precision in the lower tail, where P = Q(1/2, x²/2)/2 [AbramowitzStegun1964, ch. 26].
 *
 * @param x - standardised value, dimensionless
 * @returns P(X <= x), in [0, 1]
 * @throws ArgumentError if `x` is not a number
 * @example
 * normalCdf(1.959963984540054); // => 0.975 within 1e-12
 */
export function normalCdf(x: number): number {
  requireVariate(x, 'normalCdf');
  const tail = incompleteGamma(0.5, (x * x) / 2).upper / 2;
  return x < 0 ? tail : 1 - tail;
}

/** Standard deviations to either side that hold 95 % of a normal distribution. */
export const NORMAL_95: number = 1.959963984540054;

/**
 * Quantile of the standard normal distribution: the x with P(X <= x) = p.
 *
 * Wichura's rational approximations, algorithm AS 241, relative error about 1e-16 [Wichura1988].
 *
 * @param p - probability, 0 < p < 1
 * @throws ArgumentError if `p` is not strictly between 0 and 1
 * @example
 * normalQuantile(0.975); // => 1.959963984540054 within 1e-12
 */
export function normalQuantile(p: number): number {
  requireProbability(p, 'normalQuantile');
  const q = p - 0.5;
  if (Math.abs(q) <= 0.425) {
    const r = 0.180625 - q * q;
    return (q * polynomial(centralNumerator, r)) / polynomial(centralDenominator, r);
  }
  const s = Math.sqrt(-Math.log(q < 0 ? p : 1 - p));
  const x =
    s <= 5
      ? polynomial(middleNumerator, s - 1.6) / polynomial(middleDenominator, s - 1.6)
      : polynomial(farNumerator, s - 5) / polynomial(farDenominator, s - 5);
  return q < 0 ? -x : x;
}

/**
 * Cumulative distribution function of Student's t distribution; the degrees of freedom need not be whole.
 *
 * @param t - value, dimensionless
 * @param degreesOfFreedom - above 0; infinite means the normal distribution
 * @returns P(T <= t), in [0, 1]
 * @throws ArgumentError if `t` is not a number or `degreesOfFreedom` is not positive
 * @example
 * studentTCdf(2.2621571628, 9); // => 0.975 within 1e-11
 */
export function studentTCdf(t: number, degreesOfFreedom: number): number {
  requireVariate(t, 'studentTCdf');
  requireDegreesOfFreedom(degreesOfFreedom, 'studentTCdf', 'degreesOfFreedom');
  if (degreesOfFreedom === Number.POSITIVE_INFINITY) return normalCdf(t);
  if (!Number.isFinite(t)) return t < 0 ? 0 : 1;
  const tail = studentT(Math.abs(t), degreesOfFreedom).outside / 2;
  return t < 0 ? tail : 1 - tail;
}

/**
 * Quantile of Student's t distribution: the t with P(T <= t) = p; the degrees of freedom need not be whole.
 *
 * Newton's method on the logarithm of the nearer tail, safeguarded by bisection; relative error about 1e-13.
 *
 * @param p - probability, 0 < p < 1
 * @param degreesOfFreedom - above 0; infinite means the normal distribution
 * @throws ArgumentError if `p` is not strictly between 0 and 1 or `degreesOfFreedom` is not positive
 * @example
 * studentTQuantile(0.975, 9); // => 2.26215716 within 1e-8
 */
export function studentTQuantile(p: number, degreesOfFreedom: number): number {
  requireProbability(p, 'studentTQuantile');
  requireDegreesOfFreedom(degreesOfFreedom, 'studentTQuantile', 'degreesOfFreedom');
  if (degreesOfFreedom === Number.POSITIVE_INFINITY) return normalQuantile(p);
  if (p === 0.5) return 0;
  const nu = degreesOfFreedom;
  const tail = p < 0.5 ? p : 1 - p;
  const logScale = -logBeta(0.5, nu / 2) - 0.5 * Math.log(nu);
  const bothDensity = (t: number): number =>
    2 * Math.exp(logScale - ((nu + 1) / 2) * Math.log1p((t / nu) * t));
  // First terms of the expansion about the normal quantile, a good start from about two degrees of freedom on.
  const z = -normalQuantile(tail);
  const start = z + (z * z * z + z) / (4 * nu);
  const t =
    tail < 0.25
      ? solveForPositive({
          probability: (t) => studentT(t, nu).outside,
          density: bothDensity,
          target: 2 * tail,
          rising: false,
          start,
        })
      : solveForPositive({
          probability: (t) => studentT(t, nu).inside,
          density: bothDensity,
          target: Math.abs(p - 0.5) * 2,
          rising: true,
          start,
        });
  return p < 0.5 ? -t : t;
}

/**
 * Cumulative distribution function of the chi-square distribution.
 *
 * @param x - value, dimensionless
 * @param degreesOfFreedom - above 0, need not be whole
 * @returns P(X <= x), in [0, 1]; 0 for negative `x`
 * @throws ArgumentError if `x` is not a number or `degreesOfFreedom` is not positive and finite
 * @example
 * chiSquareCdf(3.841458820694124, 1); // => 0.95 within 1e-12
 */
export function chiSquareCdf(x: number, degreesOfFreedom: number): number {
  requireVariate(x, 'chiSquareCdf');
  requireNumber(
    degreesOfFreedom,
    { caller: 'chiSquareCdf', argument: 'degreesOfFreedom', remedy: freedomRemedy },
    { above: 0 },
  );
  return incompleteGamma(degreesOfFreedom / 2, x / 2).lower;
}

/**
 * Quantile of the chi-square distribution: the x with P(X <= x) = p.
 *
 * @param p - probability, 0 < p < 1
 * @param degreesOfFreedom - above 0, need not be whole
 * @throws ArgumentError if `p` is not strictly between 0 and 1 or `degreesOfFreedom` is not positive and finite
 * @example
 * chiSquareQuantile(0.95, 10); // => 18.307038053 within 1e-8
 */
export function chiSquareQuantile(p: number, degreesOfFreedom: number): number {
  requireProbability(p, 'chiSquareQuantile');
  requireNumber(
    degreesOfFreedom,
    { caller: 'chiSquareQuantile', argument: 'degreesOfFreedom', remedy: freedomRemedy },
    { above: 0 },
  );
  const a = degreesOfFreedom / 2;
  const logScale = -logGamma(a) - a * Math.LN2;
  // Wilson and Hilferty's cube; where it turns negative, the leading term of the distribution function near 0.
  const h = 2 / (9 * degreesOfFreedom);
  const cube = degreesOfFreedom * (1 - h + normalQuantile(p) * Math.sqrt(h)) ** 3;
  const start = cube > 0 ? cube : 2 * Math.exp((Math.log(p) + logGamma(a + 1)) / a);
  const rising = p < 0.5;
  return solveForPositive({
    probability: (x) => (rising ? incompleteGamma(a, x / 2).lower : incompleteGamma(a, x / 2).upper),
    density: (x) => Math.exp(logScale + (a - 1) * Math.log(x) - x / 2),
    target: rising ? p : 1 - p,
    rising,
    start,
  });
}

/**
 * Cumulative distribution function of Fisher's F distribution.
 *
 * @param x - ratio of two mean squares, dimensionless
 * @param numeratorDegreesOfFreedom - above 0, need not be whole
 * @param denominatorDegreesOfFreedom - above 0, need not be whole
 * @returns P(F <= x), in [0, 1]; 0 for negative `x`
 * @throws ArgumentError if an argument lies outside its domain
 * @example
 * fisherFCdf(3.325834529923155, 5, 10); // => 0.95 within 1e-9
 */
export function fisherFCdf(
  x: number,
  numeratorDegreesOfFreedom: number,
  denominatorDegreesOfFreedom: number,
): number {
  requireVariate(x, 'fisherFCdf');
  requireBothDegreesOfFreedom(numeratorDegreesOfFreedom, denominatorDegreesOfFreedom, 'fisherFCdf');
  return fisherF(x, numeratorDegreesOfFreedom, denominatorDegreesOfFreedom).lower;
}

/**
 * Quantile of Fisher's F distribution: the x with P(F <= x) = p.
 *
 * @param p - probability, 0 < p < 1
 * @param numeratorDegreesOfFreedom - above 0, need not be whole
 * @param denominatorDegreesOfFreedom - above 0, need not be whole
 * @throws ArgumentError if an argument lies outside its domain
 * @example
 * fisherFQuantile(0.95, 5, 10); // => 3.32583453 within 1e-7
 */
export function fisherFQuantile(
  p: number,
  numeratorDegreesOfFreedom: number,
  denominatorDegreesOfFreedom: number,
): number {
  requireProbability(p, 'fisherFQuantile');
  requireBothDegreesOfFreedom(numeratorDegreesOfFreedom, denominatorDegreesOfFreedom, 'fisherFQuantile');
  const a = numeratorDegreesOfFreedom / 2;
  const b = denominatorDegreesOfFreedom / 2;
  const ratio = numeratorDegreesOfFreedom / denominatorDegreesOfFreedom;
  const logScale = a * Math.log(ratio) - logBeta(a, b);
  const rising = p < 0.5;
  return solveForPositive({
    probability: (x) => {
      const tails = fisherF(x, numeratorDegreesOfFreedom, denominatorDegreesOfFreedom);
      return rising ? tails.lower : tails.upper;
    },
    density: (x) => Math.exp(logScale + (a - 1) * Math.log(x) - (a + b) * Math.log1p(ratio * x)),
    target: rising ? p : 1 - p,
    rising,
    start: 1,
  });
}

function studentT(t: number, nu: number): { readonly inside: number; readonly outside: number } {
  const square = (t / nu) * t;
  const tails = incompleteBeta(0.5, nu / 2, square / (1 + square), 1 / (1 + square));
  return { inside: tails.lower, outside: tails.upper };
}

function fisherF(x: number, d1: number, d2: number): { readonly lower: number; readonly upper: number } {
  if (x <= 0) return { lower: 0, upper: 1 };
  const odds = (d1 / d2) * x;
  if (odds === Number.POSITIVE_INFINITY) return { lower: 1, upper: 0 };
  return incompleteBeta(d1 / 2, d2 / 2, odds / (1 + odds), 1 / (1 + odds));
}

/** The positive x at which a monotone probability reaches its target. */
function solveForPositive(problem: {
  readonly probability: (x: number) => number;
  readonly density: (x: number) => number;
  readonly target: number;
  readonly rising: boolean;
  readonly start: number;
}): number {
  const { probability, density, target, rising, start } = problem;
  // In log–log coordinates power-law tails are straight lines, on which Newton's method is at home.
  let low = Number.NEGATIVE_INFINITY;
  let high = Number.POSITIVE_INFINITY;
  let u = Math.log(start > 0 ? start : 1);
  for (let k = 0; k < 400; k += 1) {
    const x = Math.exp(u);
    const reached = probability(x);
    const excess = Math.log(reached / target);
    if (excess === 0) return x;
    const tooFar = rising ? excess > 0 : excess < 0;
    if (tooFar) high = u;
    else low = u;
    const slope = ((rising ? 1 : -1) * density(x) * x) / reached;
    let next = u - excess / slope;
    if (!(next > low && next < high)) {
      if (low === Number.NEGATIVE_INFINITY) next = high - 4;
      else if (high === Number.POSITIVE_INFINITY) next = low + 4;
      else next = (low + high) / 2;
    }
    if (Math.abs(next - u) <= 4e-16 * Math.max(1, Math.abs(u))) return Math.exp(next);
    u = next;
  }
  return Math.exp(u);
}

function requireProbability(p: number, caller: string): void {
  if (p > 0 && p < 1) return; // asked for thousands of draws: the words are made only where they are needed
  requireNumber(
    p,
    { caller, argument: 'p', remedy: 'give a probability as a fraction, such as 0.975' },
    { above: 0, below: 1 },
  );
}

function requireVariate(x: number, caller: string): void {
  if (typeof x === 'number' && !Number.isNaN(x)) return;
  throw new ArgumentError({
    caller,
    argument: caller === 'studentTCdf' ? 't' : 'x',
    expected: 'a number',
    received: x,
  });
}

const freedomRemedy = 'degrees of freedom are the number of points less the number of fitted parameters';

function requireDegreesOfFreedom(value: number, caller: string, argument: string): void {
  if (value === Number.POSITIVE_INFINITY) return;
  requireNumber(value, { caller, argument, remedy: freedomRemedy }, { above: 0 });
}

function requireBothDegreesOfFreedom(numerator: number, denominator: number, caller: string): void {
  requireNumber(
    numerator,
    { caller, argument: 'numeratorDegreesOfFreedom', remedy: freedomRemedy },
    { above: 0 },
  );
  requireNumber(
    denominator,
    { caller, argument: 'denominatorDegreesOfFreedom', remedy: freedomRemedy },
    { above: 0 },
  );
}

function polynomial(coefficients: readonly number[], x: number): number {
  let sum = 0;
  for (let k = coefficients.length - 1; k >= 0; k -= 1) sum = sum * x + coefficients[k];
  return sum;
}

// Coefficients of algorithm AS 241, routine PPND16, in ascending powers.
const centralNumerator: readonly number[] = [
  3.3871328727963665, 133.14166789178438, 1971.5909503065513, 13731.69376550946, 45921.95393154987,
  67265.7709270087, 33430.57558358813, 2509.0809287301227,
];
const centralDenominator: readonly number[] = [
  1, 42.31333070160091, 687.1870074920579, 5394.196021424751, 21213.794301586597, 39307.89580009271,
  28729.085735721943, 5226.495278852854,
];
const middleNumerator: readonly number[] = [
  1.4234371107496835, 4.630337846156546, 5.769497221460691, 3.6478483247632045, 1.2704582524523684,
  0.2417807251774506, 0.022723844989269184, 0.0007745450142783414,
];
const middleDenominator: readonly number[] = [
  1, 2.053191626637759, 1.6763848301838038, 0.6897673349851, 0.14810397642748008, 0.015198666563616457,
  0.0005475938084995345, 1.0507500716444169e-9,
];
const farNumerator: readonly number[] = [
  6.657904643501103, 5.463784911164114, 1.7848265399172913, 0.29656057182850487, 0.026532189526576124,
  0.0012426609473880784, 2.7115555687434876e-5, 2.0103343992922881e-7,
];
const farDenominator: readonly number[] = [
  1, 0.599832206555888, 0.1369298809227358, 0.014875361290850615, 0.0007868691311456133,
  1.8463183175100548e-5, 1.421511758316446e-7, 2.0442631033899397e-15,
];
