import { differenceJacobian } from './difference-jacobian.js';
import type { LeastSquaresProblem } from './least-squares-problem.js';

/** Where a search stands, and where it tries to go. All arrays are made once. */
export class SearchPoint {
  x: Float64Array;
  residuals: Float64Array;
  sumOfSquares: number;
  /** Where `differentiate` was called last, row-major. */
  readonly jacobian: Float64Array;
  trialX: Float64Array;
  /** Evaluations of the start and of trials, and those for differences. */
  trialCount = 0;
  differenceCount = 0;
  jacobianCount = 0;

  private trialResiduals: Float64Array;
  private readonly differences:
    | { readonly above: Float64Array; readonly below: Float64Array; readonly scales?: ArrayLike<number> }
    | undefined;
  private isDifferentiated = false;

  constructor(private readonly problem: LeastSquaresProblem) {
    const { start, residualCount, jacobian, scales } = problem;
    this.x = Float64Array.from(start);
    this.residuals = new Float64Array(residualCount);
    this.trialX = new Float64Array(start.length);
    this.trialResiduals = new Float64Array(residualCount);
    this.jacobian = new Float64Array(residualCount * start.length);
    if (jacobian === undefined)
      this.differences = {
        above: new Float64Array(residualCount),
        below: new Float64Array(residualCount),
        ...(scales === undefined ? {} : { scales }),
      };
    this.sumOfSquares = this.evaluate(this.x, this.residuals);
  }

  /** The sum of squares at `trialX`. */
  evaluateTrial(): number {
    return this.evaluate(this.trialX, this.trialResiduals);
  }

  /** Moves to `trialX`. */
  accept(trialSum: number): void {
    [this.x, this.trialX] = [this.trialX, this.x];
    [this.residuals, this.trialResiduals] = [this.trialResiduals, this.residuals];
    this.sumOfSquares = trialSum;
    this.isDifferentiated = false;
  }

  /** Makes `jacobian` that at `x`. */
  differentiate(): void {
    if (this.isDifferentiated) return;
    const { problem, x, residuals, jacobian, differences } = this;
    this.isDifferentiated = true;
    this.jacobianCount += 1;
    if (problem.jacobian !== undefined) problem.jacobian(x, jacobian);
    else if (differences !== undefined)
      this.differenceCount += differenceJacobian(
        problem.residuals,
        x,
        residuals,
        jacobian,
        problem.lower,
        problem.upper,
        differences,
      );
  }

  private evaluate(at: Float64Array, out: Float64Array): number {
    this.trialCount += 1;
    this.problem.residuals(at, out);
    let sum = 0;
    for (let i = 0; i < out.length; i += 1) sum += out[i] * out[i];
    return sum;
  }
}
