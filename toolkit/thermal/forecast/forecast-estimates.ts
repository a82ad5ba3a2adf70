import { NORMAL_95 } from '../../numerics/distributions.js';
import type { EstimatedNumber } from '../../numerics/estimate.js';
import { momentsOfMixture, type NormalMixture, quantileOfMixture } from '../../numerics/normal-mixture.js';
import type { ForecastPosterior } from './forecast-posterior.js';
import type { ForecastRecord } from './forecast-record.js';

/** Standard uncertainty of the air at the end, K: read to a tenth or so, and late; or one number for a whole run. */
const MEASURED_AIR_K = 0.05;
const GIVEN_AIR_K = 0.3;

/** The steady temperature, degrees Celsius: one normal distribution for each pair of time constants. */
export function steadyMixture(
  { loadPowerW, endAmbientC }: ForecastRecord,
  { cells }: ForecastPosterior,
): NormalMixture {
  return cells.map(({ weight, resistanceKPerW, standardErrorKPerW }) => ({
    weight,
    mean: endAmbientC + loadPowerW * resistanceKPerW,
    standardDeviation: Math.hypot(loadPowerW * standardErrorKPerW, MEASURED_AIR_K),
  }));
}

export function estimateOfMixture(mixture: NormalMixture): EstimatedNumber {
  return {
    kind: 'estimated',
    value: quantileOfMixture(mixture, 0.5),
    standardError: momentsOfMixture(mixture).standardDeviation,
    interval95: [quantileOfMixture(mixture, 0.025), quantileOfMixture(mixture, 0.975)],
  };
}

export function halfWidthOf({ interval95: [low, high] }: EstimatedNumber): number {
  return (high - low) / 2;
}

/** In constant air an offset of its thermometer cancels out of the steady temperature, but not out of the resistance. */
export function resistanceAtEnd(steady: EstimatedNumber, record: ForecastRecord): EstimatedNumber {
  const { loadPowerW, endAmbientC } = record;
  const value = (steady.value - endAmbientC) / loadPowerW;
  const airKPerW = (record.ambientMeasured ? MEASURED_AIR_K : GIVEN_AIR_K) / loadPowerW;
  const side = (end: number): number => Math.hypot((end - steady.value) / loadPowerW, NORMAL_95 * airKPerW);
  return {
    kind: 'estimated',
    value,
    standardError: Math.hypot(steady.standardError / loadPowerW, airKPerW),
    interval95: [value - side(steady.interval95[0]), value + side(steady.interval95[1])],
  };
}

export function missingRise(steady: EstimatedNumber, record: ForecastRecord): EstimatedNumber {
  const { endTemperatureC, endAmbientC } = record;
  const missing = (steadyC: number): number => (steadyC - endTemperatureC) / (steadyC - endAmbientC);
  const riseK = steady.value - endAmbientC;
  return {
    kind: 'estimated',
    value: missing(steady.value),
    standardError: (steady.standardError * (endTemperatureC - endAmbientC)) / riseK ** 2,
    interval95: [missing(steady.interval95[0]), missing(steady.interval95[1])],
  };
}

export function slowestTimeConstant({ cells }: ForecastPosterior): EstimatedNumber {
  // Between the points of the grid the logarithm is spread evenly.
  const values = [...new Set(cells.map(({ slowestS }) => slowestS))];
  const spacing = values.length > 1 ? Math.log(values[1] / values[0]) : 0;
  const mixture = cells.map(({ weight, slowestS }) => ({
    weight,
    mean: Math.log(slowestS),
    standardDeviation: Math.max(spacing / Math.sqrt(12), 1e-9),
  }));
  const value = Math.exp(quantileOfMixture(mixture, 0.5));
  return {
    kind: 'estimated',
    value,
    standardError: value * momentsOfMixture(mixture).standardDeviation,
    interval95: [Math.exp(quantileOfMixture(mixture, 0.025)), Math.exp(quantileOfMixture(mixture, 0.975))],
  };
}
