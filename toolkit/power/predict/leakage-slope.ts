import { ArgumentError, requireNumber } from '../../errors.js';
import type { Estimate } from '../../numerics/estimate.js';
import { estimatedWithFactor, inUnit, unavailable } from '../../numerics/estimates.js';
import { bilinearForm } from '../bilinear-form.js';
import type { PowerCurve } from '../power-curve.js';
import { atTestedOffset } from './frequency-at.js';
import { requireCurve } from './require-curve.js';
import { unpack } from './unpack-curve.js';

/** An operating point given by its temperature, and by its frequency or its power. */
export type LeakagePoint = { readonly temperatureC: number } & (
  | { readonly frequencyMHz: number; readonly powerW?: never }
  | { readonly powerW: number; readonly frequencyMHz?: never }
);

/**
 * What one kelvin more adds to the power at a held frequency and voltage: ∂P/∂T = P_leak·v·e^((T − T₀)/θ)/θ.
 *
 * Times the thermal resistance it is the gain of the loop temperature → leakage → temperature: where frequency and
 * voltage are fixed, or no cap binds, the steady state exists only below 1.
 *
 * @param curve - an electro-thermal curve
 * @param at - die temperature in degrees Celsius with the frequency in MHz, or with the power in W that the processor
 * draws there
 * @returns W/K, at least 0; not identifiable where the curve's form knows no temperature. Where the points tell the
 * effect of temperature hardly, the interval is as wide as the stated assumptions on leakage
 * @throws ArgumentError if neither or both of frequency and power are given, or a number lies outside its domain
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 118, temperatureC: 71, frequencyMHz: 3900 },
 *   { powerW: 118, temperatureC: 88, frequencyMHz: 3790 },
 *   { powerW: 90, temperatureC: 58, frequencyMHz: 3560 },
 * ]);
 * leakageSlopeWPerK(curve, { frequencyMHz: 3790, temperatureC: 88 }).value; // => 0.64 within 0.01
 */
export function leakageSlopeWPerK(curve: PowerCurve, at: LeakagePoint): Estimate {
  const caller = 'leakageSlopeWPerK';
  requireCurve(curve, caller);
  if (
    typeof at !== 'object' ||
    at === null ||
    (at.frequencyMHz === undefined) === (at.powerW === undefined)
  ) {
    throw new ArgumentError({
      caller,
      argument: 'at',
      expected: '{ frequencyMHz, temperatureC } or { powerW, temperatureC }',
      received: at,
    });
  }
  requireNumber(at.temperatureC, { caller, argument: 'at.temperatureC' }, { above: -273.15 });
  if (at.frequencyMHz !== undefined)
    requireNumber(at.frequencyMHz, { caller, argument: 'at.frequencyMHz' }, { above: 0 });
  else requireNumber(at.powerW, { caller, argument: 'at.powerW' }, { above: 0 });
  if (curve.form !== 'electro-thermal') return unavailable('not-identifiable');
  const { form, parameters, reference, offsetV, coverageFactor95 } = unpack(curve);
  const slopeFor = (numbers: ArrayLike<number>): number => {
    const bound = form.bind(numbers, reference, offsetV);
    return bound.leakageSlopeWPerK(
      at.frequencyMHz ?? bound.frequencyMHz(at.powerW, at.temperatureC),
      at.temperatureC,
    );
  };
  const value = slopeFor(parameters);
  const gradient = parameters.map((parameter, j) => {
    const step = 1e-5 * Math.max(Math.abs(parameter), 0.01);
    const moved = (by: number): number =>
      slopeFor(parameters.map((other, k) => (k === j ? other + by : other)));
    return (moved(step) - moved(-step)) / (2 * step);
  });
  const standardErrorWPerK = Math.sqrt(bilinearForm(gradient, curve.covariance.matrix, gradient));
  const extrapolated = isOutside(curve, at.temperatureC);
  return inUnit(estimatedWithFactor(value, standardErrorWPerK, coverageFactor95, extrapolated), 'W/K');
}

function isOutside(curve: PowerCurve, temperatureC: number): boolean {
  const [low, high] = curve.testedRange.temperatureC;
  return !atTestedOffset(curve) || temperatureC < low - 1 || temperatureC > high + 1;
}
