import { reduceToTriangle } from './householder.js';
import type { LeastSquaresProblem } from './least-squares-problem.js';
import type { SearchPoint } from './search-point.js';

/**
 * The residuals as linear in the parameters around one point, in what a step is computed from: of the columns of the
 * Jacobian that are free to move the triangle of a Householder factorisation, and the residuals rotated with it.
 *
 * All arrays are made once.
 */
export class LinearisedResiduals {
  /** Jᵀf, length n. */
  readonly gradient: Float64Array;
  /** Length n. */
  readonly columnNorms: Float64Array;
  /** The largest norm each column has had, length n: the trust region's scale [More1978]. */
  readonly largestNorms: Float64Array;

  /** Of the parameters that are free to move: how many, which, and what a step may be of. */
  freeCount = 0;
  readonly free: Int32Array;
  /** R, column-major with `freeCount` rows per column. */
  readonly triangle: Float64Array;
  readonly rotated: Float64Array;
  readonly scale: Float64Array;
  /** Smallest and largest step to the bounds. */
  readonly lowest: Float64Array;
  readonly highest: Float64Array;
  /** Length of the free parameters in that scale. */
  scaledNorm = 0;

  private readonly columns: Float64Array;
  private readonly diagonal: Float64Array;

  constructor(private readonly problem: LeastSquaresProblem) {
    const m = problem.residualCount;
    const n = problem.start.length;
    this.gradient = new Float64Array(n);
    this.columnNorms = new Float64Array(n);
    this.largestNorms = new Float64Array(n);
    this.free = new Int32Array(n);
    this.triangle = new Float64Array(n * n);
    this.rotated = new Float64Array(n);
    this.scale = new Float64Array(n);
    this.lowest = new Float64Array(n);
    this.highest = new Float64Array(n);
    this.columns = new Float64Array(m * (n + 1));
    this.diagonal = new Float64Array(n);
  }

  /** Takes norms and gradient at a point; false where the derivatives are not finite. */
  measure({ jacobian, residuals }: SearchPoint): boolean {
    const { columnNorms, gradient, largestNorms } = this;
    const m = residuals.length;
    const n = gradient.length;
    let finite = true;
    for (let j = 0; j < n; j += 1) {
      let square = 0;
      let dot = 0;
      for (let i = 0, at = j; i < m; i += 1, at += n) {
        const derivative = jacobian[at];
        square += derivative * derivative;
        dot += derivative * residuals[i];
      }
      const norm = Math.sqrt(square);
      if (!Number.isFinite(norm)) finite = false;
      columnNorms[j] = norm;
      gradient[j] = dot;
      if (norm > largestNorms[j]) largestNorms[j] = norm;
    }
    return finite;
  }

  /**
   * Holds the parameters whose bound the gradient presses against and frees the others; returns the largest cosine
   * between the residuals and a free column, 0 at a minimum.
   */
  chooseFree({ x, sumOfSquares }: SearchPoint): number {
    const { gradient, columnNorms, free } = this;
    const { lower, upper } = this.problem;
    const residualNorm = Math.sqrt(sumOfSquares);
    let largestCosine = 0;
    this.freeCount = 0;
    for (let j = 0; j < x.length; j += 1) {
      const held =
        lower[j] === upper[j] ||
        (x[j] <= lower[j] && gradient[j] > 0) ||
        (x[j] >= upper[j] && gradient[j] < 0);
      if (held) continue;
      if (columnNorms[j] > 0)
        largestCosine = Math.max(largestCosine, Math.abs(gradient[j]) / columnNorms[j] / residualNorm);
      free[this.freeCount] = j;
      this.freeCount += 1;
    }
    return largestCosine;
  }

  /** Makes triangle, scale and room for a step of the free parameters. */
  factorise({ x, residuals, jacobian }: SearchPoint): void {
    const { freeCount, free, columns, diagonal, triangle, rotated, scale, largestNorms } = this;
    const { lower, upper } = this.problem;
    const m = residuals.length;
    const n = x.length;
    for (let k = 0; k < freeCount; k += 1) {
      for (let i = 0, at = free[k]; i < m; i += 1, at += n) columns[k * m + i] = jacobian[at];
    }
    columns.set(residuals, freeCount * m);
    reduceToTriangle(columns, m, m, freeCount, freeCount + 1, diagonal);
    let square = 0;
    for (let k = 0; k < freeCount; k += 1) {
      const j = free[k];
      for (let i = 0; i < freeCount; i += 1)
        triangle[k * freeCount + i] = i < k && i < m ? columns[k * m + i] : i === k ? diagonal[k] : 0;
      rotated[k] = k < m ? columns[freeCount * m + k] : 0;
      // A column that has been zero so far gets the scale 1, as in [More1978].
      scale[k] = largestNorms[j] > 0 ? largestNorms[j] : 1;
      this.lowest[k] = lower[j] - x[j];
      this.highest[k] = upper[j] - x[j];
      square += (scale[k] * x[j]) ** 2;
    }
    this.scaledNorm = Math.sqrt(square);
  }

  /** ‖R s‖², what is quadratic in a step s in the linear model's sum of squares. */
  squareOf(step: Float64Array): number {
    const { triangle, freeCount } = this;
    let square = 0;
    for (let i = 0; i < freeCount; i += 1) {
      let row = 0;
      for (let k = i; k < freeCount; k += 1) row += triangle[k * freeCount + i] * step[k];
      square += row * row;
    }
    return square;
  }
}
