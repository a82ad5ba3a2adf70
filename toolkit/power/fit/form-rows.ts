import type { FittedScale } from './fitted-scale.js';
import { boundPerObservation, type FormProblem } from './form-problem.js';

/**
 * What a form is held against: the frequency of every observation, then the voltage of those that have one. Frequencies
 * follow from power and temperature, along the curve or at the voltage set by hand; voltages from frequency.
 */
export interface Linearised {
  /** Observed − fitted, MHz for the frequencies, V for the voltages. */
  readonly residuals: Float64Array;
  /** Derivatives of the fitted values on the fitted scale, one column per parameter. */
  readonly columns: readonly Float64Array[];
}

/** Indices of the observations whose voltage the form is held against. */
export function voltageRows({ form, observations, reference, start }: FormProblem): readonly number[] {
  if (form.bind(start, reference).voltage === undefined) return [];
  return observations.flatMap(({ voltage }, i) => (voltage === undefined ? [] : [i]));
}

/** Writes fitted − observed of every row into `out`. */
export function departures(
  problem: FormProblem,
  withVoltage: readonly number[],
  parameters: ArrayLike<number>,
  out: Float64Array,
): void {
  const { observations } = problem;
  const boundOf = boundPerObservation(problem, parameters);
  observations.forEach((observation, i) => {
    const { powerW, temperatureC, frequencyMHz, voltage } = observation;
    const bound = boundOf(observation);
    const fitted =
      voltage?.setByHand === true && bound.voltage !== undefined
        ? bound.voltage.frequencyAtMHz(powerW, temperatureC, voltage.voltageV)
        : bound.frequencyMHz(powerW, temperatureC);
    out[i] = fitted - frequencyMHz;
  });
  withVoltage.forEach((index, k) => {
    const observation = observations[index];
    out[observations.length + k] =
      boundOf(observation).voltage!.voltageV(observation.frequencyMHz) - observation.voltage!.voltageV;
  });
}

/** Residuals and derivatives at fitted-scale parameters. */
export function linearise(
  problem: FormProblem,
  withVoltage: readonly number[],
  scale: FittedScale,
  x: ArrayLike<number>,
): Linearised {
  const { form, observations } = problem;
  const p = scale.toNatural(x);
  const boundOf = boundPerObservation(problem, p);
  const derivative = scale.derivative(p);
  const parameterCount = form.parameters.length;
  const rowCount = observations.length + withVoltage.length;
  const residuals = new Float64Array(rowCount);
  departures(problem, withVoltage, p, residuals);
  for (let i = 0; i < rowCount; i++) residuals[i] = -residuals[i];
  const columns = form.parameters.map(() => new Float64Array(rowCount));
  const gradient = new Float64Array(parameterCount);
  const store = (row: number): void => {
    for (let j = 0; j < parameterCount; j++) {
      let sum = 0;
      for (let k = 0; k < parameterCount; k++) sum += gradient[k] * derivative[k][j];
      columns[j][row] = sum;
    }
  };
  observations.forEach((observation, i) => {
    const { powerW, temperatureC, voltage } = observation;
    const bound = boundOf(observation);
    if (voltage?.setByHand === true && bound.voltage !== undefined)
      bound.voltage.gradientAt(powerW, temperatureC, voltage.voltageV, gradient);
    else bound.gradient(powerW, temperatureC, gradient);
    store(i);
  });
  withVoltage.forEach((index, k) => {
    const observation = observations[index];
    boundOf(observation).voltage!.gradient(observation.frequencyMHz, gradient);
    store(observations.length + k);
  });
  return { residuals, columns };
}
