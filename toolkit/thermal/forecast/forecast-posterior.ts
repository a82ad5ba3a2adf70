import { NumericalError } from '../../errors.js';
import { choleskyFactor, choleskySolve } from '../../numerics/cholesky.js';
import { airAtDie } from '../air-at-die.js';
import { allocatePoleResponse, fillPoleResponse } from '../pole-response.js';
import { forecastColumns } from './forecast-columns.js';
import { blockMeansOf, type ForecastRecord } from './forecast-record.js';

/** What is believed of the slowest time constant before the run says anything: log-normal. */
export interface SlowestPrior {
  readonly medianS: number;
  /** Standard deviation of the natural logarithm. */
  readonly logStandardDeviation: number;
}

/** The time constants a posterior is computed for, and what its columns are linear around. */
export interface ForecastGrid {
  readonly slowestS: readonly number[];
  readonly middleS: readonly number[];
  /** Earlier power in whose steady state the run started, W. */
  readonly startPowerW: number;
  readonly roughResistanceKPerW: number;
}

/** What the record says under one pair of time constants. */
export interface ForecastCell {
  readonly slowestS: number;
  readonly middleS: number;
  /** Posterior probability; over all cells they sum to 1. */
  readonly weight: number;
  /** Total resistance at the load's power, K/W. */
  readonly resistanceKPerW: number;
  readonly standardErrorKPerW: number;
}

/** The state of knowledge about the total resistance. */
export interface ForecastPosterior {
  readonly cells: readonly ForecastCell[];
  readonly likeliest: ForecastCell;
  /** How much larger the residuals' variance is than the noise that was assumed; the errors hold it, where it is above 1. */
  readonly excessVarianceRatio: number;
  /** Temperatures of the likeliest cell for any record that begins with this one, degrees Celsius. */
  readonly predict: (continued: ForecastRecord) => Float64Array;
}

/** Neighbouring time constants closer than this ratio are one stage. */
const LEAST_RATIO = 1.8;

/**
 * Slow departures that no stage explains: air that reaches the fins otherwise than the thermometer, cores that shift
 * work, many stages described by a few. A first-order process with this standard deviation, K, and correlation time, s;
 * tuned on simulated rigs. A room that is not measured drifts by more.
 */
const SLOW_NOISE_K = 0.025;
const UNMEASURED_AIR_NOISE_K = 0.2;
const SLOW_NOISE_S = 250;

/**
 * What rounding adds to a mean changes sign within half a step of the sensor: blocks whose temperatures are further
 * apart than this share of a step have nothing of it in common. Their temperatures are means over so many neighbours,
 * else rounding itself would move them apart.
 */
const ROUNDING_SHARE = 0.1;
const ROUNDING_NEIGHBOURS = 6;

/** Fixed fast stages leave this much open of the power that a filter of so many seconds has not followed yet. */
const FAST_OPEN_KPERW = 0.02;
const FAST_FILTER_S = 8;

/** A block without a reading that counts says nothing, K². */
const NOTHING_K2 = 1e6;

/**
 * Posterior of the total resistance: for each pair of middle and slowest time constants a linear model with Gaussian
 * priors and correlated noise (generalised least squares [Rasmussen2006, ch. 2]), weighted by its marginal likelihood and
 * the prior of the slowest time constant. Cost linear in samples, quadratic in blocks.
 */
export function forecastPosterior(
  record: ForecastRecord,
  grid: ForecastGrid,
  prior: SlowestPrior,
): ForecastPosterior {
  const whiten = whitening(record, grid.startPowerW);
  const columns = forecastColumns(record, grid.startPowerW, grid.roughResistanceKPerW, (samples) =>
    whiten(blockMeansOf(record, samples)),
  );
  const found: { readonly cell: ForecastCell; readonly logWeight: number }[] = [];
  let best: { readonly cell: ForecastCell; readonly solved: Solved; readonly logWeight: number } | undefined;
  for (const slowestS of grid.slowestS) {
    const rise = columns.riseOf(slowestS);
    const distance = Math.log(slowestS / prior.medianS) / prior.logStandardDeviation;
    for (const middleS of grid.middleS) {
      if (slowestS < LEAST_RATIO * middleS) continue;
      const solved = solve(columns.columnsOf(slowestS, middleS), rise);
      const logWeight = solved.logLikelihood - distance ** 2 / 2;
      const cell = {
        slowestS,
        middleS,
        weight: 1,
        resistanceKPerW: solved.totalKPerW,
        standardErrorKPerW: solved.standardErrorKPerW,
      };
      found.push({ cell, logWeight });
      if (best === undefined || logWeight > best.logWeight) best = { cell, solved, logWeight };
    }
  }
  if (best === undefined)
    throw new NumericalError('forecastPosterior: no pair of time constants is distinct');
  const { cell: likeliest, solved, logWeight: highest } = best;

  // Residuals larger than the assumed noise allows widen everything alike, as Birge's ratio does.
  const excessVarianceRatio = solved.squares / (record.blockEdges.length - 1);
  const scale = Math.max(1, excessVarianceRatio);
  const weights = found.map(({ logWeight }) => Math.exp((logWeight - highest) / scale));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return {
    cells: found.map(({ cell }, c) => ({
      ...cell,
      weight: weights[c] / total,
      standardErrorKPerW: cell.standardErrorKPerW * Math.sqrt(scale),
    })),
    likeliest,
    excessVarianceRatio,
    predict: (continued) => {
      const { slowestS, middleS } = likeliest;
      const plain = forecastColumns(
        continued,
        grid.startPowerW,
        grid.roughResistanceKPerW,
        (samples) => samples,
      );
      const temperatureC = airAtDie(continued.timeS, continued.ambientC, slowestS);
      plain.columnsOf(slowestS, middleS).forEach(({ values }, k) => {
        for (let i = 0; i < temperatureC.length; i++) temperatureC[i] += solved.unknowns[k] * values[i];
      });
      return temperatureC;
    },
  };
}

/** Multiplies block means by the inverse Cholesky factor of their covariance. */
function whitening(record: ForecastRecord, startPowerW: number): (means: Float64Array) => Float64Array {
  const { blockEdges, readingCounts, drivePowerW } = record;
  const count = blockEdges.length - 1;
  const middleS = blockMeansOf(record, record.timeS);
  const followed = allocatePoleResponse(drivePowerW.length);
  fillPoleResponse(FAST_FILTER_S, record, startPowerW, followed);
  const aheadW = blockMeansOf(
    record,
    drivePowerW.map((power, i) => power - followed.value[i]),
  );
  const slowVariance = (record.ambientMeasured ? SLOW_NOISE_K : UNMEASURED_AIR_NOISE_K) ** 2;
  const levelC = meansOfNeighbours(blockMeansOf(record, record.temperatureC), ROUNDING_NEIGHBOURS);
  const commonK = ROUNDING_SHARE * record.quantumK;
  const roundingCovariance = (a: number, b: number): number =>
    record.roundingK === 0
      ? 0
      : record.roundingK ** 2 * Math.exp(-(((levelC[a] - levelC[b]) / commonK) ** 2) / 2);
  const factor = new Float64Array(count * count);
  for (let a = 0; a < count; a++) {
    for (let b = 0; b <= a; b++)
      factor[a * count + b] =
        slowVariance * Math.exp((middleS[b] - middleS[a]) / SLOW_NOISE_S) + roundingCovariance(a, b);
    let readings = 0;
    for (let i = blockEdges[a]; i < blockEdges[a + 1]; i++) readings += readingCounts[i];
    factor[a * count + a] +=
      (FAST_OPEN_KPERW * aheadW[a]) ** 2 + (readings > 0 ? record.readingNoiseK ** 2 / readings : NOTHING_K2);
  }
  if (!choleskyFactor(factor, count))
    throw new NumericalError('forecastSteady: the covariance of the readings is not positive definite');
  return (means) => {
    const white = means.slice();
    for (let i = 0; i < count; i++) {
      let sum = white[i];
      for (let k = 0; k < i; k++) sum -= factor[i * count + k] * white[k];
      white[i] = sum / factor[i * count + i];
    }
    return white;
  };
}

/** Each value's mean with as many on either side as there are, up to `reach`. */
function meansOfNeighbours(values: Float64Array, reach: number): Float64Array {
  return values.map((_, i) => {
    const near = values.subarray(Math.max(0, i - reach), i + reach + 1);
    return near.reduce((sum, value) => sum + value, 0) / near.length;
  });
}

interface Solved {
  readonly unknowns: Float64Array;
  readonly totalKPerW: number;
  readonly standardErrorKPerW: number;
  /** Up to a constant of the record. */
  readonly logLikelihood: number;
  /** Whitened residuals squared, the departures from the priors included. */
  readonly squares: number;
}

/** Linear model with independent Gaussian priors on whitened data, in units of the priors' standard deviations. */
function solve(
  columns: ReturnType<ReturnType<typeof forecastColumns>['columnsOf']>,
  rise: Float64Array,
): Solved {
  const count = columns.length;
  const residual = rise.slice();
  for (const { values, mean } of columns) {
    if (mean === 0) continue;
    for (let i = 0; i < residual.length; i++) residual[i] -= mean * values[i];
  }
  const normal = new Float64Array(count * count);
  const right = new Float64Array(count);
  for (let a = 0; a < count; a++) {
    const scale = columns[a].standardDeviation;
    for (let b = 0; b <= a; b++)
      normal[a * count + b] =
        scale * columns[b].standardDeviation * dot(columns[a].values, columns[b].values);
    normal[a * (count + 1)] += 1;
    right[a] = scale * dot(columns[a].values, residual);
  }
  if (!choleskyFactor(normal, count))
    throw new NumericalError(
      'forecastSteady: the normal equations overflow; check the temperatures and powers',
    );
  const steps = right.slice();
  choleskySolve(normal, count, steps);
  const share = Float64Array.from(columns, ({ resistance, standardDeviation }) =>
    resistance ? standardDeviation : 0,
  );
  const spread = share.slice();
  choleskySolve(normal, count, spread);
  let logDeterminant = 0;
  for (let a = 0; a < count; a++) logDeterminant += 2 * Math.log(normal[a * (count + 1)]);
  const unknowns = steps.map((step, k) => columns[k].mean + columns[k].standardDeviation * step);
  const squares = dot(residual, residual) - dot(steps, right);
  return {
    unknowns,
    totalKPerW: columns.reduce((sum, { resistance }, k) => sum + (resistance ? unknowns[k] : 0), 0),
    standardErrorKPerW: Math.sqrt(dot(share, spread)),
    logLikelihood: -(squares + logDeterminant) / 2,
    squares,
  };
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}
