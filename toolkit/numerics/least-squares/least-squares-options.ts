import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import type { LeastSquaresProblem } from './least-squares-problem.js';
import type { JacobianFunction, ResidualFunction } from './residual-function.js';

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

/** The problem that arguments of `leastSquares` state. */
export function settleProblem(
  residuals: ResidualFunction,
  start: ArrayLike<number>,
  options: LeastSquaresOptions,
): LeastSquaresProblem {
  requireKnownNames(options, OPTION_NAMES, { caller: 'leastSquares', argument: 'options' });
  if (options.tolerances !== undefined)
    requireKnownNames(options.tolerances, LEAST_SQUARES_TOLERANCES, {
      caller: 'leastSquares',
      argument: 'options.tolerances',
    });
  const { residualCount, jacobian, scales, maxEvaluations = 200 * (start.length + 1) } = options;
  return {
    residuals,
    residualCount,
    start,
    ...boundsOf(start, options),
    ...(jacobian === undefined ? {} : { jacobian }),
    ...(scales === undefined ? {} : { scales }),
    tolerances: { ...LEAST_SQUARES_TOLERANCES, ...options.tolerances },
    maxEvaluations,
  };
}

function boundsOf(
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
