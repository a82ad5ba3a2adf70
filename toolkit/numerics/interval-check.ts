import { binomialInterval95 } from './binomial-interval.js';
import type { Estimate } from './estimate.js';
import { estimated } from './estimates.js';

/** How estimates of one known number, and the intervals stated with them, compare with it; in its unit. */
export interface IntervalCheck {
  /** The number the data were made with. */
  readonly truth: number;
  /** Mean of the estimates minus the truth. */
  readonly bias: Estimate;
  /** Standard deviation of the estimates. */
  readonly spread: number;
  /** Root mean square of the standard errors stated with the estimates: what the spread should be. */
  readonly meanStandardError: number;
  /** Standard error claimed for the truth beforehand, from all sources: it should be at least the spread. */
  readonly claimedStandardError: number;
  /** Share of the stated 95 % intervals that hold the truth. */
  readonly coverageFraction: number;
  /** Of that share: exact binomial 95 % interval. */
  readonly coverageInterval95: readonly [low: number, high: number];
}

/** One of the estimates: its interval is value ± coverageFactor · standardError. */
export interface CheckedEstimate {
  readonly value: number;
  readonly standardError: number;
  readonly coverageFactor: number;
}

/** Holds two or more estimates against the truth and the standard error claimed for it. */
export function checkIntervals(
  truth: number,
  claimedStandardError: number,
  estimates: readonly CheckedEstimate[],
): IntervalCheck {
  const count = estimates.length;
  const mean = estimates.reduce((sum, { value }) => sum + value, 0) / count;
  const squares = estimates.reduce((sum, { value }) => sum + (value - mean) ** 2, 0);
  const spread = Math.sqrt(squares / (count - 1));
  const variances = estimates.reduce((sum, { standardError }) => sum + standardError ** 2, 0);
  const held = estimates.filter(
    ({ value, standardError, coverageFactor }) => Math.abs(value - truth) <= coverageFactor * standardError,
  ).length;
  return {
    truth,
    bias: estimated(mean - truth, spread / Math.sqrt(count), { degreesOfFreedom: count - 1 }),
    spread,
    meanStandardError: Math.sqrt(variances / count),
    claimedStandardError,
    coverageFraction: held / count,
    coverageInterval95: binomialInterval95(held, count),
  };
}
