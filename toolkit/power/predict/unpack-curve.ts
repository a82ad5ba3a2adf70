import { ArgumentError } from '../../errors.js';
import { studentTQuantile } from '../../numerics/distributions.js';
import { type EffectiveShare, effectiveShare } from '../curve-voltage.js';
import type { BoundForm, CurveForm, ReferencePoint } from '../forms/curve-form.js';
import { formOf } from '../forms/form-of.js';
import type { PowerCurve } from '../power-curve.js';

/** A curve with its numbers put into its form, at its voltage offset. */
export interface UnpackedCurve {
  readonly form: CurveForm;
  readonly parameters: readonly number[];
  readonly reference: ReferencePoint;
  /** Against the voltages that the form's parameters state, V. */
  readonly offsetV: number;
  readonly bound: BoundForm;
  /** Of the reported frequency, what counts as work: 1 unless runs at this voltage offset were slowed down. */
  readonly effective: EffectiveShare;
  readonly coverageFactor95: number;
}

/** Unpacking costs more than an evaluation, and a curve never changes. */
const unpackedCurves = new WeakMap<PowerCurve, UnpackedCurve>();

/** Puts a curve's numbers into its form; throws an `ArgumentError` where one is missing. */
export function unpack(curve: PowerCurve): UnpackedCurve {
  const known = unpackedCurves.get(curve);
  if (known !== undefined) return known;
  const form = formOf(curve);
  const parameter = (name: string): number => {
    const value = curve.parameters[name];
    if (value !== undefined) return value;
    throw new ArgumentError({
      caller: 'power curve',
      argument: 'curve.parameters',
      expected: `an object with ${name} for the form ${curve.form}`,
      received: curve.parameters,
      remedy: 'use a curve from fitPowerCurve, curveFromSteadyPoints or loadModel as it is',
    });
  };
  const parameters = form.parameters.map(({ name }) => parameter(name));
  const reference = {
    powerW: parameter('referencePowerW'),
    temperatureC: parameter('referenceTemperatureC'),
  };
  const { voltage } = curve;
  const offsetV = voltage === undefined ? 0 : (voltage.offsetMv - voltage.relationOffsetMv) / 1000;
  const unpacked: UnpackedCurve = {
    form,
    parameters,
    reference,
    offsetV,
    bound: form.bind(parameters, reference, offsetV),
    effective: voltage === undefined ? { ratio: 1, standardErrorFraction: 0 } : effectiveShare(voltage),
    coverageFactor95: studentTQuantile(0.975, curve.degreesOfFreedom),
  };
  unpackedCurves.set(curve, unpacked);
  return unpacked;
}
