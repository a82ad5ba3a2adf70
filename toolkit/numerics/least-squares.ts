import {
  ArgumentError,
  type KnownNames,
  NumericalError,
  requireKnownNames,
  requireNumber,
} from '../errors.js';
import { DampedStep } from './damped-step.js';
import { differenceJacobian } from './difference-jacobian.js';
import { studentTQuantile } from './distributions.js';
import type { Estimate } from './estimate.js';
import { estimatedWithFactor, unavailable } from './estimates.js';
import { reduceToTriangle } from './householder.js';
import type { JacobianFunction, ResidualFunction } from './residual-function.js';
import { converges, type Termination, type TerminationReason, terminationOf } from './termination.js';
import { unscaledCovariance } from './unscaled-covariance.js';

/** When to stop; each is relative and dimensionless. */
export interface LeastSquaresTolerances {
  /** Stop when a step lowers the sum of squares, as measured and as predicted, by less than this fraction. */
  readonly reduction?: number;
  /** Stop when the trust region is smaller than this fraction of the parameters, both scaled. */
  readonly step?: number;
  /** Stop when the residuals are orthogonal to every free column of the Jacobian: largest cosine. */
  readonly gradient?: number;
}

/** How to run a least-squares fit. */
export interface LeastSquaresOptions {
  /** Number of residuals m. */
  readonly residualCount: number;
  /** Derivatives of the residuals; by default central differences, inside the bounds. */
  readonly jacobian?: JacobianFunction;
  /** Lower bounds, length n; −Infinity for none. Equal bounds hold a parameter fixed. */
  readonly lowerBounds?: ArrayLike<number>;
  /** Upper bounds, length n; Infinity for none. */
  readonly upperBounds?: ArrayLike<number>;
  /** Typical sizes of the parameters, positive, length n: the least step base of the differences. */
  readonly scales?: ArrayLike<number>;
  /** Most evaluations of the residuals, those for a difference Jacobian not counted; default 200 (n + 1). */
  readonly maxEvaluations?: number;
  /** Default `LEAST_SQUARES_TOLERANCES`. */
  readonly tolerances?: LeastSquaresTolerances;
}

const OPTION_NAMES: KnownNames<LeastSquaresOptions> = {
  residualCount: true,
  jacobian: true,
  lowerBounds: true,
  upperBounds: true,
  scales: true,
  maxEvaluations: true,
  tolerances: true,
};

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
 * Tolerances that `leastSquares` uses where none are given.
 *
 * @example
 * LEAST_SQUARES_TOLERANCES.reduction; // => 1e-14
 */
const LEAST_SQUARES_TOLERANCES: Required<LeastSquaresTolerances> = {
  reduction: 1e-14,
  step: 1e-10,
  gradient: 1e-12,
};

// A sum of squares below this fraction of that at the start is made of the rounding of the residuals alone.
const roundingOfSum = 1e-31;

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
  requireKnownNames(options, OPTION_NAMES, { caller: 'leastSquares', argument: 'options' });
  if (options.tolerances !== undefined)
    requireKnownNames(options.tolerances, LEAST_SQUARES_TOLERANCES, {
      caller: 'leastSquares',
      argument: 'options.tolerances',
    });
  const n = start.length;
  const m = options.residualCount;
  const { lower, upper } = checkArguments(start, options);
  const tolerances = { ...LEAST_SQUARES_TOLERANCES, ...options.tolerances };
  const maxEvaluations = options.maxEvaluations ?? 200 * (n + 1);

  let x = Float64Array.from(start);
  let f = new Float64Array(m);
  let trialX = new Float64Array(n);
  let trialF = new Float64Array(m);
  const jacobian = new Float64Array(m * n);
  const columns = new Float64Array(m * (n + 1));
  const columnNorms = new Float64Array(n);
  const gradient = new Float64Array(n);
  const scale = new Float64Array(n);
  const free = new Int32Array(n);
  const diagonal = new Float64Array(n);
  const triangle = new Float64Array(n * n);
  const rotated = new Float64Array(n);
  const freeScale = new Float64Array(n);
  const lowest = new Float64Array(n);
  const highest = new Float64Array(n);
  const damped = new DampedStep(n);
  const differences = options.jacobian
    ? undefined
    : { above: new Float64Array(m), below: new Float64Array(m), scales: options.scales };
  let residualEvaluations = 0;
  let trialEvaluations = 0;
  let jacobianEvaluations = 0;

  const differentiate = (): void => {
    jacobianEvaluations += 1;
    if (options.jacobian) options.jacobian(x, jacobian);
    else if (differences)
      residualEvaluations += differenceJacobian(residuals, x, f, jacobian, lower, upper, differences);
  };

  const evaluate = (at: Float64Array, out: Float64Array): number => {
    residualEvaluations += 1;
    trialEvaluations += 1;
    residuals(at, out);
    let sum = 0;
    for (let i = 0; i < m; i += 1) sum += out[i] * out[i];
    return sum;
  };

  let sumOfSquares = evaluate(x, f);
  if (!Number.isFinite(sumOfSquares)) throw notFiniteAtStart(f, start);

  const sumAtStart = sumOfSquares;
  let radius = 0;
  let reason: TerminationReason | undefined;
  let jacobianIsCurrent = false;
  for (let iteration = 0; reason === undefined; iteration += 1) {
    differentiate();
    jacobianIsCurrent = true;

    // Columns for the factorisation, the residuals last; norms, gradient and scale on the way.
    let finite = true;
    for (let j = 0; j < n; j += 1) {
      let square = 0;
      let dot = 0;
      for (let i = 0, at = j; i < m; i += 1, at += n) {
        const derivative = jacobian[at];
        square += derivative * derivative;
        dot += derivative * f[i];
      }
      const norm = Math.sqrt(square);
      if (!Number.isFinite(norm)) finite = false;
      columnNorms[j] = norm;
      gradient[j] = dot;
      if (norm > scale[j]) scale[j] = norm;
    }
    if (!finite) {
      if (iteration === 0) throw derivativesNotFiniteAtStart(start, columnNorms);
      reason = 'not-finite';
      break;
    }
    if (sumOfSquares <= roundingOfSum * sumAtStart) {
      reason = 'zero-residuals';
      break;
    }

    let freeCount = 0;
    let largestCosine = 0;
    const norm = Math.sqrt(sumOfSquares);
    for (let j = 0; j < n; j += 1) {
      const held =
        lower[j] === upper[j] ||
        (x[j] <= lower[j] && gradient[j] > 0) ||
        (x[j] >= upper[j] && gradient[j] < 0);
      if (held) continue;
      if (columnNorms[j] > 0)
        largestCosine = Math.max(largestCosine, Math.abs(gradient[j]) / columnNorms[j] / norm);
      free[freeCount] = j;
      freeCount += 1;
    }
    if (largestCosine <= tolerances.gradient) {
      reason = 'gradient-small';
      break;
    }

    for (let k = 0; k < freeCount; k += 1) {
      const j = free[k];
      for (let i = 0, at = j; i < m; i += 1, at += n) columns[k * m + i] = jacobian[at];
    }
    columns.set(f, freeCount * m);
    reduceToTriangle(columns, m, m, freeCount, freeCount + 1, diagonal);
    let scaledNorm = 0;
    for (let k = 0; k < freeCount; k += 1) {
      const j = free[k];
      for (let i = 0; i < freeCount; i += 1)
        triangle[k * freeCount + i] = i < k && i < m ? columns[k * m + i] : i === k ? diagonal[k] : 0;
      rotated[k] = k < m ? columns[freeCount * m + k] : 0;
      // A column that has been zero so far gets the scale 1, as in [More1978].
      freeScale[k] = scale[j] > 0 ? scale[j] : 1;
      lowest[k] = lower[j] - x[j];
      highest[k] = upper[j] - x[j];
      scaledNorm += (freeScale[k] * x[j]) ** 2;
    }
    scaledNorm = Math.sqrt(scaledNorm);
    if (iteration === 0) radius = scaledNorm > 0 ? 10 * scaledNorm : 10;

    for (;;) {
      damped.solve(triangle, rotated, freeCount, freeScale, radius, lowest, highest);
      trialX.set(x);
      let stepSquare = 0;
      let slope = 0;
      for (let k = 0; k < freeCount; k += 1) {
        const j = free[k];
        const step = damped.step[k];
        stepSquare += (freeScale[k] * step) ** 2;
        slope += gradient[j] * step;
        // On a bound exactly, not within rounding of it.
        trialX[j] = step <= lowest[k] ? lower[j] : step >= highest[k] ? upper[j] : x[j] + step;
      }
      let modelSquare = 0;
      for (let i = 0; i < freeCount; i += 1) {
        let row = 0;
        for (let k = i; k < freeCount; k += 1) row += triangle[k * freeCount + i] * damped.step[k];
        modelSquare += row * row;
      }
      const stepNorm = Math.sqrt(stepSquare);
      if (iteration === 0) radius = Math.min(radius, stepNorm);
      const predicted = (-2 * slope - modelSquare) / sumOfSquares;
      const trialSum = evaluate(trialX, trialF);
      const actual = trialSum < 100 * sumOfSquares ? 1 - trialSum / sumOfSquares : -1;
      const ratio = predicted > 0 ? actual / predicted : 0;
      // An undamped step this short means the minimum, even where rounding hides whether it goes down.
      const arrived = damped.damping === 0 && stepNorm <= tolerances.step * scaledNorm;

      if (ratio <= 0.25) {
        const relativeSlope = slope / sumOfSquares;
        let shrink = actual >= 0 ? 0.5 : (0.5 * relativeSlope) / (relativeSlope + 0.5 * actual);
        if (!(trialSum < 100 * sumOfSquares) || !(shrink >= 0.1)) shrink = 0.1;
        radius = shrink * Math.min(radius, stepNorm / 0.1);
        damped.damping /= shrink;
      } else if (damped.damping === 0 || ratio >= 0.75) {
        radius = 2 * stepNorm;
        damped.damping *= 0.5;
      }

      const accepted = ratio >= 1e-4;
      if (accepted) {
        [x, trialX] = [trialX, x];
        [f, trialF] = [trialF, f];
        sumOfSquares = trialSum;
        jacobianIsCurrent = false;
      }
      const reductionSmall =
        Math.abs(actual) <= tolerances.reduction && predicted <= tolerances.reduction && ratio <= 2;
      if (reductionSmall) reason = 'reduction-small';
      else if (arrived) reason = 'step-small';
      else if (radius <= tolerances.step * scaledNorm)
        reason = accepted || largestCosine < 1e-5 ? 'step-small' : 'no-progress';
      else if (!accepted && (radius <= Number.EPSILON * scaledNorm || radius < 1e-290))
        reason = 'no-progress';
      else if (trialEvaluations >= maxEvaluations) reason = 'evaluation-limit';
      if (accepted || reason !== undefined) break;
    }
  }
  if (!jacobianIsCurrent) differentiate();

  const atBound = Array.from(
    x,
    (value, j) => lower[j] !== upper[j] && (value <= lower[j] || value >= upper[j]),
  );
  const varying: number[] = [];
  for (let j = 0; j < n; j += 1) if (!atBound[j] && lower[j] !== upper[j]) varying.push(j);
  const degreesOfFreedom = m - varying.length;
  const unscaled = unscaledCovariance(jacobian, m, n, varying, options.jacobian !== undefined);
  if (
    converges(reason) &&
    reason !== 'zero-residuals' &&
    varying.some((j) => isFlat(jacobian, m, n, j, scale[j]))
  )
    reason = 'flat-direction';

  const covarianceOrder = unscaled.order;
  const variance = degreesOfFreedom > 0 ? sumOfSquares / degreesOfFreedom : undefined;
  const covariance =
    variance === undefined ? [] : unscaled.rows.map((row) => row.map((value) => value * variance));
  const factor = variance === undefined ? 0 : studentTQuantile(0.975, degreesOfFreedom);
  const estimates = Array.from(x, (value, j): Estimate => {
    if (lower[j] === upper[j]) return unavailable('fixed', value);
    if (atBound[j]) return unavailable('at-bound', value);
    const row = covarianceOrder.indexOf(j);
    if (row < 0) return unavailable('not-identifiable');
    if (variance === undefined) return unavailable('too-few-points');
    return estimatedWithFactor(value, Math.sqrt(covariance[row][row]), factor);
  });

  return {
    parameters: x,
    residuals: f,
    jacobian,
    sumOfSquares,
    degreesOfFreedom,
    covariance,
    covarianceOrder,
    estimates,
    atBound,
    evaluationCounts: { residuals: residualEvaluations, jacobians: jacobianEvaluations },
    termination: terminationOf(reason),
  };
}

/** Whether a column has shrunk to nothing against the largest it was: the iteration has run onto a plateau. */
function isFlat(jacobian: Float64Array, m: number, n: number, j: number, largest: number): boolean {
  let square = 0;
  for (let i = 0; i < m; i += 1) square += jacobian[i * n + j] ** 2;
  return largest > 0 && Math.sqrt(square) <= 1e-12 * largest;
}

function checkArguments(
  start: ArrayLike<number>,
  options: LeastSquaresOptions,
): { readonly lower: Float64Array; readonly upper: Float64Array } {
  const caller = 'leastSquares';
  const n = start.length;
  if (!(n >= 1))
    throw new ArgumentError({ caller, argument: 'start', expected: 'at least one number', received: start });
  if (!Number.isInteger(options.residualCount) || options.residualCount < 1)
    throw new ArgumentError({
      caller,
      argument: 'options.residualCount',
      expected: 'a whole number of at least 1',
      received: options.residualCount,
    });
  for (const name of ['lowerBounds', 'upperBounds', 'scales'] as const) {
    const given = options[name];
    if (given !== undefined && given.length !== n)
      throw new ArgumentError({
        caller,
        argument: `options.${name}`,
        expected: `as long as \`start\`, ${n}`,
        received: given.length,
      });
  }
  if (options.maxEvaluations !== undefined)
    requireNumber(options.maxEvaluations, { caller, argument: 'options.maxEvaluations' }, { atLeast: 1 });
  const lower = new Float64Array(n).fill(Number.NEGATIVE_INFINITY);
  const upper = new Float64Array(n).fill(Number.POSITIVE_INFINITY);
  if (options.lowerBounds) lower.set(Array.from(options.lowerBounds));
  if (options.upperBounds) upper.set(Array.from(options.upperBounds));
  for (let j = 0; j < n; j += 1) {
    requireNumber(start[j], {
      caller,
      argument: `start[${j}]`,
      remedy: 'give a number the model can start from',
    });
    if (!(lower[j] <= upper[j]))
      throw new ArgumentError({
        caller,
        argument: `options.lowerBounds[${j}]`,
        expected: `at most its upper bound ${upper[j]}`,
        received: lower[j],
      });
    if (start[j] < lower[j] || start[j] > upper[j])
      throw new ArgumentError({
        caller,
        argument: `start[${j}]`,
        expected: `within its bounds ${lower[j]} to ${upper[j]}`,
        received: start[j],
      });
    if (options.scales)
      requireNumber(options.scales[j], { caller, argument: `options.scales[${j}]` }, { above: 0 });
  }
  return { lower, upper };
}

function notFiniteAtStart(f: Float64Array, start: ArrayLike<number>): NumericalError {
  const at = f.findIndex((value) => !Number.isFinite(value));
  const what = at < 0 ? 'the sum of squared residuals overflows' : `residual ${at} is ${f[at]}`;
  return new NumericalError(
    `leastSquares: ${what} at the start (${Array.from(start).join(', ')}); start where the model is defined, and check the data for missing values`,
  );
}

function derivativesNotFiniteAtStart(start: ArrayLike<number>, norms: Float64Array): NumericalError {
  const at = norms.findIndex((value) => !Number.isFinite(value));
  return new NumericalError(
    `leastSquares: the derivatives by parameter ${at} are not finite at the start (${Array.from(start).join(', ')}); start further inside the region where the model is defined`,
  );
}
