import { type FittedCandidate, totalOf } from './fit-candidate.js';
import type { FitRecord } from './fit-record.js';

/** Offset of an air thermometer that is read to a tenth, common to all runs, K. */
export const COMMON_REFERENCE_UNCERTAINTY_K: number = 0.03;
/** Share of the air's own variation during a run that its delay and place leave open. */
const AIR_VARIATION_SHARE = 0.1;
/** Standard uncertainty of the air where one number stands for a whole run, K: rooms drift by about a kelvin. */
const GIVEN_AIR_UNCERTAINTY_K = 0.3;

/**
 * Variance of the temperature everything is referred to, K². Residuals cannot show it: an offset of the air is
 * absorbed by the resistances.
 */
export function referenceVarianceK2(record: FitRecord): number {
  const own = record.runs.map((run) =>
    run.ambientC !== undefined
      ? AIR_VARIATION_SHARE ** 2 * varianceOf(run.ambientC)
      : GIVEN_AIR_UNCERTAINTY_K ** 2,
  );
  return (
    COMMON_REFERENCE_UNCERTAINTY_K ** 2 + own.reduce((sum, variance) => sum + variance, 0) / own.length ** 2
  );
}

/**
 * What the offset common to all runs moves of a fitted exponent: the same kelvins are a larger share of a smaller rise, so
 * that P · R(P) is off by about as much at every logged power.
 */
export function exponentByReference(riseK: number, powerExponent: number): number {
  return ((1 - powerExponent) * COMMON_REFERENCE_UNCERTAINTY_K) / riseK;
}

/** Share of the resistance that slow paths of the heat leave open. */
export const BOARD_SHARE: number = 0.0006;
/** Share of what the slowest stage still has to rise at the end of the longest run: its course there is inferred. */
export const UNSETTLED_SHARE: number = 0.03;

/** Variance of the total resistance for what no record shows, (K/W)²; tuned on simulated rigs. */
export function unseenVariance(record: FitRecord, candidate: FittedCandidate): number {
  const slowest = candidate.structure.stageCount - 1;
  const unsettledKPerW =
    candidate.resistancesKPerW[slowest] * Math.exp(-record.longestPieceS / candidate.timeConstantsS[slowest]);
  return (BOARD_SHARE * totalOf(candidate)) ** 2 + (UNSETTLED_SHARE * unsettledKPerW) ** 2;
}

function varianceOf(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value;
  const mean = sum / values.length;
  let squares = 0;
  for (const value of values) squares += (value - mean) ** 2;
  return squares / values.length;
}
