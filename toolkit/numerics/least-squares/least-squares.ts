import { studentTQuantile } from '../distributions.js';
import type { Estimate } from '../estimate.js';
import { estimatedWithFactor, unavailable } from '../estimates.js';
import { type LeastSquaresOptions, settleProblem } from './least-squares-options.js';
import type { LeastSquaresProblem } from './least-squares-problem.js';
import { levenbergMarquardt, type SearchEnd } from './levenberg-marquardt.js';
import type { ResidualFunction } from './residual-function.js';
import { converges, type Termination, terminationOf } from './termination.js';
import { unscaledCovariance } from './unscaled-covariance.js';

/** The outcome of a least-squares fit; m residuals, n parameters. */
export interface LeastSquaresResult {
  /** Length n. */
  readonly parameters: Float64Array;
  /** Length m. */
  readonly residuals: Float64Array;
  /** Derivatives of the residuals at `parameters`, row-major m × n. */
  readonly jacobian: Float64Array;
  readonly sumOfSquares: number;
  /** m less the number of parameters that are neither fixed nor at a bound; may be 0 or negative. */
  readonly degreesOfFreedom: number;
  /**
   * Covariance of the parameters listed in `covarianceOrder`, scaled by the residual variance; empty where there
   * are no degrees of freedom.
   */
  readonly covariance: readonly (readonly number[])[];
  /** Indices of the parameters to which the rows of `covariance` belong: free and determined by the data. */
  readonly covarianceOrder: readonly number[];
  /** Length n, with Student's t for the intervals; assumes independent residuals of equal variance. */
  readonly estimates: readonly Estimate[];
  /** Whether each parameter ended at one of its bounds; length n. */
  readonly atBound: readonly boolean[];
  readonly evaluationCounts: {
    /** All calls of the residual function, those for differences among them. */
    readonly residuals: number;
    readonly jacobians: number;
  };
  readonly termination: Termination;
}

/**
 * Least-squares fit of a nonlinear model: minimises the sum of squared residuals over the parameters, within bounds.
 *
 * Levenberg–Marquardt method in Moré's form: trust region scaled by the largest norm each column of the Jacobian
 * has had, step from a Householder factorisation [More1978]. Parameters whose bound the gradient presses against
 * are held there; a step that would cross a bound stops at it and the others are solved again. The result is
 * a local minimum: a fit that may have several needs several starts. Covariance (JᵀJ)⁻¹·SSR/(m − n)
 * [BatesWatts1988, ch. 2], hence independent residuals of equal variance.
 *
 * @param residuals - the model less the data (or the reverse), each divided by its standard uncertainty if they
 * differ; m numbers
 * @param start - starting values, length n >= 1, within the bounds
 * @param options - number of residuals, derivatives, bounds, tolerances
 * @returns parameters, their covariance and how the iteration ended
 * @throws ArgumentError if a length or bound does not fit
 * @throws NumericalError if residuals or derivatives at the start are not finite
 * @example
 * const timeS = [1, 2, 3, 5, 7, 10];
 * const riseK = [109, 149, 149, 191, 213, 224];
 * const fit = leastSquares(
 *   ([finalRiseK, ratePerS], out) => {
 *     timeS.forEach((t, i) => { out[i] = finalRiseK * (1 - Math.exp(-ratePerS * t)) - riseK[i]; });
 *   },
 *   [100, 0.75],
 *   { residualCount: 6 },
 * );
 * fit.parameters[0]; // => 213.80940889 within 1e-5
 * fit.estimates[0]; // => ({ kind: 'estimated', standardError: 12.354515176 }) within 1e-4
 * fit.termination.converged; // => true
 */
export function leastSquares(
  residuals: ResidualFunction,
  start: ArrayLike<number>,
  options: LeastSquaresOptions,
): LeastSquaresResult {
  const problem = settleProblem(residuals, start, options);
  return stateFit(problem, levenbergMarquardt(problem));
}

/** What the parameters at a minimum are worth. */
function stateFit(
  { lower, upper, jacobian: given }: LeastSquaresProblem,
  end: SearchEnd,
): LeastSquaresResult {
  const { x, residuals, jacobian, sumOfSquares } = end.point;
  const m = residuals.length;
  const n = x.length;
  const isFixed = (j: number): boolean => lower[j] === upper[j];
  const atBound = Array.from(x, (value, j) => !isFixed(j) && (value <= lower[j] || value >= upper[j]));
  const varying = Array.from(x, (_, j) => j).filter((j) => !atBound[j] && !isFixed(j));
  const runOntoPlateau =
    converges(end.reason) &&
    end.reason !== 'zero-residuals' &&
    varying.some((j) => isFlat(jacobian, m, n, j, end.largestNorms[j]));

  const degreesOfFreedom = m - varying.length;
  const variance = degreesOfFreedom > 0 ? sumOfSquares / degreesOfFreedom : undefined;
  const unscaled = unscaledCovariance(jacobian, m, n, varying, given !== undefined);
  const covariance =
    variance === undefined ? [] : unscaled.rows.map((row) => row.map((value) => value * variance));
  const factor = variance === undefined ? 0 : studentTQuantile(0.975, degreesOfFreedom);
  const estimates = Array.from(x, (value, j): Estimate => {
    if (isFixed(j)) return unavailable('fixed', value);
    if (atBound[j]) return unavailable('at-bound', value);
    const row = unscaled.order.indexOf(j);
    if (row < 0) return unavailable('not-identifiable');
    if (variance === undefined) return unavailable('too-few-points');
    return estimatedWithFactor(value, Math.sqrt(covariance[row][row]), factor);
  });
  return {
    parameters: x,
    residuals,
    jacobian,
    sumOfSquares,
    degreesOfFreedom,
    covariance,
    covarianceOrder: unscaled.order,
    estimates,
    atBound,
    evaluationCounts: {
      residuals: end.point.trialCount + end.point.differenceCount,
      jacobians: end.point.jacobianCount,
    },
    termination: terminationOf(runOntoPlateau ? 'flat-direction' : end.reason),
  };
}

/** Whether a column has shrunk to nothing against the largest it was: the search has run onto a plateau. */
function isFlat(jacobian: Float64Array, m: number, n: number, j: number, largest: number): boolean {
  let square = 0;
  for (let i = 0; i < m; i += 1) square += jacobian[i * n + j] ** 2;
  return largest > 0 && Math.sqrt(square) <= 1e-12 * largest;
}
