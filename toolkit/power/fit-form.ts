import { inverse, Matrix } from 'ml-matrix';
import { NumericalError } from '../errors.js';
import { choleskyFactor, choleskySolve } from '../numerics/cholesky.js';
import { type LeastSquaresResult, leastSquares } from '../numerics/least-squares.js';
import type { BoundForm, CurveForm, ReferencePoint } from './curve-forms.js';
import { type Observation, powerLevelsW } from './observation.js';

/** Weak information on one parameter, on the scale it is fitted on (see `FormParameter.above`). */
export interface WeakInformation {
  readonly mean: number;
  readonly standardDeviation: number;
}

/** What a form is fitted to. */
export interface FormProblem {
  readonly form: CurveForm;
  readonly observations: readonly Observation[];
  readonly reference: ReferencePoint;
  /** Starting values in natural units, one per parameter. */
  readonly start: readonly number[];
  /** One entry per parameter; undefined where nothing is assumed. The correction's entries are not read. */
  readonly information: readonly (WeakInformation | undefined)[];
}

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
  /** Variance of each observation about the curve, MHz². */
  readonly variances: Float64Array;
  /** Standard deviation of the correction (as a logarithm of squared voltage); 0 for forms without one. */
  readonly correctionSpread: number;
  readonly degreesOfFreedom: number;
  readonly effectiveParameterCount: number;
  readonly evaluationCount: number;
  readonly termination: LeastSquaresResult['termination'];
}

/**
 * What is assumed of the correction before the data speak: this standard deviation of ln V², as if learnt from that
 * many earlier processors. Found on simulated processors with piecewise voltage tables; a test with other seeds holds
 * the intervals to it.
 */
const CORRECTION_SPREAD = 0.03;
const CORRECTION_DEGREES = 5;

/** Passes after the first, each with variances and correction taken from the one before. */
const LAST_PASS = 3;

/** Variance below which no average of frequency is trusted, MHz²: half a megahertz. */
const LEAST_VARIANCE = 0.25;

/**
 * Fits a form by weighted least squares on frequency.
 *
 * The variance of an average is its sampling noise and rounding, with those of power and temperature carried over by
 * the slopes, enlarged until neighbouring bins of a segment, and segments among each other, differ no more than it
 * allows. Weak information and the
 * correction's prior enter as further residuals; the correction's standard deviation is averaged over its posterior
 * given the linearised model [Rasmussen2006, ch. 5; Kennedy2001].
 */
export function fitForm(problem: FormProblem): FormFit {
  let spread = { standardDeviation: CORRECTION_SPREAD, degreesOfFreedom: CORRECTION_DEGREES };
  let variances: Float64Array = Float64Array.from(
    problem.observations,
    ({ frequencyVariance }) => frequencyVariance + 25,
  );
  let start: ArrayLike<number> = problem.start;
  let evaluationCount = 0;
  for (let pass = 0; ; pass++) {
    const scale = fittedScale(problem.form, spread.standardDeviation);
    const fit = fitScaled(problem, scale, start, variances);
    evaluationCount += fit.evaluationCounts.residuals;
    start = scale.toNatural(fit.parameters);
    const linear = linearise(problem, scale, fit.parameters);
    if (pass === LAST_PASS) return summarise(problem, scale, fit, linear, variances, spread, evaluationCount);
    variances = observationVariances(problem, start, linear.residualsMHz);
    if (problem.form.correction !== undefined) {
      spread = correctionSpread(problem, spread.standardDeviation, fit.parameters, linear, variances);
    }
  }
}

/**
 * Fits a form with residuals of given variances: the common criterion on which forms are ranked.
 *
 * @returns weighted sum of squares of the data alone, the residuals, and the number of parameters they determine
 */
export function fitWeighted(
  problem: FormProblem,
  variances: Float64Array,
  correctionSpread: number,
): {
  readonly sumOfSquares: number;
  readonly residualsMHz: Float64Array;
  readonly effectiveParameterCount: number;
} {
  const scale = fittedScale(problem.form, correctionSpread);
  const fit = fitScaled(problem, scale, problem.start, variances);
  const { residualsMHz, columns } = linearise(problem, scale, fit.parameters);
  const { effectiveParameterCount } = posterior(problem, columns, variances);
  let sumOfSquares = 0;
  for (let i = 0; i < variances.length; i++) sumOfSquares += residualsMHz[i]! ** 2 / variances[i]!;
  return { sumOfSquares, residualsMHz, effectiveParameterCount };
}

/** Mapping between natural parameters and those that are fitted: logarithms, and whitened knots of the correction. */
interface FittedScale {
  toNatural(x: ArrayLike<number>): Float64Array;
  toFitted(p: ArrayLike<number>): Float64Array;
  /** ∂p/∂x, row-major. */
  derivative(p: ArrayLike<number>): readonly Float64Array[];
}

function fittedScale(form: CurveForm, correctionSpread: number): FittedScale {
  const knotCount = form.correction?.knotsMHz.length ?? 0;
  const factor = form.correction?.factor ?? new Float64Array(0);
  const count = form.parameters.length;
  const first = count - knotCount;
  const above = form.parameters.map((parameter) => parameter.above);
  return {
    toNatural(x) {
      const p = new Float64Array(count);
      for (let j = 0; j < first; j++) p[j] = above[j] === undefined ? x[j]! : above[j]! + Math.exp(x[j]!);
      for (let i = 0; i < knotCount; i++) {
        let sum = 0;
        for (let j = 0; j <= i; j++) sum += factor[i * knotCount + j]! * x[first + j]!;
        p[first + i] = correctionSpread * sum;
      }
      return p;
    },
    toFitted(p) {
      const x = new Float64Array(count);
      for (let j = 0; j < first; j++) x[j] = above[j] === undefined ? p[j]! : Math.log(p[j]! - above[j]!);
      for (let i = 0; i < knotCount; i++) {
        let rest = p[first + i]! / correctionSpread;
        for (let j = 0; j < i; j++) rest -= factor[i * knotCount + j]! * x[first + j]!;
        x[first + i] = rest / factor[i * knotCount + i]!;
      }
      return x;
    },
    derivative(p) {
      const rows = form.parameters.map(() => new Float64Array(count));
      for (let j = 0; j < first; j++) rows[j]![j] = above[j] === undefined ? 1 : p[j]! - above[j]!;
      for (let i = 0; i < knotCount; i++)
        for (let j = 0; j <= i; j++)
          rows[first + i]![first + j] = correctionSpread * factor[i * knotCount + j]!;
      return rows;
    },
  };
}

/** Weak information on the fitted scale: the whitened knots have mean 0 and variance 1. */
function informationOf({ form, information }: FormProblem): readonly (WeakInformation | undefined)[] {
  const first = form.parameters.length - (form.correction?.knotsMHz.length ?? 0);
  return form.parameters.map((_, j) => (j < first ? information[j] : { mean: 0, standardDeviation: 1 }));
}

interface Linearised {
  /** Observed − fitted, MHz. */
  readonly residualsMHz: Float64Array;
  /** ∂f/∂x on the fitted scale, one column per parameter, MHz. */
  readonly columns: readonly Float64Array[];
}

function linearise(problem: FormProblem, scale: FittedScale, x: ArrayLike<number>): Linearised {
  const { form, observations, reference } = problem;
  const p = scale.toNatural(x);
  const bound = form.bind(p, reference);
  const derivative = scale.derivative(p);
  const columns = form.parameters.map(() => new Float64Array(observations.length));
  const residualsMHz = new Float64Array(observations.length);
  const gradient = new Float64Array(form.parameters.length);
  observations.forEach(({ powerW, temperatureC, frequencyMHz }, i) => {
    residualsMHz[i] = frequencyMHz - bound.frequencyMHz(powerW, temperatureC);
    bound.gradient(powerW, temperatureC, gradient);
    for (let j = 0; j < gradient.length; j++) {
      let sum = 0;
      for (let k = 0; k < gradient.length; k++) sum += gradient[k]! * derivative[k]![j]!;
      columns[j]![i] = sum;
    }
  });
  return { residualsMHz, columns };
}

function fitScaled(
  problem: FormProblem,
  scale: FittedScale,
  start: ArrayLike<number>,
  variances: Float64Array,
): LeastSquaresResult {
  const { form, observations, reference } = problem;
  const n = observations.length;
  const parameterCount = form.parameters.length;
  const weights = variances.map((variance) => 1 / Math.sqrt(variance));
  const informed = informationOf(problem).flatMap((entry, index) =>
    entry === undefined ? [] : [{ ...entry, index }],
  );
  return leastSquares(
    (x, out) => {
      const bound = form.bind(scale.toNatural(x), reference);
      for (let i = 0; i < n; i++) {
        const { powerW, temperatureC, frequencyMHz } = observations[i]!;
        out[i] = (bound.frequencyMHz(powerW, temperatureC) - frequencyMHz) * weights[i]!;
      }
      informed.forEach(({ mean, standardDeviation, index }, k) => {
        out[n + k] = (x[index]! - mean) / standardDeviation;
      });
    },
    scale.toFitted(start),
    {
      residualCount: n + informed.length,
      jacobian: (x, out) => {
        out.fill(0);
        linearise(problem, scale, x).columns.forEach((column, j) => {
          for (let i = 0; i < n; i++) out[i * parameterCount + j] = column[i]! * weights[i]!;
        });
        informed.forEach(({ standardDeviation, index }, k) => {
          out[(n + k) * parameterCount + index] = 1 / standardDeviation;
        });
      },
      maxEvaluations: 300,
      tolerances: { reduction: 1e-9, step: 1e-8, gradient: 1e-8 },
    },
  );
}

/** Variance of every average in frequency, enlarged where neighbouring bins scatter more than it says. */
function observationVariances(
  problem: FormProblem,
  p: ArrayLike<number>,
  residualsMHz: ArrayLike<number>,
): Float64Array {
  const { form, observations, reference } = problem;
  const bound = form.bind(p, reference);
  const variances = Float64Array.from(observations, (observation) => {
    const { perPower, perTemperature } = slopesOf(bound, observation.powerW, observation.temperatureC);
    return (
      observation.frequencyVariance +
      perPower ** 2 * observation.powerVariance +
      perTemperature ** 2 * observation.temperatureVariance +
      LEAST_VARIANCE
    );
  });
  let sum = 0;
  let count = 0;
  for (let i = 1; i < observations.length; i++) {
    if (observations[i]!.segment !== observations[i - 1]!.segment) continue;
    sum += (residualsMHz[i]! - residualsMHz[i - 1]!) ** 2 / (variances[i]! + variances[i - 1]!);
    count++;
  }
  const enlargement = count < 3 ? 1 : Math.max(1, sum / count);
  return withSegmentOffsets(
    observations,
    variances.map((variance) => variance * enlargement),
    residualsMHz,
  );
}

/**
 * Enlarges the variances of each segment so that its mean carries what segments differ by beyond their noise: runs at
 * one power level that disagree do so as a whole, which no averaging within them cures. The variance of that offset is
 * that of the segments' mean residuals about those of their power level; misfit between levels is the correction's.
 */
function withSegmentOffsets(
  observations: readonly Observation[],
  variances: Float64Array,
  residualsMHz: ArrayLike<number>,
): Float64Array {
  const levels = powerLevelsW(observations);
  const segments = new Map<number, { weight: number; residual: number; level: number }>();
  observations.forEach(({ segment, powerW }, i) => {
    const entry = segments.get(segment) ?? { weight: 0, residual: 0, level: nearest(levels, powerW) };
    const weight = entry.weight + 1 / variances[i]!;
    const residual = entry.residual + (residualsMHz[i]! - entry.residual) / (variances[i]! * weight);
    segments.set(segment, { ...entry, weight, residual });
  });
  let excess = 0;
  let degreesOfFreedom = 0;
  levels.forEach((_, level) => {
    const group = [...segments.values()].filter((segment) => segment.level === level);
    const mean = group.reduce((sum, { residual }) => sum + residual / group.length, 0);
    const noise = group.reduce((sum, { weight }) => sum + 1 / weight / group.length, 0);
    const freedom = Math.max(0, group.length - 1);
    excess += group.reduce((sum, { residual }) => sum + (residual - mean) ** 2, 0) - freedom * noise;
    degreesOfFreedom += freedom;
  });
  const offsetVariance = degreesOfFreedom === 0 ? 0 : Math.max(0, excess / degreesOfFreedom);
  return variances.map(
    (variance, i) => variance * (1 + segments.get(observations[i]!.segment)!.weight * offsetVariance),
  );
}

/** Index of the level nearest to a power. */
function nearest(levels: readonly number[], powerW: number): number {
  return levels.reduce(
    (best, level, k) => (Math.abs(level - powerW) < Math.abs(levels[best]! - powerW) ? k : best),
    0,
  );
}

/** Slopes of a form with numbers in it: MHz per W and MHz per K. */
export function slopesOf(
  bound: BoundForm,
  powerW: number,
  temperatureC: number,
): { readonly perPower: number; readonly perTemperature: number } {
  const stepW = 1e-3 * powerW;
  const stepK = 0.1;
  return {
    perPower:
      (bound.frequencyMHz(powerW + stepW, temperatureC) - bound.frequencyMHz(powerW - stepW, temperatureC)) /
      (2 * stepW),
    perTemperature:
      (bound.frequencyMHz(powerW, temperatureC + stepK) - bound.frequencyMHz(powerW, temperatureC - stepK)) /
      (2 * stepK),
  };
}

/**
 * Posterior of the correction's standard deviation on a grid, with the linearised parameters integrated out; scaled
 * inverse chi-square prior. Returned as the scaled inverse chi-square of the same mean and variance.
 *
 * @param current - standard deviation that `linear` and `x` are scaled with
 */
function correctionSpread(
  problem: FormProblem,
  current: number,
  x: ArrayLike<number>,
  linear: Linearised,
  noise: Float64Array,
): { readonly standardDeviation: number; readonly degreesOfFreedom: number } {
  const information = informationOf(problem);
  const count = x.length;
  const first = count - problem.form.correction!.knotsMHz.length;
  const data = normalMatrix(linear.columns, noise);
  // Linearised about the fit without its correction, so that the knots start from zero at every spread.
  const residuals = Float64Array.from(linear.residualsMHz, (residual, i) => {
    let sum = residual;
    for (let j = first; j < count; j++) sum += linear.columns[j]![i]! * x[j]!;
    return sum;
  });
  const projected = linear.columns.map((column) => weightedProduct(column, residuals, noise));
  const squares = weightedProduct(residuals, residuals, noise);
  const variances: number[] = [];
  const logWeights: number[] = [];
  for (let k = -10; k <= 8; k++) {
    const ratio = 2 ** (k / 2);
    const spread = CORRECTION_SPREAD * ratio;
    const stretch = (j: number): number => (j < first ? 1 : spread / current);
    const matrix = new Float64Array(count * count);
    const right = new Float64Array(count);
    let constant = squares;
    for (let i = 0; i < count; i++) {
      right[i] = stretch(i) * projected[i]!;
      for (let j = 0; j < count; j++) matrix[i * count + j] = stretch(i) * stretch(j) * data[i]![j]!;
      const entry = information[i];
      if (entry === undefined) continue;
      const precision = 1 / entry.standardDeviation ** 2;
      const offset = i < first ? entry.mean - x[i]! : 0;
      matrix[i * count + i] = matrix[i * count + i]! + precision;
      right[i] = right[i]! + precision * offset;
      constant += precision * offset * offset;
    }
    if (!choleskyFactor(matrix, count)) continue;
    let logDeterminant = 0;
    for (let i = 0; i < count; i++) logDeterminant += Math.log(matrix[i * count + i]!);
    const step = Float64Array.from(right);
    choleskySolve(matrix, count, step);
    const chiSquare = constant - step.reduce((sum, value, i) => sum + value * right[i]!, 0);
    variances.push(spread * spread);
    logWeights.push(
      -0.5 * chiSquare - logDeterminant - CORRECTION_DEGREES * (Math.log(ratio) + 0.5 / ratio ** 2),
    );
  }
  const highest = Math.max(...logWeights);
  const weights = logWeights.map((value) => Math.exp(value - highest));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const mean = variances.reduce((sum, variance, i) => sum + (weights[i]! / total) * variance, 0);
  const spreadOfMean = variances.reduce(
    (sum, variance, i) => sum + (weights[i]! / total) * (variance - mean) ** 2,
    0,
  );
  const degreesOfFreedom = Math.min(200, 4 + (2 * mean * mean) / Math.max(spreadOfMean, 1e-12 * mean * mean));
  return {
    standardDeviation: Math.sqrt((mean * (degreesOfFreedom - 2)) / degreesOfFreedom),
    degreesOfFreedom,
  };
}

function summarise(
  problem: FormProblem,
  scale: FittedScale,
  fit: LeastSquaresResult,
  linear: Linearised,
  variances: Float64Array,
  spread: { readonly standardDeviation: number; readonly degreesOfFreedom: number },
  evaluationCount: number,
): FormFit {
  const { form, observations, information } = problem;
  const { covariance, effectiveParameterCount } = posterior(problem, linear.columns, variances);
  // What is left over although noise and correction were allowed for widens everything.
  const freedom = Math.max(1, observations.length - effectiveParameterCount);
  const chiSquare = weightedProduct(linear.residualsMHz, linear.residualsMHz, variances);
  const inflation = Math.max(1, chiSquare / freedom);
  const parameters = scale.toNatural(fit.parameters);
  const derivative = scale.derivative(parameters);
  const count = parameters.length;
  const half = derivative.map((row) =>
    Array.from({ length: count }, (_, j) =>
      row.reduce((sum, value, k) => sum + value * covariance[k]![j]!, 0),
    ),
  );
  return {
    parameters,
    covariance: half.map((row) =>
      derivative.map((other) => inflation * row.reduce((sum, value, k) => sum + value * other[k]!, 0)),
    ),
    perFitted: Float64Array.from(derivative, (row, j) => row[j]!),
    assumptionShares: information.map((entry, j) =>
      entry === undefined ? undefined : Math.sqrt(covariance[j]![j]!) / entry.standardDeviation,
    ),
    residualsMHz: linear.residualsMHz,
    variances,
    correctionSpread: form.correction === undefined ? 0 : spread.standardDeviation,
    degreesOfFreedom: form.correction === undefined ? freedom : spread.degreesOfFreedom,
    effectiveParameterCount,
    evaluationCount,
    termination: fit.termination,
  };
}

/** Covariance on the fitted scale, and how many parameters the data determine. */
function posterior(
  problem: FormProblem,
  columns: readonly Float64Array[],
  variances: Float64Array,
): { readonly covariance: readonly (readonly number[])[]; readonly effectiveParameterCount: number } {
  const count = columns.length;
  const data = normalMatrix(columns, variances);
  const information = informationOf(problem);
  const total = data.map((row, i) =>
    row.map((value, j) => {
      const entry = i === j ? information[i] : undefined;
      return entry === undefined ? value : value + 1 / entry.standardDeviation ** 2;
    }),
  );
  // Scaled to a unit diagonal, so that the inverse does not depend on units.
  const unit = total.map((row, i) => 1 / Math.sqrt(row[i]!));
  const scaled = new Matrix(total.map((row, i) => row.map((value, j) => value * unit[i]! * unit[j]!)));
  const inverted = unit.every(Number.isFinite) ? inverse(scaled) : undefined;
  if (inverted === undefined || !inverted.to1DArray().every(Number.isFinite)) {
    throw new NumericalError(
      'power curve: the points do not determine the parameters of this form; log runs at further power caps',
    );
  }
  const covariance = Array.from({ length: count }, (_, i) =>
    Array.from(
      { length: count },
      (_, j) => 0.5 * (inverted.get(i, j) + inverted.get(j, i)) * unit[i]! * unit[j]!,
    ),
  );
  let effectiveParameterCount = 0;
  for (let i = 0; i < count; i++)
    for (let j = 0; j < count; j++) effectiveParameterCount += covariance[i]![j]! * data[j]![i]!;
  return { covariance, effectiveParameterCount };
}

function normalMatrix(columns: readonly Float64Array[], variances: Float64Array): number[][] {
  return columns.map((a) => columns.map((b) => weightedProduct(a, b, variances)));
}

function weightedProduct(a: ArrayLike<number>, b: ArrayLike<number>, variances: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < variances.length; i++) sum += (a[i]! * b[i]!) / variances[i]!;
  return sum;
}
