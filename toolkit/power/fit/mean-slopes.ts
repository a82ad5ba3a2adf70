import type { BoundForm, ReferencePoint } from '../forms/curve-form.js';

/** Half the range of powers over which the slope is taken, as a fraction. */
const SLOPE_POWER_FRACTION = 0.1;

/** The steps over which a curve's mean slopes are taken. */
export interface SlopeSteps {
  readonly middleW: number;
  readonly middleC: number;
  /** Half the range of powers and of temperatures. */
  readonly stepW: number;
  readonly stepK: number;
}

/**
 * About the centre of the points: ±10 % of power, and the middle half of the tested temperatures (a slope at one point
 * would hang on kinks that no log resolves).
 */
export function slopeSteps(
  { powerW }: ReferencePoint,
  [lowC, highC]: readonly [low: number, high: number],
): SlopeSteps {
  return {
    middleW: powerW,
    middleC: (lowC + highC) / 2,
    stepW: SLOPE_POWER_FRACTION * powerW,
    stepK: Math.max(0.5, (highC - lowC) / 4),
  };
}

/** What a watt and a kelvin change on average about the centre of the points, MHz/W and MHz/K, effective. */
export function meanSlopes(
  curve: {
    readonly bound: BoundForm;
    readonly reference: ReferencePoint;
    readonly effective: { readonly ratio: number };
  },
  testedC: readonly [low: number, high: number],
): { readonly perPower: number; readonly perTemperature: number } {
  const { bound, effective } = curve;
  const { middleW, middleC, stepW, stepK } = slopeSteps(curve.reference, testedC);
  const f = bound.frequencyMHz;
  return {
    perPower: (effective.ratio * (f(middleW + stepW, middleC) - f(middleW - stepW, middleC))) / (2 * stepW),
    perTemperature:
      (effective.ratio * (f(middleW, middleC + stepK) - f(middleW, middleC - stepK))) / (2 * stepK),
  };
}
