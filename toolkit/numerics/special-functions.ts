/**
 * Gamma and beta functions, the regularised incomplete ones among them, to near machine precision.
 *
 * Lanczos' approximation for the gamma function; series and continued fractions, the latter by Lentz's
 * method, for the incomplete functions [AbramowitzStegun1964, ch. 6 and 26].
 */

const halfLogTwoPi = 0.9189385332046728;
const tiny = 1e-300;
const machineEpsilon = Number.EPSILON;

// Lanczos coefficients for g = 7, nine terms (Godfrey's set), relative error about 1e-15.
const lanczos: readonly number[] = [
  0.9999999999998099, 676.5203681218851, -1259.1392167224028, 771.3234287776531, -176.6150291621406,
  12.507343278686905, -0.13857109526572012, 9.984369578019572e-6, 1.5056327351493116e-7,
];

/** Natural logarithm of the gamma function of a positive argument. */
export function logGamma(x: number): number {
  if (x >= 10) return (x - 0.5) * Math.log(x) - x + halfLogTwoPi + stirlingCorrection(x);
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
  const z = x - 1;
  let sum = lanczos[0];
  for (let k = 1; k < lanczos.length; k += 1) sum += lanczos[k] / (z + k);
  const t = z + 7.5;
  return halfLogTwoPi + (z + 0.5) * Math.log(t) - t + Math.log(sum);
}

// ln Γ(x) less Stirling's leading terms, for x >= 10; the next term is below 1e-17 there.
function stirlingCorrection(x: number): number {
  const r = 1 / (x * x);
  return (1 / 12 - r * (1 / 360 - r * (1 / 1260 - r * (1 / 1680 - r * (1 / 1188 - (r * 691) / 360360))))) / x;
}

/** Natural logarithm of the beta function of two positive arguments. */
export function logBeta(a: number, b: number): number {
  const small = Math.min(a, b);
  const large = Math.max(a, b);
  if (large < 10) return logGamma(a) + logGamma(b) - logGamma(a + b);
  // ln Γ(large)/Γ(large + small) without the cancellation that two large logarithms would bring.
  const ratio =
    -(large - 0.5) * Math.log1p(small / large) -
    small * Math.log(large + small) +
    small +
    stirlingCorrection(large) -
    stirlingCorrection(large + small);
  return logGamma(small) + ratio;
}

/** Regularised incomplete gamma function: lower P(a, x) and upper Q(a, x) = 1 − P, each without cancellation. */
export function incompleteGamma(a: number, x: number): { readonly lower: number; readonly upper: number } {
  if (x <= 0) return { lower: 0, upper: 1 };
  if (x === Number.POSITIVE_INFINITY) return { lower: 1, upper: 0 };
  const factor = Math.exp(logGammaKernel(a, x));
  if (x < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let k = 1; k < 100_000 && term > sum * machineEpsilon * 0.1; k += 1) {
      term *= x / (a + k);
      sum += term;
    }
    const lower = Math.min(1, factor * sum);
    return { lower, upper: 1 - lower };
  }
  let b = x + 1 - a;
  let c = 1 / tiny;
  let d = 1 / b;
  let h = d;
  for (let k = 1; k < 100_000; k += 1) {
    const an = -k * (k - a);
    b += 2;
    d = 1 / awayFromZero(an * d + b);
    c = awayFromZero(b + an / c);
    const change = c * d;
    h *= change;
    if (Math.abs(change - 1) < machineEpsilon) break;
  }
  const upper = Math.min(1, factor * h);
  return { lower: 1 - upper, upper };
}

// ln(x^a e^−x / Γ(a)); for large a the terms nearly cancel, so they are taken relative to x = a.
function logGammaKernel(a: number, x: number): number {
  if (a < 10) return a * Math.log(x) - x - logGamma(a);
  const u = (x - a) / a;
  return a * (Math.log1p(u) - u) + 0.5 * Math.log(a) - halfLogTwoPi - stirlingCorrection(a);
}

/**
 * Regularised incomplete beta function I_x(a, b) and its complement, each without cancellation.
 *
 * Both x and y = 1 − x are asked for because one of them may be too close to 1 to carry the other.
 */
export function incompleteBeta(
  a: number,
  b: number,
  x: number,
  y: number = 1 - x,
): { readonly lower: number; readonly upper: number } {
  if (x <= 0) return { lower: 0, upper: 1 };
  if (y <= 0) return { lower: 1, upper: 0 };
  const front = Math.exp(a * logOf(x, y) + b * logOf(y, x) - logBeta(a, b));
  if (x < (a + 1) / (a + b + 2)) {
    const lower = Math.min(1, (front * betaFraction(a, b, x)) / a);
    return { lower, upper: 1 - lower };
  }
  const upper = Math.min(1, (front * betaFraction(b, a, y)) / b);
  return { lower: 1 - upper, upper };
}

function logOf(x: number, complement: number): number {
  return complement < 0.5 ? Math.log1p(-complement) : Math.log(x);
}

function betaFraction(a: number, b: number, x: number): number {
  let c = 1;
  let d = 1 / awayFromZero(1 - ((a + b) * x) / (a + 1));
  let h = d;
  for (let k = 1; k < 100_000; k += 1) {
    const even = (k * (b - k) * x) / ((a + 2 * k - 1) * (a + 2 * k));
    d = 1 / awayFromZero(1 + even * d);
    c = awayFromZero(1 + even / c);
    h *= d * c;
    const odd = (-(a + k) * (a + b + k) * x) / ((a + 2 * k) * (a + 2 * k + 1));
    d = 1 / awayFromZero(1 + odd * d);
    c = awayFromZero(1 + odd / c);
    const change = d * c;
    h *= change;
    if (Math.abs(change - 1) < machineEpsilon) break;
  }
  return h;
}

function awayFromZero(value: number): number {
  return Math.abs(value) < tiny ? tiny : value;
}
