import { normalQuantile, studentTQuantile } from '../numerics/distributions.js';
import type { Estimate, EstimatedNumber } from '../numerics/estimate.js';
import { frequencyAt, type PowerAndTemperature } from '../power/frequency-at.js';
import type { PowerCurve } from '../power/power-curve.js';

const Z95 = normalQuantile(0.975);

/**
 * Frequency at an operating point that is itself spread, MHz.
 *
 * The curve's own uncertainty and what the spread of power and temperature carries over are independent and add in
 * quadrature, as standard errors and as half-widths of the 95 % interval.
 *
 * @param spreadMHz - standard deviation that the spread of the operating point gives to the frequency
 */
export function frequencyWithSpread(curve: PowerCurve, at: PowerAndTemperature, spreadMHz: number): Estimate {
  const own = frequencyAt(curve, at);
  if (own.kind === 'unavailable') return own;
  const halfWidth = Math.hypot((own.interval95[1] - own.interval95[0]) / 2, Z95 * spreadMHz);
  return {
    ...own,
    standardError: Math.hypot(own.standardError, spreadMHz),
    interval95: [own.value - halfWidth, own.value + halfWidth],
  };
}

/** A number worked out from frequencies, with the curve's standard error and an independent one of the draws. */
export function fromCurveAndDraws(
  curve: PowerCurve,
  value: number,
  standardErrors: { readonly ofCurve: number; readonly ofDraws: number },
  extrapolated: boolean,
): EstimatedNumber {
  const { ofCurve, ofDraws } = standardErrors;
  const halfWidth = Math.hypot(studentTQuantile(0.975, curve.degreesOfFreedom) * ofCurve, Z95 * ofDraws);
  return {
    kind: 'estimated',
    value,
    standardError: Math.hypot(ofCurve, ofDraws),
    interval95: [value - halfWidth, value + halfWidth],
    extrapolated,
  };
}

/** Standard error of Σ wₖ·fₖ for frequencies of the given covariance. */
export function standardErrorOfSum(
  weights: readonly number[],
  covariance: readonly (readonly number[])[],
): number {
  return Math.sqrt(
    Math.max(
      0,
      weightedSum(weights, (k) => weightedSum(weights, (l) => covariance[k]![l]!)),
    ),
  );
}

function weightedSum(weights: readonly number[], value: (index: number) => number): number {
  return weights.reduce((sum, weight, index) => sum + weight * value(index), 0);
}
