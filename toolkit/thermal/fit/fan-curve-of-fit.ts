import type { CoolerModel } from '../cooler-model.js';
import { assumedFanExponent, FAN_CURVE_PARAMETERS } from '../fan-law.js';
import { fanSpeedsOf } from './fan-covariate.js';
import { type FittedCandidate, totalOf } from './fit-candidate.js';
import type { FitRecord } from './fit-record.js';

/**
 * The law R(n) = R∞ + a (n / n₀)^(−b) that the fan's share s of the slowest stage is: a = s rₙ, R∞ = R − a. What the
 * total is uncertain by beyond its covariance (air, mounts, other structures) is the same at all speeds.
 */
export function fanCurveOf(
  record: FitRecord,
  chosen: FittedCandidate,
  covariance: readonly (readonly number[])[],
  total: { readonly standardErrorKPerW: number; readonly degreesOfFreedom: number },
): Pick<CoolerModel, 'fanCurve'> {
  const { layout, structure, fan } = chosen;
  const { referenceFanSpeedRpm } = record;
  if (fan === undefined || referenceFanSpeedRpm === undefined) return {};
  const { stageCount, atPowerW } = structure;
  const slowestKPerW = chosen.resistancesKPerW[stageCount - 1];
  const convectionKPerW = fan.share * slowestKPerW;
  // Rows of the Jacobian of (R∞, a, b) by the fit's parameters.
  const blank = (): number[] => new Array<number>(covariance.length).fill(0);
  const [ofLimit, ofConvection, ofExponent] = [blank(), blank(), blank()];
  ofConvection[layout.fanIndex] = slowestKPerW;
  ofConvection[layout.count + stageCount - 1] = fan.share;
  for (let k = 0; k < stageCount; k++) ofLimit[layout.count + k] = 1;
  ofConvection.forEach((slope, i) => {
    ofLimit[i] -= slope;
  });
  ofExponent[layout.fanIndex + 1] = 1;
  const rows = [ofLimit, ofConvection, ofExponent];
  const matrix = rows.map((a) => rows.map((b) => quadraticForm(a, covariance, b)));
  const ofTotal = rows[0].map((slope, i) => slope + rows[1][i]);
  matrix[0][0] += Math.max(0, total.standardErrorKPerW ** 2 - quadraticForm(ofTotal, covariance, ofTotal));
  const { range = [referenceFanSpeedRpm, referenceFanSpeedRpm], distinctCount } = fanSpeedsOf(record.runs);
  const { cooler } = record.runs[0].conditions;
  return {
    fanCurve: {
      kind: 'fan-curve',
      ...(cooler === undefined ? {} : { cooler }),
      atPowerW,
      referenceFanSpeedRpm,
      limitKPerW: totalOf(chosen) - convectionKPerW,
      convectionKPerW,
      fanSpeedExponent: fan.exponent,
      covariance: { parameters: FAN_CURVE_PARAMETERS, matrix },
      degreesOfFreedom: total.degreesOfFreedom,
      points: [],
      testedRange: { fanSpeedRpm: range },
      findings: assumedFanExponent(distinctCount),
    },
  };
}

function quadraticForm(
  a: readonly number[],
  matrix: readonly (readonly number[])[],
  b: readonly number[],
): number {
  return a.reduce(
    (sum, left, i) =>
      left === 0 ? sum : sum + left * b.reduce((inner, right, j) => inner + matrix[i][j] * right, 0),
    0,
  );
}
