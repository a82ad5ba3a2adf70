import { NORMAL_95, studentTQuantile } from '../../numerics/distributions.js';
import type { Estimate, EstimatedNumber } from '../../numerics/estimate.js';
import type { PowerCurve } from '../../power/power-curve.js';
import {
  frequencyCovariance,
  frequencyEstimate,
  frequencyFunction,
  type PowerAndTemperature,
  slopes,
} from '../../power/predict/frequency-at.js';
import {
  throughputCovariance,
  throughputFunction,
  throughputOfFrequency,
  throughputSlopes,
} from '../../power/predict/throughput-at.js';

/** A number that a power curve gives at an operating point: its frequency or its throughput. */
export interface QuantityOfCurve {
  readonly curve: PowerCurve;
  value(at: PowerAndTemperature): number;
  estimate(at: PowerAndTemperature): Estimate;
  slopes(at: PowerAndTemperature): { readonly perPower: number; readonly perTemperature: number };
  covariance(points: readonly PowerAndTemperature[]): readonly (readonly number[])[];
}

/** The frequency, MHz. */
export function frequencyOfCurve(curve: PowerCurve): QuantityOfCurve {
  const frequency = frequencyFunction(curve);
  return {
    curve,
    value: ({ powerW, temperatureC }) => frequency(powerW, temperatureC),
    estimate: (at) => frequencyEstimate(curve, at),
    slopes: (at) => slopes(curve, at),
    covariance: (points) => frequencyCovariance(curve, points),
  };
}

/** The throughput, per second, of a curve that knows it. */
export function throughputOfCurve(curve: PowerCurve): QuantityOfCurve {
  const throughput = throughputFunction(curve);
  return {
    curve,
    value: ({ powerW, temperatureC }) => throughput(powerW, temperatureC),
    estimate: (at) => throughputOfFrequency(curve, frequencyEstimate(curve, at)),
    slopes: (at) => throughputSlopes(curve, at),
    covariance: (points) => throughputCovariance(curve, points),
  };
}

/**
 * An estimate at an operating point that is itself spread: the curve's own uncertainty and what the spread of power and
 * temperature carries over are independent and add in quadrature, as standard errors and as half-widths of the 95 %
 * interval.
 *
 * @param spread - standard deviation that the spread of the operating point gives
 */
export function withSpread(own: Estimate, spread: number): Estimate {
  if (own.kind === 'unavailable') return own;
  const halfWidth = Math.hypot((own.interval95[1] - own.interval95[0]) / 2, NORMAL_95 * spread);
  return {
    ...own,
    standardError: Math.hypot(own.standardError, spread),
    interval95: [own.value - halfWidth, own.value + halfWidth],
  };
}

/** A number worked out from a curve, with the curve's standard error and an independent one of the draws. */
export function fromCurveAndDraws(
  curve: PowerCurve,
  value: number,
  standardErrors: { readonly ofCurve: number; readonly ofDraws: number },
  extrapolated: boolean,
): EstimatedNumber {
  const { ofCurve, ofDraws } = standardErrors;
  const halfWidth = Math.hypot(
    studentTQuantile(0.975, curve.degreesOfFreedom) * ofCurve,
    NORMAL_95 * ofDraws,
  );
  return {
    kind: 'estimated',
    value,
    standardError: Math.hypot(ofCurve, ofDraws),
    interval95: [value - halfWidth, value + halfWidth],
    extrapolated,
  };
}

/** Standard error of Σ wₖ·xₖ for numbers of the given covariance. */
export function standardErrorOfSum(
  weights: readonly number[],
  covariance: readonly (readonly number[])[],
): number {
  return Math.sqrt(
    Math.max(
      0,
      weightedSum(weights, (k) => weightedSum(weights, (l) => covariance[k][l])),
    ),
  );
}

function weightedSum(weights: readonly number[], value: (index: number) => number): number {
  return weights.reduce((sum, weight, index) => sum + weight * value(index), 0);
}
