import type { JacobianFunction, ResidualFunction } from './residual-function.js';

/** A least-squares problem with everything settled: m residuals, n parameters. */
export interface LeastSquaresProblem {
  readonly residuals: ResidualFunction;
  /** m */
  readonly residualCount: number;
  /** By default differences. */
  readonly jacobian?: JacobianFunction;
  /** Length n, within the bounds. */
  readonly start: ArrayLike<number>;
  /** Length n; infinite for none, equal for a parameter that is held fixed. */
  readonly lower: Float64Array;
  readonly upper: Float64Array;
  readonly scales?: ArrayLike<number>;
  readonly tolerances: { readonly reduction: number; readonly step: number; readonly gradient: number };
  readonly maxEvaluations: number;
}
