import { ArgumentError, NumericalError } from '../errors.js';
import { type RandomStream, seededRandom } from './random.js';

/** How many draws, and from which seed. */
export interface DistributionOptions {
  /** Number of draws, at least 100. */
  readonly trialCount: number;
  /** Whole number from 0 to 2⁵³ − 1; the same seed gives the same result. */
  readonly seed: number;
}

/** The distribution of a function of uncertain quantities, from draws. */
export interface PropagatedDistribution {
  readonly mean: number;
  readonly standardDeviation: number;
  /** From the 2.5 % to the 97.5 % quantile. */
  readonly interval95: readonly [low: number, high: number];
  /** The shortest interval that holds 95 % of the draws. */
  readonly shortestInterval95: readonly [low: number, high: number];
  /** All results in ascending order; length trialCount. */
  readonly sorted: Float64Array;
}

/**
 * Propagates distributions through a function by drawing: for functions that bend, or distributions far from normal.
 *
 * Mean, standard deviation and coverage intervals as in [JCGM101, 7.5 to 7.7].
 *
 * @param draw - one result from one set of random numbers
 * @param options - number of draws and seed
 * @throws ArgumentError if `trialCount` is below 100 or the seed is not valid
 * @throws NumericalError if a result is not finite
 * @example
 * propagateDistributions((random) => 20 + 2 * random.uniform(), { trialCount: 10_000, seed: 1 }).mean; // => 21 within 0.02
 */
export function propagateDistributions(
  draw: (random: RandomStream) => number,
  options: DistributionOptions,
): PropagatedDistribution {
  const caller = 'propagateDistributions';
  const { trialCount, seed } = options;
  if (!Number.isInteger(trialCount) || trialCount < 100)
    throw new ArgumentError({
      caller,
      argument: 'options.trialCount',
      expected: 'a whole number of at least 100',
      received: trialCount,
      remedy: '10,000 draws fix the ends of a 95 % interval to about 2 % of its width',
    });
  const random = seededRandom(seed);
  const sorted = new Float64Array(trialCount);
  let sum = 0;
  for (let i = 0; i < trialCount; i += 1) {
    const result = draw(random);
    if (!Number.isFinite(result))
      throw new NumericalError(
        `propagateDistributions: draw ${i} gave ${result}; keep the quantities inside the domain of the function`,
      );
    sorted[i] = result;
    sum += result;
  }
  const mean = sum / trialCount;
  let square = 0;
  for (let i = 0; i < trialCount; i += 1) square += (sorted[i] - mean) ** 2;
  sorted.sort();

  const held = Math.round(0.95 * trialCount);
  const first = Math.round((trialCount - held) / 2);
  let shortest = 0;
  for (let i = 1; i + held < trialCount; i += 1)
    if (sorted[i + held] - sorted[i] < sorted[shortest + held] - sorted[shortest]) shortest = i;
  return {
    mean,
    standardDeviation: Math.sqrt(square / (trialCount - 1)),
    interval95: [sorted[first], sorted[first + held]],
    shortestInterval95: [sorted[shortest], sorted[shortest + held]],
    sorted,
  };
}
