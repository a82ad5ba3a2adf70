import { DampedStep } from './damped-step.js';
import type { LeastSquaresProblem } from './least-squares-problem.js';
import type { LinearisedResiduals } from './linearised-residuals.js';
import type { SearchPoint } from './search-point.js';

/** A step as it was tried. Reductions are shares of the sum of squares before it. */
export interface Trial {
  readonly sumOfSquares: number;
  /** Length of the step in the trust region's scale. */
  readonly stepNorm: number;
  /** Whether it was the linear model's own step, not shortened by the region. */
  readonly isUndamped: boolean;
  /** What the linear model promised, what came of it, and their ratio; 0 where nothing was promised. */
  readonly predicted: number;
  readonly actual: number;
  readonly ratio: number;
  /** Slope of the sum of squares along the step. */
  readonly slope: number;
  /** Whether the sum of squares is so large, or not a number, that it teaches nothing about how far to go. */
  readonly isHopeless: boolean;
}

/** How far a step may go: where the linear model is trusted, wider or narrower by how it did at the last step [More1978]. */
export class TrustRegion {
  radius = 0;
  private readonly damped: DampedStep;
  /** Until a step was accepted the region is no larger than the last one tried. */
  private isUnproven = true;

  constructor(private readonly problem: LeastSquaresProblem) {
    this.damped = new DampedStep(problem.start.length);
  }

  /** Before the first step: larger than the parameters are. */
  open(scaledNorm: number): void {
    this.radius = scaledNorm > 0 ? 10 * scaledNorm : 10;
  }

  /** Tries the step to the linear model's minimum within region and bounds. */
  try(point: SearchPoint, linear: LinearisedResiduals): Trial {
    const { damped } = this;
    const { triangle, rotated, freeCount, free, scale, lowest, highest, gradient } = linear;
    const { lower, upper } = this.problem;
    const { x, trialX, sumOfSquares } = point;
    damped.solve(triangle, rotated, freeCount, scale, this.radius, lowest, highest);
    trialX.set(x);
    let stepSquare = 0;
    let slope = 0;
    for (let k = 0; k < freeCount; k += 1) {
      const j = free[k];
      const step = damped.step[k];
      stepSquare += (scale[k] * step) ** 2;
      slope += gradient[j] * step;
      // On a bound exactly, not within rounding of it.
      trialX[j] = step <= lowest[k] ? lower[j] : step >= highest[k] ? upper[j] : x[j] + step;
    }
    const stepNorm = Math.sqrt(stepSquare);
    if (this.isUnproven) this.radius = Math.min(this.radius, stepNorm);
    const predicted = (-2 * slope - linear.squareOf(damped.step)) / sumOfSquares;
    const trialSum = point.evaluateTrial();
    const isHopeless = !(trialSum < 100 * sumOfSquares);
    const actual = isHopeless ? -1 : 1 - trialSum / sumOfSquares;
    return {
      sumOfSquares: trialSum,
      stepNorm,
      isUndamped: damped.damping === 0,
      predicted,
      actual,
      ratio: predicted > 0 ? actual / predicted : 0,
      slope: slope / sumOfSquares,
      isHopeless,
    };
  }

  /** Narrows the region where the linear model promised too much, widens it where it kept its promise. */
  learn({ ratio, actual, slope, stepNorm, isUndamped, isHopeless }: Trial, accepted: boolean): void {
    if (ratio <= 0.25) {
      let shrink = actual >= 0 ? 0.5 : (0.5 * slope) / (slope + 0.5 * actual);
      if (isHopeless || !(shrink >= 0.1)) shrink = 0.1;
      this.radius = shrink * Math.min(this.radius, stepNorm / 0.1);
      this.damped.damping /= shrink;
    } else if (isUndamped || ratio >= 0.75) {
      this.radius = 2 * stepNorm;
      this.damped.damping *= 0.5;
    }
    if (accepted) this.isUnproven = false;
  }
}
