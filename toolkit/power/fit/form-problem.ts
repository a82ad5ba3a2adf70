import type { BoundForm, CurveForm, ReferencePoint } from '../forms/curve-form.js';
import type { Observation } from './observation.js';

/** Weak information on one parameter, on the scale it is fitted on (see `FormParameter.above`). */
export interface WeakInformation {
  readonly mean: number;
  readonly standardDeviation: number;
}

/** What a form is fitted to. */
export interface FormProblem {
  readonly form: CurveForm;
  readonly observations: readonly Observation[];
  readonly reference: ReferencePoint;
  /** Voltage offset that the form's own voltages hold for, mV. */
  readonly relationOffsetMv: number;
  /** Starting values in natural units, one per parameter. */
  readonly start: readonly number[];
  /** One entry per parameter before the correction's; undefined where nothing is assumed. */
  readonly information: readonly (WeakInformation | undefined)[];
}

/** Weak information on the fitted scale: the whitened knots have mean 0 and variance 1. */
export function informationOf({ form, information }: FormProblem): readonly (WeakInformation | undefined)[] {
  const first = form.parameters.length - (form.correction?.knotsMHz.length ?? 0);
  return form.parameters.map((_, j) => (j < first ? information[j] : { mean: 0, standardDeviation: 1 }));
}

/** The form with numbers in it, for the voltage offset of each observation; one binding per offset. */
export function boundPerObservation(
  { form, observations, reference, relationOffsetMv }: FormProblem,
  parameters: ArrayLike<number>,
): (observation: Observation) => BoundForm {
  const bound = new Map<number, BoundForm>();
  for (const { voltageOffsetMv } of observations) {
    if (bound.has(voltageOffsetMv)) continue;
    const offsetV = (voltageOffsetMv - relationOffsetMv) / 1000;
    bound.set(voltageOffsetMv, form.bind(parameters, reference, offsetV));
  }
  return ({ voltageOffsetMv }) => bound.get(voltageOffsetMv)!;
}
