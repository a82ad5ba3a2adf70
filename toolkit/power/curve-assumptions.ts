/** A positive number known roughly: its median and the standard deviation of its natural logarithm. */
export interface RoughValue {
  readonly median: number;
  readonly logStandardDeviation: number;
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
 * - `leakageScaleK`: doubling every 10 to 30 K of a whole package, hence 14 to 43 K.
 * - fractions: a tenth each, within a factor of about 4 either way.
 */
export const DEFAULT_CURVE_ASSUMPTIONS: CurveAssumptions = {
  exponentAboveLowest: { median: 1.4, logStandardDeviation: 0.5 },
  exponentGrowth: { median: 3, logStandardDeviation: 0.7 },
  basePowerFraction: { median: 0.1, logStandardDeviation: 0.7 },
  leakagePowerFraction: { median: 0.12, logStandardDeviation: 0.7 },
  leakageScaleK: { median: 32, logStandardDeviation: 0.4 },
};

/** Temperature at which the leakage power is stated, degrees Celsius. Fixed, so that curves can be compared. */
export const REFERENCE_TEMPERATURE_C = 60;
