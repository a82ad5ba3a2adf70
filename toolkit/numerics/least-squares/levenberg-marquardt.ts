import { NumericalError } from '../../errors.js';
import type { LeastSquaresProblem } from './least-squares-problem.js';
import { LinearisedResiduals } from './linearised-residuals.js';
import { SearchPoint } from './search-point.js';
import type { TerminationReason } from './termination.js';
import { type Trial, TrustRegion } from './trust-region.js';

/** Where a search ended. */
export interface SearchEnd {
  /** With the Jacobian there. */
  readonly point: SearchPoint;
  /** The largest norm each column of the Jacobian has had, length n. */
  readonly largestNorms: Float64Array;
  readonly reason: TerminationReason;
}

// A sum of squares below this fraction of that at the start is made of the rounding of the residuals alone.
const ROUNDING_OF_SUM = 1e-31;

/** A step is taken if it brings at least this share of what the linear model promised. */
const LEAST_RATIO = 1e-4;

/**
 * Levenberg–Marquardt method in Moré's form [More1978]: from the point reached, steps within a trust region are tried
 * until one lowers the sum of squares.
 *
 * @throws NumericalError if residuals or derivatives at the start are not finite
 */
export function levenbergMarquardt(problem: LeastSquaresProblem): SearchEnd {
  const point = new SearchPoint(problem);
  if (!Number.isFinite(point.sumOfSquares)) throw notFiniteAtStart(point, problem.start);
  const sumAtStart = point.sumOfSquares;
  const linear = new LinearisedResiduals(problem);
  const region = new TrustRegion(problem);
  let reason: TerminationReason | undefined;
  for (let iteration = 0; reason === undefined; iteration += 1) {
    point.differentiate();
    if (!linear.measure(point)) {
      if (iteration === 0) throw derivativesNotFiniteAtStart(linear, problem.start);
      reason = 'not-finite';
      break;
    }
    if (point.sumOfSquares <= ROUNDING_OF_SUM * sumAtStart) {
      reason = 'zero-residuals';
      break;
    }
    const largestCosine = linear.chooseFree(point);
    if (largestCosine <= problem.tolerances.gradient) {
      reason = 'gradient-small';
      break;
    }
    linear.factorise(point);
    if (iteration === 0) region.open(linear.scaledNorm);
    let accepted = false;
    while (!accepted && reason === undefined) {
      const trial = region.try(point, linear);
      accepted = trial.ratio >= LEAST_RATIO;
      region.learn(trial, accepted);
      if (accepted) point.accept(trial.sumOfSquares);
      reason = reasonToStop(problem, trial, {
        accepted,
        radius: region.radius,
        scaledNorm: linear.scaledNorm,
        largestCosine,
        trialCount: point.trialCount,
      });
    }
  }
  point.differentiate();
  return { point, largestNorms: linear.largestNorms, reason };
}

/** Whether a search has arrived, or gets no farther. */
function reasonToStop(
  { tolerances, maxEvaluations }: LeastSquaresProblem,
  { actual, predicted, ratio, stepNorm, isUndamped }: Trial,
  {
    accepted,
    radius,
    scaledNorm,
    largestCosine,
    trialCount,
  }: {
    readonly accepted: boolean;
    readonly radius: number;
    readonly scaledNorm: number;
    readonly largestCosine: number;
    readonly trialCount: number;
  },
): TerminationReason | undefined {
  const shortest = tolerances.step * scaledNorm;
  if (Math.abs(actual) <= tolerances.reduction && predicted <= tolerances.reduction && ratio <= 2)
    return 'reduction-small';
  // An undamped step this short means the minimum, even where rounding hides whether it goes down.
  if (isUndamped && stepNorm <= shortest) return 'step-small';
  if (radius <= shortest) return accepted || largestCosine < 1e-5 ? 'step-small' : 'no-progress';
  if (!accepted && (radius <= Number.EPSILON * scaledNorm || radius < 1e-290)) return 'no-progress';
  return trialCount >= maxEvaluations ? 'evaluation-limit' : undefined;
}

function notFiniteAtStart({ residuals }: SearchPoint, start: ArrayLike<number>): NumericalError {
  const at = residuals.findIndex((value) => !Number.isFinite(value));
  const what = at < 0 ? 'the sum of squared residuals overflows' : `residual ${at} is ${residuals[at]}`;
  return new NumericalError(
    `leastSquares: ${what} at the start (${Array.from(start).join(', ')}); start where the model is defined, and check the data for missing values`,
  );
}

function derivativesNotFiniteAtStart(
  { columnNorms }: LinearisedResiduals,
  start: ArrayLike<number>,
): NumericalError {
  const at = columnNorms.findIndex((value) => !Number.isFinite(value));
  return new NumericalError(
    `leastSquares: the derivatives by parameter ${at} are not finite at the start (${Array.from(start).join(', ')}); start further inside the region where the model is defined`,
  );
}
