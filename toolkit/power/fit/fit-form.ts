import { type LeastSquaresResult, leastSquares } from '../../numerics/least-squares/least-squares.js';
import {
  CORRECTION_DEGREES,
  CORRECTION_SPREAD,
  type CorrectionSpread,
  correctionSpread,
} from './correction-spread.js';
import { type FittedScale, fittedScale } from './fitted-scale.js';
import { type FormProblem, informationOf } from './form-problem.js';
import { departures, type Linearised, linearise, voltageRows } from './form-rows.js';
import { posterior, weightedProduct } from './normal-matrix.js';
import { rowVariances, startingVariances } from './row-variances.js';

/** A form fitted to observations. */
export interface FormFit {
  /** Natural units. */
  readonly parameters: Float64Array;
  /** Natural units; autocorrelation, correction and assumptions included. */
  readonly covariance: readonly (readonly number[])[];
  /** Derivative of each parameter with respect to the scale it is fitted on. */
  readonly perFitted: Float64Array;
  /** Standard deviation of each parameter divided by that of its assumption; 1 = the data say nothing. */
  readonly assumptionShares: readonly (number | undefined)[];
  /** Observed − fitted, MHz. */
  readonly residualsMHz: Float64Array;
  /** Observed − fitted voltage, V, of the observations that have one, in their order. */
  readonly residualsV: Float64Array;
  /** Variance of each row about the curve: frequencies in MHz², then voltages in V². */
  readonly variances: Float64Array;
  /** Standard deviation of the correction (as a logarithm of squared voltage); 0 for forms without one. */
  readonly correctionSpread: number;
  readonly degreesOfFreedom: number;
  readonly effectiveParameterCount: number;
  readonly evaluationCount: number;
  readonly termination: LeastSquaresResult['termination'];
}

/** Passes after the first, each with variances and correction taken from the one before. */
const LAST_PASS = 3;

/**
 * Fits a form by weighted least squares on frequency, and on voltage where it was logged.
 *
 * The variance of an average is its sampling noise and rounding, with those of power and temperature carried over by
 * the slopes, enlarged until neighbouring bins of a segment, and segments among each other, differ no more than it
 * allows. Weak information and the correction's prior enter as further residuals; the correction's standard deviation
 * is averaged over its posterior given the linearised model [Rasmussen2006, ch. 5; Kennedy2001].
 */
export function fitForm(problem: FormProblem): FormFit {
  const withVoltage = voltageRows(problem);
  let spread: CorrectionSpread = {
    standardDeviation: CORRECTION_SPREAD,
    degreesOfFreedom: CORRECTION_DEGREES,
  };
  let variances = startingVariances(problem, withVoltage);
  let start: ArrayLike<number> = problem.start;
  let evaluationCount = 0;
  for (let pass = 0; ; pass++) {
    const scale = fittedScale(problem.form, spread.standardDeviation);
    const fit = fitScaled(problem, withVoltage, scale, start, variances);
    evaluationCount += fit.evaluationCounts.residuals;
    start = scale.toNatural(fit.parameters);
    const linear = linearise(problem, withVoltage, scale, fit.parameters);
    if (pass === LAST_PASS) return summarise(problem, scale, fit, linear, variances, spread, evaluationCount);
    variances = rowVariances(problem, withVoltage, start, linear.residuals);
    if (problem.form.correction !== undefined) {
      spread = correctionSpread(problem, spread.standardDeviation, fit.parameters, linear, variances);
    }
  }
}

/**
 * Fits a form with residuals of given variances: the common criterion on which forms are ranked.
 *
 * @param variances - of the frequencies, and of the voltages behind them, which forms without voltage pass over
 * @returns weighted sum of squares of the frequencies alone, their residuals, and the number of parameters they
 * determine
 */
export function fitWeighted(
  problem: FormProblem,
  variances: Float64Array,
  spreadOfCorrection: number,
): {
  readonly sumOfSquares: number;
  readonly residualsMHz: Float64Array;
  readonly effectiveParameterCount: number;
} {
  const count = problem.observations.length;
  const withVoltage = voltageRows(problem);
  const ofRows = variances.subarray(0, count + withVoltage.length);
  const scale = fittedScale(problem.form, spreadOfCorrection);
  const fit = fitScaled(problem, withVoltage, scale, problem.start, ofRows);
  const { residuals, columns } = linearise(problem, withVoltage, scale, fit.parameters);
  const { effectiveParameterCount } = posterior(columns, ofRows, informationOf(problem), count);
  return {
    sumOfSquares: weightedProduct(residuals, residuals, ofRows, count),
    residualsMHz: residuals.slice(0, count),
    effectiveParameterCount,
  };
}

function fitScaled(
  problem: FormProblem,
  withVoltage: readonly number[],
  scale: FittedScale,
  start: ArrayLike<number>,
  variances: Float64Array,
): LeastSquaresResult {
  const rowCount = variances.length;
  const parameterCount = problem.form.parameters.length;
  const weights = variances.map((variance) => 1 / Math.sqrt(variance));
  const informed = informationOf(problem).flatMap((entry, index) =>
    entry === undefined ? [] : [{ ...entry, index }],
  );
  const rows = new Float64Array(rowCount);
  return leastSquares(
    (x, out) => {
      departures(problem, withVoltage, scale.toNatural(x), rows);
      for (let i = 0; i < rowCount; i++) out[i] = rows[i] * weights[i];
      informed.forEach(({ mean, standardDeviation, index }, k) => {
        out[rowCount + k] = (x[index] - mean) / standardDeviation;
      });
    },
    scale.toFitted(start),
    {
      residualCount: rowCount + informed.length,
      jacobian: (x, out) => {
        out.fill(0);
        linearise(problem, withVoltage, scale, x).columns.forEach((column, j) => {
          for (let i = 0; i < rowCount; i++) out[i * parameterCount + j] = column[i] * weights[i];
        });
        informed.forEach(({ standardDeviation, index }, k) => {
          out[(rowCount + k) * parameterCount + index] = 1 / standardDeviation;
        });
      },
      maxEvaluations: 300,
      tolerances: { reduction: 1e-9, step: 1e-8, gradient: 1e-8 },
    },
  );
}

function summarise(
  problem: FormProblem,
  scale: FittedScale,
  fit: LeastSquaresResult,
  linear: Linearised,
  variances: Float64Array,
  spread: CorrectionSpread,
  evaluationCount: number,
): FormFit {
  const { form, observations, information } = problem;
  const count = observations.length;
  const { covariance, effectiveParameterCount } = posterior(
    linear.columns,
    variances,
    informationOf(problem),
    count,
  );
  // What is left over although noise and correction were allowed for widens everything.
  const freedom = Math.max(1, count - effectiveParameterCount);
  const chiSquare = weightedProduct(linear.residuals, linear.residuals, variances, count);
  const inflation = Math.max(1, chiSquare / freedom);
  const parameters = scale.toNatural(fit.parameters);
  const derivative = scale.derivative(parameters);
  const parameterCount = parameters.length;
  const half = derivative.map((row) =>
    Array.from({ length: parameterCount }, (_, j) =>
      row.reduce((sum, value, k) => sum + value * covariance[k][j], 0),
    ),
  );
  return {
    parameters,
    covariance: half.map((row) =>
      derivative.map((other) => inflation * row.reduce((sum, value, k) => sum + value * other[k], 0)),
    ),
    perFitted: Float64Array.from(derivative, (row, j) => row[j]),
    assumptionShares: information.map((entry, j) =>
      entry === undefined ? undefined : Math.sqrt(covariance[j][j]) / entry.standardDeviation,
    ),
    residualsMHz: linear.residuals.slice(0, count),
    residualsV: linear.residuals.slice(count),
    variances,
    correctionSpread: form.correction === undefined ? 0 : spread.standardDeviation,
    degreesOfFreedom: form.correction === undefined ? freedom : spread.degreesOfFreedom,
    effectiveParameterCount,
    evaluationCount,
    termination: fit.termination,
  };
}
