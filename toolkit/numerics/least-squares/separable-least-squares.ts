import { NumericalError } from '../../errors.js';
import { choleskyFactor, choleskySolve } from '../cholesky.js';

/**
 * A least-squares problem whose linear parameters are solved for inside `evaluate`, so that only the nonlinear
 * ones are searched over.
 */
export interface SeparableProblem {
  readonly nonlinearCount: number;
  readonly linearCount: number;
  /** The linear parameters at the last `evaluate`; one that is exactly 0 counts as inactive at its bound. */
  readonly linearParameters: Float64Array;
  readonly lowerBounds: Float64Array;
  readonly upperBounds: Float64Array;
  /** Solves for the linear parameters and returns the sum of squares. */
  evaluate(parameters: Float64Array): number;
  /**
   * Normal equations at the parameters of the last `evaluate`: Gram matrix JᵀJ of all columns (nonlinear first,
   * then linear), row-major, and Jᵀ(model − data).
   */
  accumulate(): { readonly gram: Float64Array; readonly gradient: Float64Array };
}

export interface SeparableMinimum {
  readonly parameters: Float64Array;
  readonly linearParameters: Float64Array;
  readonly cost: number;
  readonly evaluationCount: number;
  readonly termination: { readonly reason: string; readonly converged: boolean; readonly message: string };
}

/** Relative decrease of the sum of squares, promised or achieved, below which the search ends. */
const COST_TOLERANCE = 1e-9;
/** Relative change of all parameters below which it ends: without noise the sum of squares has no floor of its own. */
const STEP_TOLERANCE = 1e-8;
/** Relative decrease by an undamped step after which another one is not worth its cost. */
const LAST_STEP_DECREASE = 1e-6;
const NEARLY_UNDAMPED = 1e-3;
const MAX_ITERATIONS = 60;
const LEAST_DAMPING = 1e-12;
const MOST_DAMPING = 1e12;
/** Longest step of a bounded parameter; these are logarithms and exponents, for which 1.5 is far. */
const LONGEST_BOUNDED_STEP = 1.5;

const TERMINATIONS = {
  tolerance: {
    reason: 'tolerance',
    converged: true,
    message: `sum of squares changes by less than ${COST_TOLERANCE} or parameters by less than ${STEP_TOLERANCE} of themselves`,
  },
  stuck: { reason: 'no-further-decrease', converged: true, message: 'no step lowers the sum of squares' },
  iterations: {
    reason: 'iterations',
    converged: false,
    message: `not converged in ${MAX_ITERATIONS} iterations`,
  },
} as const;

/**
 * Levenberg–Marquardt search over the nonlinear parameters of a separable problem, on accumulated normal
 * equations: the linear parameters are projected out of JᵀJ by a Schur complement (variable projection
 * [GolubPereyra1973] with Kaufman's Jacobian [Kaufman1975]).
 *
 * @param problem - see `SeparableProblem`
 * @param start - nonlinear parameters to start from; not changed
 * @returns the minimum found, at which the problem was evaluated last; failure to converge is said in `termination`
 * @throws NumericalError if the sum of squares is not finite at the start
 */
export function minimizeSeparable(problem: SeparableProblem, start: ArrayLike<number>): SeparableMinimum {
  const { nonlinearCount: count, linearCount, lowerBounds, upperBounds } = problem;
  const width = count + linearCount;
  let parameters: Float64Array = Float64Array.from({ length: count }, (_, i) =>
    Math.min(upperBounds[i], Math.max(lowerBounds[i], start[i])),
  );
  let cost = problem.evaluate(parameters);
  let evaluationCount = 1;
  if (!Number.isFinite(cost)) {
    throw new NumericalError(
      'minimizeSeparable: the sum of squares is not finite at the start; check the data for NaN',
    );
  }
  let damping = 1e-3;
  let equations = problem.accumulate();
  let termination: SeparableMinimum['termination'] | undefined;
  /** Whether the last evaluation was of a step that was refused. */
  let elsewhere = false;

  /** Looks for a step that lowers the sum of squares, damping more until one does. */
  const improve = (): 'improved' | 'negligible' | 'stuck' => {
    const free = freeParameters(parameters, equations.gradient, lowerBounds, upperBounds);
    if (free.length === 0) return 'negligible';
    const { hessian, gradient } = projectOutLinear(equations, problem.linearParameters, free, count, width);
    for (; damping < MOST_DAMPING; damping = Math.max(damping, 1e-6) * 8) {
      const step = dampedStep(hessian, gradient, damping);
      if (step === undefined) continue;
      // What the linear model promises of this step may be so little that trying it would only cost.
      const promised = -step.reduce((sum, move, i) => sum + move * gradient[i], 0);
      if (promised < COST_TOLERANCE * cost) return 'negligible';
      const trial = moved(parameters, free, step, lowerBounds, upperBounds);
      const trialCost = problem.evaluate(trial);
      evaluationCount++;
      elsewhere = !(trialCost < cost);
      if (trialCost < cost) {
        const largest = trial.reduce(
          (most, value, i) => Math.max(most, relativeChange(value, parameters[i])),
          0,
        );
        const decrease = (cost - trialCost) / cost;
        parameters = trial;
        cost = trialCost;
        const nearlyUndamped = damping <= NEARLY_UNDAMPED;
        damping = Math.max(LEAST_DAMPING, damping / 10);
        if (largest < STEP_TOLERANCE || decrease < COST_TOLERANCE) return 'negligible';
        // An all but undamped step leaves a fraction of the error, and the sum of squares falls with its square: the
        // next one would gain less than the tolerance.
        if (nearlyUndamped && decrease < LAST_STEP_DECREASE) return 'negligible';
        equations = problem.accumulate();
        return 'improved';
      }
    }
    return 'stuck';
  };

  for (let iteration = 0; iteration < MAX_ITERATIONS && termination === undefined; iteration++) {
    const outcome = improve();
    if (outcome === 'negligible') termination = TERMINATIONS.tolerance;
    if (outcome === 'stuck') termination = TERMINATIONS.stuck;
  }
  if (elsewhere) problem.evaluate(parameters);
  return {
    parameters,
    linearParameters: problem.linearParameters.slice(),
    cost,
    evaluationCount,
    termination: termination ?? TERMINATIONS.iterations,
  };
}

function moved(
  parameters: Float64Array,
  free: readonly number[],
  step: Float64Array,
  lowerBounds: Float64Array,
  upperBounds: Float64Array,
): Float64Array {
  const trial = parameters.slice();
  free.forEach((index, i) => {
    const limit = Number.isFinite(lowerBounds[index]) ? LONGEST_BOUNDED_STEP : Number.POSITIVE_INFINITY;
    const move = Math.max(-limit, Math.min(limit, step[i]));
    trial[index] = Math.min(upperBounds[index], Math.max(lowerBounds[index], parameters[index] + move));
  });
  return trial;
}

function relativeChange(value: number, before: number): number {
  return Math.abs(value - before) / (Math.abs(before) + 1e-3);
}

/** Parameters that may move: all but those at a bound that the gradient pushes against. */
function freeParameters(
  parameters: Float64Array,
  gradient: Float64Array,
  lowerBounds: Float64Array,
  upperBounds: Float64Array,
): number[] {
  const free: number[] = [];
  for (let i = 0; i < parameters.length; i++) {
    const pushedDown = parameters[i] <= lowerBounds[i] && gradient[i] > 0;
    const pushedUp = parameters[i] >= upperBounds[i] && gradient[i] < 0;
    if (!pushedDown && !pushedUp) free.push(i);
  }
  return free;
}

/** Gauss–Newton Hessian (row-major) and gradient in the free nonlinear parameters, the active linear ones projected out. */
function projectOutLinear(
  equations: { readonly gram: Float64Array; readonly gradient: Float64Array },
  linearParameters: Float64Array,
  free: readonly number[],
  nonlinearCount: number,
  width: number,
): { hessian: Float64Array; gradient: Float64Array } {
  const { gram } = equations;
  const active: number[] = [];
  linearParameters.forEach((value, k) => {
    if (value !== 0) active.push(nonlinearCount + k);
  });
  const block = (rows: readonly number[], columns: readonly number[]): Float64Array => {
    const entries = new Float64Array(rows.length * columns.length);
    for (let a = 0; a < rows.length; a++) {
      for (let b = 0; b < columns.length; b++)
        entries[a * columns.length + b] = gram[rows[a] * width + columns[b]];
    }
    return entries;
  };
  const size = free.length;
  const hessian = block(free, free);
  const linear = block(active, active);
  if (choleskyFactor(linear, active.length)) {
    for (let i = 0; i < size; i++) {
      const coupling = block(active, [free[i]]);
      const solved = coupling.slice();
      choleskySolve(linear, active.length, solved);
      for (let j = 0; j < size; j++) {
        for (let k = 0; k < active.length; k++) {
          hessian[j * size + i] -= gram[free[j] * width + active[k]] * solved[k];
        }
      }
    }
  }
  return { hessian, gradient: Float64Array.from(free, (index) => equations.gradient[index]) };
}

/** Solves (H + λ diag H) δ = −g; undefined where the damped matrix is not positive definite. */
function dampedStep(
  hessian: Float64Array,
  gradient: Float64Array,
  damping: number,
): Float64Array | undefined {
  const size = gradient.length;
  const damped = hessian.slice();
  for (let i = 0; i < size; i++) damped[i * (size + 1)] = damped[i * (size + 1)] * (1 + damping) + 1e-30;
  if (!choleskyFactor(damped, size)) return undefined;
  const step = gradient.map((value) => -value);
  choleskySolve(damped, size, step);
  return step;
}
