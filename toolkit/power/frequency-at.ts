import { ArgumentError, requireNumber } from '../errors.js';
import { studentTQuantile } from '../numerics/distributions.js';
import type { Estimate } from '../numerics/estimate.js';
import { estimatedWithFactor, unavailable } from '../numerics/estimates.js';
import { type CurveForm, curveForms, type ReferencePoint } from './curve-forms.js';
import type { PowerCurve } from './power-curve.js';

/** An operating point whose frequency is asked for. */
export interface PowerAndTemperature {
  /** Package power, W. */
  readonly powerW: number;
  /** Die temperature, degrees Celsius. */
  readonly temperatureC: number;
}

/** An operating point whose power is asked for. */
export interface FrequencyAndTemperature {
  readonly frequencyMHz: number;
  /** Die temperature, degrees Celsius. */
  readonly temperatureC: number;
}

/** Where a curve of one power level still answers: this far beside it. */
const LEVEL_TOLERANCE_RATIO = 1.02;

/** An answer this close to the tested range counts as inside. */
const EDGE_POWER_RATIO = 1.01;
const EDGE_TEMPERATURE_K = 1;

/** A curve unpacked for evaluation. */
interface Unpacked {
  readonly form: CurveForm;
  readonly parameters: Float64Array;
  readonly reference: ReferencePoint;
  readonly covariance: readonly (readonly number[])[];
  readonly coverageFactor95: number;
  readonly gradient: Float64Array;
}

const unpackedCurves = new WeakMap<PowerCurve, Unpacked>();

function unpack(curve: PowerCurve): Unpacked {
  const known = unpackedCurves.get(curve);
  if (known !== undefined) return known;
  const form = curveForms[curve.form];
  const unpacked: Unpacked = {
    form,
    parameters: Float64Array.from(form.parameters, ({ name }) => curve.parameters[name]!),
    reference: {
      powerW: curve.parameters['referencePowerW']!,
      temperatureC: curve.parameters['referenceTemperatureC']!,
    },
    covariance: curve.covariance.matrix,
    coverageFactor95: studentTQuantile(0.975, curve.degreesOfFreedom),
    gradient: new Float64Array(form.parameters.length),
  };
  unpackedCurves.set(curve, unpacked);
  return unpacked;
}

/**
 * Frequency at a power and a temperature, with its uncertainty.
 *
 * The interval covers the parameters' covariance (assumptions included) and the form's own discrepancy, which grows
 * with the distance from the tested range: s²·(1 + (Δln P/powerScaleRatio)² + (ΔT/temperatureScaleK)²).
 *
 * @param curve - from `fitPowerCurve` or `curveFromSteadyPoints`
 * @param at - power in W, above 0, and die temperature in degrees Celsius
 * @returns MHz; marked `extrapolated` outside the tested range (by more than 1 % of power or 1 K). Not identifiable
 * at another power than the one logged where only one level was.
 * @throws ArgumentError if a number is not finite or the power is not positive
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 118, temperatureC: 71, frequencyMHz: 3900 },
 *   { powerW: 118, temperatureC: 88, frequencyMHz: 3790 },
 *   { powerW: 90, temperatureC: 58, frequencyMHz: 3560 },
 * ]);
 * frequencyAt(curve, { powerW: 105, temperatureC: 70 }).value; // => 3740 within 30
 * frequencyAt(curve, { powerW: 65, temperatureC: 70 }).extrapolated; // => true
 */
export function frequencyAt(curve: PowerCurve, at: PowerAndTemperature): Estimate {
  requirePower('frequencyAt', at.powerW);
  requireTemperature('frequencyAt', at.temperatureC);
  if (!answersAt(curve, at.powerW)) return unavailable('not-identifiable');
  const { form, parameters, reference, coverageFactor95 } = unpack(curve);
  return estimatedWithFactor(
    form.frequencyMHz(parameters, reference, at.powerW, at.temperatureC),
    frequencyStandardErrorMHz(curve, at),
    coverageFactor95,
    isExtrapolated(curve, at),
  );
}

/**
 * Power that gives a frequency at a temperature, with its uncertainty: the inverse of `frequencyAt`.
 *
 * @param curve - from `fitPowerCurve` or `curveFromSteadyPoints`
 * @param at - frequency in MHz, above 0, and die temperature in degrees Celsius
 * @returns W; the standard error is the frequency's, divided by the slope ∂f/∂P there. Not identifiable where only
 * one power level was logged, or where the form reaches the frequency at no power.
 * @throws ArgumentError if a number is not finite or the frequency is not positive
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 118, temperatureC: 71, frequencyMHz: 3900 },
 *   { powerW: 118, temperatureC: 88, frequencyMHz: 3790 },
 *   { powerW: 90, temperatureC: 58, frequencyMHz: 3560 },
 * ]);
 * powerAt(curve, { frequencyMHz: 3740, temperatureC: 70 }).value; // => 105 within 2.5
 */
export function powerAt(curve: PowerCurve, at: FrequencyAndTemperature): Estimate {
  requireNumber(at.frequencyMHz, { caller: 'powerAt', argument: 'at.frequencyMHz' }, { above: 0 });
  requireTemperature('powerAt', at.temperatureC);
  if (!powerDependenceKnown(curve)) return unavailable('not-identifiable');
  const { form, parameters, reference, coverageFactor95 } = unpack(curve);
  const powerW = form.powerW(parameters, reference, at.frequencyMHz, at.temperatureC);
  if (!(powerW > 0)) return unavailable('not-identifiable');
  const point = { powerW, temperatureC: at.temperatureC };
  const slope = slopes(curve, point).perPower;
  if (!(slope > 0)) return unavailable('not-identifiable');
  return estimatedWithFactor(
    powerW,
    frequencyStandardErrorMHz(curve, point) / slope,
    coverageFactor95,
    isExtrapolated(curve, point),
  );
}

/**
 * The curve as a plain function, for loops that carry the uncertainty apart.
 *
 * @param curve - from `fitPowerCurve` or `curveFromSteadyPoints`
 * @returns (power in W, die temperature in degrees Celsius) → frequency in MHz; it throws an ArgumentError at another
 * power than the one logged where only one level was, and checks nothing else
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 118, temperatureC: 71, frequencyMHz: 3900 },
 *   { powerW: 118, temperatureC: 88, frequencyMHz: 3790 },
 *   { powerW: 90, temperatureC: 58, frequencyMHz: 3560 },
 * ]);
 * frequencyFunction(curve)(118, 71); // => 3900 within 15
 */
export function frequencyFunction(curve: PowerCurve): (powerW: number, temperatureC: number) => number {
  const { form, parameters, reference } = unpack(curve);
  if (powerDependenceKnown(curve)) {
    return (powerW, temperatureC) => form.frequencyMHz(parameters, reference, powerW, temperatureC);
  }
  const [low, high] = curve.testedRange.powerW;
  return (powerW, temperatureC) => {
    if (answersAt(curve, powerW)) return form.frequencyMHz(parameters, reference, powerW, temperatureC);
    throw new ArgumentError({
      caller: 'frequencyFunction',
      argument: 'powerW',
      expected: `the one power level of this curve, ${low.toFixed(1)} to ${high.toFixed(1)} W`,
      received: powerW,
      remedy: 'log a run at a second power cap at least 15 % away and fit both',
    });
  };
}

/** Whether the curve answers at other powers than those logged: two power levels or more stand behind it. */
export function powerDependenceKnown(curve: PowerCurve): boolean {
  return curve.frequencyPerPowerMHzPerW.kind === 'estimated';
}

/** Slopes of the curve: MHz per W at a held temperature, MHz per K at a held power. */
export function slopes(
  curve: PowerCurve,
  at: PowerAndTemperature,
): { readonly perPower: number; readonly perTemperature: number } {
  const { form, parameters, reference } = unpack(curve);
  const stepW = 1e-4 * at.powerW;
  const stepK = 0.01;
  const f = (powerW: number, temperatureC: number): number =>
    form.frequencyMHz(parameters, reference, powerW, temperatureC);
  return {
    perPower: (f(at.powerW + stepW, at.temperatureC) - f(at.powerW - stepW, at.temperatureC)) / (2 * stepW),
    perTemperature:
      (f(at.powerW, at.temperatureC + stepK) - f(at.powerW, at.temperatureC - stepK)) / (2 * stepK),
  };
}

function frequencyStandardErrorMHz(curve: PowerCurve, at: PowerAndTemperature): number {
  const { form, parameters, reference, covariance, gradient } = unpack(curve);
  form.gradient(parameters, reference, at.powerW, at.temperatureC, gradient);
  const { standardDeviationMHz, powerScaleRatio, temperatureScaleK } = curve.discrepancy;
  const [lowW, highW] = curve.testedRange.powerW;
  const [lowC, highC] = curve.testedRange.temperatureC;
  const beyondPower = Math.max(0, Math.log(lowW / at.powerW), Math.log(at.powerW / highW)) / powerScaleRatio;
  const beyondTemperature = Math.max(0, lowC - at.temperatureC, at.temperatureC - highC) / temperatureScaleK;
  const ofForm = standardDeviationMHz ** 2 * (1 + beyondPower ** 2 + beyondTemperature ** 2);
  return Math.sqrt(quadraticForm(gradient, covariance) + ofForm);
}

/** gᵀ C g. */
export function quadraticForm(g: ArrayLike<number>, covariance: readonly (readonly number[])[]): number {
  let sum = 0;
  for (let i = 0; i < covariance.length; i++) {
    const row = covariance[i]!;
    for (let j = 0; j < row.length; j++) sum += g[i]! * row[j]! * g[j]!;
  }
  return sum;
}

function answersAt(curve: PowerCurve, powerW: number): boolean {
  if (powerDependenceKnown(curve)) return true;
  const [low, high] = curve.testedRange.powerW;
  return powerW >= low / LEVEL_TOLERANCE_RATIO && powerW <= high * LEVEL_TOLERANCE_RATIO;
}

function isExtrapolated(curve: PowerCurve, at: PowerAndTemperature): boolean {
  const { powerW, temperatureC } = curve.testedRange;
  return (
    at.powerW < powerW[0] / EDGE_POWER_RATIO ||
    at.powerW > powerW[1] * EDGE_POWER_RATIO ||
    at.temperatureC < temperatureC[0] - EDGE_TEMPERATURE_K ||
    at.temperatureC > temperatureC[1] + EDGE_TEMPERATURE_K
  );
}

function requirePower(caller: string, powerW: number): void {
  requireNumber(powerW, { caller, argument: 'at.powerW' }, { above: 0 });
}

function requireTemperature(caller: string, temperatureC: number): void {
  requireNumber(temperatureC, { caller, argument: 'at.temperatureC' }, { above: -273.15 });
}
