import type { CoolerModel } from './cooler-model.js';

/** What is known of the uncertainty of a model's stages. */
export interface StageUncertainty {
  /** Of the logarithms of the time constants, then of the resistances (K/W): 2 n × 2 n. */
  readonly covariance: readonly (readonly number[])[];
  /**
   * Relative variance of a common factor on all resistances: what the total is uncertain by beyond the stages' own
   * covariance, from air, mounts and the number of stages.
   */
  readonly scaleVariance: number;
}

/** Missing where the model's covariance does not hold all its stages. */
export function stageUncertaintyOf(model: CoolerModel): StageUncertainty | undefined {
  const numbers = model.poles?.resistancesKPerW.map((_, k) => k + 1) ?? [];
  const { parameters, matrix } = model.covariance;
  const indices = [
    ...numbers.map((k) => parameters.indexOf(`logTimeConstantS[${k}]`)),
    ...numbers.map((k) => parameters.indexOf(`resistanceKPerW[${k}]`)),
  ];
  if (numbers.length === 0 || indices.some((index) => index < 0)) return undefined;
  const covariance = indices.map((row) => indices.map((column) => matrix[row][column]));
  const ofTotal = covariance
    .slice(numbers.length)
    .reduce((sum, row) => sum + row.slice(numbers.length).reduce((part, value) => part + value, 0), 0);
  const { thermalResistanceKPerW, resistanceStandardErrorKPerW } = model.resistanceLaw;
  return {
    covariance,
    scaleVariance: Math.max(0, resistanceStandardErrorKPerW ** 2 - ofTotal) / thermalResistanceKPerW ** 2,
  };
}
