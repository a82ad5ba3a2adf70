import type { BoundForm } from '../forms/curve-form.js';
import { boundPerObservation, type FormProblem } from './form-problem.js';
import { type Observation, powerLevelsW } from './observation.js';

/** Variance below which no average of frequency is trusted, MHz²: half a megahertz. */
const LEAST_VARIANCE = 0.25;

/**
 * Standard deviation of what a voltage reading is off by for a whole segment, V: sensor, and the drop between it and the
 * cores.
 */
const VOLTAGE_SEGMENT_V = 0.005;

/** Variance of every row before any fit: sampling and rounding, and 5 MHz or 5 mV. */
export function startingVariances(problem: FormProblem, withVoltage: readonly number[]): Float64Array {
  const { observations } = problem;
  return Float64Array.from([
    ...observations.map(({ frequencyVariance }) => frequencyVariance + 25),
    ...withVoltage.map((index) => observations[index].voltage!.variance + VOLTAGE_SEGMENT_V ** 2),
  ]);
}

/**
 * Variance of every row about the curve: of frequencies the noise of an average, enlarged where neighbouring bins or
 * segments scatter more than it says; of voltages their noise, that of the frequency they are read at, and what the
 * reading is off by in a whole segment.
 *
 * @param withVoltage - indices of the observations whose voltages follow the frequencies as rows
 * @param residuals - observed − fitted of every row
 */
export function rowVariances(
  problem: FormProblem,
  withVoltage: readonly number[],
  p: ArrayLike<number>,
  residuals: ArrayLike<number>,
): Float64Array {
  const { observations } = problem;
  const boundOf = boundPerObservation(problem, p);
  const sampled = Float64Array.from(observations, (observation) =>
    sampledVariance(boundOf(observation), observation),
  );
  let sum = 0;
  let count = 0;
  for (let i = 1; i < observations.length; i++) {
    if (observations[i].segment !== observations[i - 1].segment) continue;
    sum += (residuals[i] - residuals[i - 1]) ** 2 / (sampled[i] + sampled[i - 1]);
    count++;
  }
  const enlargement = count < 3 ? 1 : Math.max(1, sum / count);
  const frequency = withSegmentOffsets(
    observations,
    sampled.map((variance) => variance * enlargement),
    residuals,
  );
  if (withVoltage.length === 0) return frequency;
  const voltage = voltageVariances(problem, withVoltage, boundOf, residuals);
  return Float64Array.from([...frequency, ...voltage]);
}

/** Variance of a frequency's average, with those of power, temperature and a set voltage carried over by the slopes. */
function sampledVariance(bound: BoundForm, observation: Observation): number {
  const { powerW, temperatureC, voltage } = observation;
  if (voltage?.setByHand === true && bound.voltage !== undefined) {
    const { voltageV } = voltage;
    const f = bound.voltage.frequencyAtMHz;
    const stepV = 1e-3 * voltageV;
    const perPower = f(powerW + 1, temperatureC, voltageV) - f(powerW, temperatureC, voltageV);
    const perTemperature = f(powerW, temperatureC + 0.5, voltageV) - f(powerW, temperatureC - 0.5, voltageV);
    const perVoltage =
      (f(powerW, temperatureC, voltageV + stepV) - f(powerW, temperatureC, voltageV - stepV)) / (2 * stepV);
    return (
      observation.frequencyVariance +
      perPower ** 2 * observation.powerVariance +
      perTemperature ** 2 * observation.temperatureVariance +
      perVoltage ** 2 * voltage.variance +
      LEAST_VARIANCE
    );
  }
  const { perPower, perTemperature } = slopesOf(bound, powerW, temperatureC);
  return (
    observation.frequencyVariance +
    perPower ** 2 * observation.powerVariance +
    perTemperature ** 2 * observation.temperatureVariance +
    LEAST_VARIANCE
  );
}

function voltageVariances(
  { observations }: FormProblem,
  withVoltage: readonly number[],
  boundOf: (observation: Observation) => BoundForm,
  residuals: ArrayLike<number>,
): Float64Array {
  const rowsPerSegment = new Map<number, number>();
  for (const index of withVoltage) {
    const { segment } = observations[index];
    rowsPerSegment.set(segment, (rowsPerSegment.get(segment) ?? 0) + 1);
  }
  const variances = Float64Array.from(withVoltage, (index) => {
    const observation = observations[index];
    const perMHz = boundOf(observation).voltage!.slopeVPerMHz(observation.frequencyMHz);
    const shared = observation.voltage!.setByHand
      ? 0
      : rowsPerSegment.get(observation.segment)! * VOLTAGE_SEGMENT_V ** 2;
    return observation.voltage!.variance + perMHz ** 2 * observation.frequencyVariance + shared;
  });
  let squares = 0;
  variances.forEach((variance, k) => {
    squares += residuals[observations.length + k] ** 2 / variance;
  });
  const enlargement = Math.max(1, squares / variances.length);
  return variances.map((variance) => variance * enlargement);
}

/**
 * Enlarges the variances of each segment so that its mean carries what segments differ by beyond their noise: runs at
 * one power level that disagree do so as a whole, which no averaging within them cures. The variance of that offset is
 * that of the segments' mean residuals about those of their power level and voltage offset, and what is known to be
 * shared by a segment; misfit between levels is the correction's.
 */
function withSegmentOffsets(
  observations: readonly Observation[],
  variances: Float64Array,
  residuals: ArrayLike<number>,
): Float64Array {
  const levels = powerLevelsW(observations);
  const segments = new Map<number, { weight: number; residual: number; level: string; shared: number }>();
  observations.forEach(({ segment, powerW, voltageOffsetMv, segmentVariance = 0 }, i) => {
    const entry = segments.get(segment) ?? {
      weight: 0,
      residual: 0,
      level: `${nearest(levels, powerW)} at ${voltageOffsetMv}`,
      shared: segmentVariance,
    };
    const weight = entry.weight + 1 / variances[i];
    const residual = entry.residual + (residuals[i] - entry.residual) / (variances[i] * weight);
    segments.set(segment, { ...entry, weight, residual });
  });
  let excess = 0;
  let degreesOfFreedom = 0;
  for (const level of new Set([...segments.values()].map((segment) => segment.level))) {
    const group = [...segments.values()].filter((segment) => segment.level === level);
    const mean = group.reduce((sum, { residual }) => sum + residual / group.length, 0);
    const noise = group.reduce((sum, { weight }) => sum + 1 / weight / group.length, 0);
    const freedom = Math.max(0, group.length - 1);
    excess += group.reduce((sum, { residual }) => sum + (residual - mean) ** 2, 0) - freedom * noise;
    degreesOfFreedom += freedom;
  }
  const offsetVariance = degreesOfFreedom === 0 ? 0 : Math.max(0, excess / degreesOfFreedom);
  return variances.map((variance, i) => {
    const { weight, shared } = segments.get(observations[i].segment)!;
    return variance * (1 + weight * (offsetVariance + shared));
  });
}

/** Index of the level nearest to a power. */
function nearest(levels: readonly number[], powerW: number): number {
  return levels.reduce(
    (best, level, k) => (Math.abs(level - powerW) < Math.abs(levels[best] - powerW) ? k : best),
    0,
  );
}

/** Slopes of a form with numbers in it: MHz per W and MHz per K. */
export function slopesOf(
  bound: BoundForm,
  powerW: number,
  temperatureC: number,
): { readonly perPower: number; readonly perTemperature: number } {
  const stepW = 1e-3 * powerW;
  return {
    perPower:
      (bound.frequencyMHz(powerW + stepW, temperatureC) - bound.frequencyMHz(powerW - stepW, temperatureC)) /
      (2 * stepW),
    perTemperature: perTemperatureOf(bound, powerW, temperatureC),
  };
}

/** The second of them alone. */
export function perTemperatureOf(bound: BoundForm, powerW: number, temperatureC: number): number {
  const stepK = 0.1;
  return (
    (bound.frequencyMHz(powerW, temperatureC + stepK) - bound.frequencyMHz(powerW, temperatureC - stepK)) /
    (2 * stepK)
  );
}
