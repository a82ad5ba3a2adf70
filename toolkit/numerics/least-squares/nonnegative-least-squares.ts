import { ArgumentError } from '../../errors.js';

const maxCount = 16;
// One set of work arrays for all calls: a call runs to its end without yielding.
const factor = new Float64Array(maxCount * maxCount);
const trial = new Float64Array(maxCount);
const members = new Int32Array(maxCount);

// A column whose part that is new to the others is below this fraction of its length adds nothing but rounding.
const smallestNewPart = 1e-12;
// A gradient below this fraction of the terms it is a difference of is rounding.
const smallestGradient = 1e-13;

/**
 * Small dense least squares with parameters that may not be negative, from normal equations.
 *
 * Minimises ‖A x − b‖² over x >= 0 by the active-set method of [LawsonHanson1974, ch. 23], given AᵀA and Aᵀb. Columns
 * that repeat the others within rounding stay at 0. Does not allocate.
 *
 * @param gram - AᵀA, symmetric, row-major; length n², n at most 16
 * @param products - Aᵀb, length n
 * @param out - receives x, length n
 * @throws ArgumentError if n is above 16 or the lengths do not agree
 * @example
 * const x = new Float64Array(2);
 * nonnegativeLeastSquares([2, 1, 1, 2], [3, -1], x);
 * Array.from(x); // => [1.5, 0]
 */
export function nonnegativeLeastSquares(
  gram: ArrayLike<number>,
  products: ArrayLike<number>,
  out: Float64Array,
): void {
  const n = products.length;
  if (n > maxCount || gram.length !== n * n || out.length !== n) throw lengthsDisagree(gram, products, out);
  out.fill(0);
  let passive = 0;
  let rejected = 0;
  let memberCount = 0;

  // Each round brings in one parameter; Lawson and Hanson's bound on the rounds guards against cycling by rounding.
  for (let round = 0; round < 3 * n + 3; round += 1) {
    let best = -1;
    let bestGain = 0;
    for (let j = 0; j < n; j += 1) {
      const bit = 1 << j;
      const diagonal = gram[j * n + j];
      if ((passive | rejected) & bit || !(diagonal > 0)) continue;
      let gradient = products[j];
      let size = Math.abs(gradient);
      for (let k = 0; k < n; k += 1) {
        const term = gram[j * n + k] * out[k];
        gradient -= term;
        size += Math.abs(term);
      }
      const gain = gradient / Math.sqrt(diagonal);
      if (gradient > smallestGradient * size && gain > bestGain) {
        best = j;
        bestGain = gain;
      }
    }
    if (best < 0) return;
    passive |= 1 << best;
    memberCount = listMembers(passive, n);
    if (!solveMembers(gram, products, n, memberCount) || !(memberValue(best, memberCount) > 0)) {
      // Dependent on the members, or its gain was rounding: leave it out until the members change.
      passive &= ~(1 << best);
      rejected |= 1 << best;
      continue;
    }
    rejected = 0;

    for (;;) {
      let fraction = 1;
      for (let k = 0; k < memberCount; k += 1) {
        const j = members[k];
        if (trial[k] <= 0) fraction = Math.min(fraction, out[j] / (out[j] - trial[k]));
      }
      if (fraction === 1) break;
      for (let k = 0; k < memberCount; k += 1) {
        const j = members[k];
        const before = out[j];
        out[j] = before + fraction * (trial[k] - before);
        const limits = trial[k] <= 0 && before / (before - trial[k]) <= fraction;
        if (limits || out[j] <= 0) {
          out[j] = 0;
          passive &= ~(1 << j);
        }
      }
      memberCount = listMembers(passive, n);
      solveMembers(gram, products, n, memberCount);
    }
    for (let k = 0; k < memberCount; k += 1) out[members[k]] = trial[k];
  }
}

function listMembers(passive: number, n: number): number {
  let count = 0;
  for (let j = 0; j < n; j += 1) {
    if (passive & (1 << j)) {
      members[count] = j;
      count += 1;
    }
  }
  return count;
}

function memberValue(j: number, count: number): number {
  for (let k = 0; k < count; k += 1) if (members[k] === j) return trial[k];
  return 0;
}

/** Solves the normal equations of the members by Cholesky factorisation; false where they are dependent. */
function solveMembers(
  gram: ArrayLike<number>,
  products: ArrayLike<number>,
  n: number,
  count: number,
): boolean {
  for (let i = 0; i < count; i += 1) {
    const row = members[i] * n;
    for (let k = 0; k <= i; k += 1) {
      let sum = gram[row + members[k]];
      for (let l = 0; l < k; l += 1) sum -= factor[i * maxCount + l] * factor[k * maxCount + l];
      if (k < i) factor[i * maxCount + k] = sum / factor[k * maxCount + k];
      else if (!(sum > smallestNewPart * gram[row + members[i]])) return false;
      else factor[i * maxCount + i] = Math.sqrt(sum);
    }
  }
  for (let i = 0; i < count; i += 1) {
    let sum = products[members[i]];
    for (let k = 0; k < i; k += 1) sum -= factor[i * maxCount + k] * trial[k];
    trial[i] = sum / factor[i * maxCount + i];
  }
  for (let i = count - 1; i >= 0; i -= 1) {
    let sum = trial[i];
    for (let k = i + 1; k < count; k += 1) sum -= factor[k * maxCount + i] * trial[k];
    trial[i] = sum / factor[i * maxCount + i];
  }
  return true;
}

function lengthsDisagree(
  gram: ArrayLike<number>,
  products: ArrayLike<number>,
  out: Float64Array,
): ArgumentError {
  const caller = 'nonnegativeLeastSquares';
  const n = products.length;
  if (n > maxCount)
    return new ArgumentError({
      caller,
      argument: 'products',
      expected: `at most ${maxCount} numbers long`,
      received: n,
      remedy: 'this solver is meant for a handful of parameters',
    });
  if (gram.length !== n * n)
    return new ArgumentError({
      caller,
      argument: 'gram',
      expected: `the square of the length of \`products\`, ${n * n} numbers long`,
      received: gram.length,
    });
  return new ArgumentError({
    caller,
    argument: 'out',
    expected: `as long as \`products\`, ${n}`,
    received: out.length,
  });
}
