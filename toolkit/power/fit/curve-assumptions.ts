import { NORMAL_95 } from '../../numerics/distributions.js';

/**
 * A positive number known roughly: it lies between two bounds with 95 % confidence. Its logarithm is taken as normal, so
 * that the median is √(low·high).
 */
export interface RoughValue {
  readonly low: number;
  readonly high: number;
}

/**
 * What is taken as roughly known about any processor before a log is read.
 *
 * The values enter the fit as weak information: where the data say more, they outweigh it; where the data are
 * silent, the value stands with its full spread and a finding says so.
 */
export interface CurveAssumptions {
  /** m − 1.5, m the exponent of the switching power in frequency in the middle of the powers tested. */
  readonly exponentAboveLowest: RoughValue;
  /** Exponent γ with which that grows with frequency, (m − 1.5) ∝ f^γ. */
  readonly exponentGrowth: RoughValue;
  /** Power that depends on neither frequency nor temperature, as a fraction of the middle power tested. */
  readonly basePowerFraction: RoughValue;
  /** Leakage power at 60 °C, as a fraction of the middle power tested. */
  readonly leakagePowerFraction: RoughValue;
  /** Temperature rise that multiplies the leakage by e, K. */
  readonly leakageScaleK: RoughValue;
}

/**
 * The assumptions used unless others are given.
 *
 * - `exponentAboveLowest`: P = a·C·V²·f [Chandrakasan1992] with V following f. With the elasticity of speed in voltage
 *   of the alpha-power law, α·V/(V − V_t) − 1 [SakuraiNewton1990], between 0.8 and 2, m = 1 + 2/elasticity
 *   lies between 2 and 3.5.
 * - `exponentGrowth`: 1 to 2 from the alpha-power law alone; up to 10 where a voltage table ends steeply.
 * - `leakageScaleK`: doubling every 10 to 50 K of a whole package, ΔT/ln 2.
 * - fractions: about a tenth each, within a factor of 4 either way.
 *
 * @example
 * DEFAULT_CURVE_ASSUMPTIONS.leakageScaleK; // => { low: 15, high: 70 }
 */
export const DEFAULT_CURVE_ASSUMPTIONS: CurveAssumptions = {
  exponentAboveLowest: { low: 0.5, high: 4 },
  exponentGrowth: { low: 0.75, high: 12 },
  basePowerFraction: { low: 0.025, high: 0.4 },
  leakagePowerFraction: { low: 0.03, high: 0.5 },
  leakageScaleK: { low: 15, high: 70 },
};

/** Temperature at which the leakage power is stated, degrees Celsius. Fixed, so that curves can be compared. */
export const REFERENCE_TEMPERATURE_C = 60;

/** Median of a rough value and standard deviation of its logarithm. */
export function logNormalOf({ low, high }: RoughValue): {
  readonly median: number;
  readonly logStandardDeviation: number;
} {
  return {
    median: Math.sqrt(low * high),
    logStandardDeviation: Math.log(high / low) / (2 * NORMAL_95),
  };
}
