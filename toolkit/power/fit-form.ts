import { CholeskyDecomposition, inverse, Matrix } from 'ml-matrix';
import { NumericalError } from '../errors.js';
import { leastSquares, type LeastSquaresResult } from '../numerics/least-squares.js';
import type { CurveForm, ReferencePoint } from './curve-forms.js';
import type { Observation } from './observation.js';
import type { CurveDiscrepancy } from './power-curve.js';

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
  /** Starting values in natural units. */
  readonly start: readonly number[];
  /** One entry per parameter; undefined where nothing is assumed. */
  readonly information: readonly (WeakInformation | undefined)[];
}

/** A form fitted to observations. */
export interface FormFit {
  /** Natural units. */
  readonly parameters: Float64Array;
  /** Derivative of each parameter with respect to the scale it is fitted on. */
  readonly perFitted: Float64Array;
  /** Natural units; discrepancy, autocorrelation and assumptions included. */
  readonly covariance: readonly (readonly number[])[];
  /** Standard deviation of each parameter divided by that of its assumption; 1 = the data say nothing. */
  readonly assumptionShares: readonly (number | undefined)[];
  /** Observed − fitted, MHz. */
  readonly residualsMHz: Float64Array;
  /** Variance of each observation about the curve: noise, rounding, and discrepancy, MHz². */
  readonly variances: Float64Array;
  readonly discrepancy: CurveDiscrepancy;
  readonly degreesOfFreedom: number;
  readonly effectiveParameterCount: number;
  readonly evaluationCount: number;
  readonly termination: LeastSquaresResult['termination'];
}

/**
 * What is assumed of the form's own inexactness before the data speak: a standard deviation of this fraction of the
 * frequency, as if learnt from that many earlier processors. Found on simulated processors with piecewise
 * voltage-frequency curves; a test with other seeds holds the intervals to it.
 */
const DISCREPANCY_FRACTION = 0.002;
const DISCREPANCY_DEGREES = 5;
const POWER_SCALE_RATIO = 0.3;
const TEMPERATURE_SCALE_K = 100;

/**
 * Fits a form by generalised least squares on frequency.
 *
 * The residual of an average is the sum of its sampling noise (with the noise of power and temperature carried over
 * by the slopes, and enlarged until neighbouring bins of a segment differ no more than it allows), its rounding, and
 * the form's discrepancy, a Gaussian process over ln P and T. The discrepancy's standard deviation is averaged over
 * its posterior given the linearised model [Rasmussen2006, ch. 2 and 5; Kennedy2001]. Weak information enters as
 * further residuals.
 */
export function fitForm(problem: FormProblem): FormFit {
  const { observations } = problem;
  const correlation = discrepancyCorrelation(observations);
  const meanMHz = average(observations.map((observation) => observation.frequencyMHz));
  const priorSpreadMHz = DISCREPANCY_FRACTION * meanMHz;
  let spread = { standardDeviationMHz: priorSpreadMHz, degreesOfFreedom: DISCREPANCY_DEGREES };
  let noise: Float64Array = Float64Array.from(
    observations,
    (observation) => observation.frequencyVariance + 1,
  );
  let start: ArrayLike<number> = problem.start;
  let evaluationCount = 0;
  for (let pass = 0; ; pass++) {
    const factor = choleskyFactor(correlation, noise, spread.standardDeviationMHz);
    const fit = fitWhitened(problem, start, (vector) => forwardSubstitute(factor, vector));
    evaluationCount += fit.evaluationCounts.residuals;
    start = toNatural(problem.form, fit.parameters);
    const linear = linearise(problem, fit.parameters);
    if (pass < 2) {
      noise = noiseVariances(problem, start, linear.residualsMHz);
      spread = discrepancySpread(problem, fit.parameters, linear, correlation, noise, priorSpreadMHz);
      continue;
    }
    return summarise(problem, fit, linear, factor, noise, spread, evaluationCount);
  }
}

/**
 * Fits a form with independent residuals of the given variances: the common criterion on which forms are ranked.
 *
 * @returns weighted sum of squares of the data alone, the residuals, and the number of parameters they determine
 */
export function fitWeighted(
  problem: FormProblem,
  variances: ArrayLike<number>,
): {
  readonly sumOfSquares: number;
  readonly residualsMHz: Float64Array;
  readonly effectiveParameterCount: number;
} {
  const scale = Float64Array.from(variances, (variance) => 1 / Math.sqrt(variance));
  const whiten: Whiten = (vector) => {
    for (let i = 0; i < scale.length; i++) vector[i] = vector[i]! * scale[i]!;
  };
  const fit = fitWhitened(problem, problem.start, whiten);
  const { residualsMHz, columns } = linearise(problem, fit.parameters);
  for (const column of columns) whiten(column);
  let sumOfSquares = 0;
  for (let i = 0; i < residualsMHz.length; i++) sumOfSquares += (residualsMHz[i]! * scale[i]!) ** 2;
  const { effectiveParameterCount } = posterior(columns, problem.information);
  return { sumOfSquares, residualsMHz, effectiveParameterCount };
}

/** Multiplies a vector of residuals by the inverse of their covariance's lower factor, in place. */
type Whiten = (vector: Float64Array) => void;

interface Linearised {
  readonly residualsMHz: Float64Array;
  /** ∂f/∂x on the fitted scale, one column per parameter. */
  readonly columns: readonly Float64Array[];
}

function fitWhitened(problem: FormProblem, start: ArrayLike<number>, whiten: Whiten): LeastSquaresResult {
  const { form, observations, reference, information } = problem;
  const n = observations.length;
  const parameterCount = form.parameters.length;
  const informed = information.flatMap((entry, index) => (entry === undefined ? [] : [{ ...entry, index }]));
  const m = n + informed.length;
  const whitened = new Float64Array(n);
  return leastSquares(
    (x, out) => {
      const p = toNatural(form, x);
      for (let i = 0; i < n; i++) {
        const { powerW, temperatureC, frequencyMHz } = observations[i]!;
        whitened[i] = form.frequencyMHz(p, reference, powerW, temperatureC) - frequencyMHz;
      }
      whiten(whitened);
      out.set(whitened);
      informed.forEach(({ mean, standardDeviation, index }, k) => {
        out[n + k] = (x[index]! - mean) / standardDeviation;
      });
    },
    toFitted(form, start),
    {
      residualCount: m,
      jacobian: (x, out) => {
        out.fill(0);
        linearise(problem, x).columns.forEach((column, j) => {
          whiten(column);
          for (let i = 0; i < n; i++) out[i * parameterCount + j] = column[i]!;
        });
        informed.forEach(({ standardDeviation, index }, k) => {
          out[(n + k) * parameterCount + index] = 1 / standardDeviation;
        });
      },
      tolerances: { reduction: 1e-10, step: 1e-9, gradient: 1e-9 },
    },
  );
}

function linearise(problem: FormProblem, x: ArrayLike<number>): Linearised {
  const { form, observations, reference } = problem;
  const p = toNatural(form, x);
  const perFitted = naturalPerFitted(form, p);
  const columns = form.parameters.map(() => new Float64Array(observations.length));
  const residualsMHz = new Float64Array(observations.length);
  const gradient = new Float64Array(form.parameters.length);
  observations.forEach(({ powerW, temperatureC, frequencyMHz }, i) => {
    residualsMHz[i] = frequencyMHz - form.frequencyMHz(p, reference, powerW, temperatureC);
    form.gradient(p, reference, powerW, temperatureC, gradient);
    for (let j = 0; j < gradient.length; j++) columns[j]![i] = gradient[j]! * perFitted[j]!;
  });
  return { residualsMHz, columns };
}

/** Sampling variance of every observation in frequency, enlarged where neighbouring bins scatter more than it says. */
function noiseVariances(
  problem: FormProblem,
  p: ArrayLike<number>,
  residualsMHz: ArrayLike<number>,
): Float64Array {
  const { form, observations, reference } = problem;
  const noise = Float64Array.from(observations, (observation) => {
    const { powerW, temperatureC } = observation;
    const stepW = 1e-3 * powerW;
    const perPower =
      (form.frequencyMHz(p, reference, powerW + stepW, temperatureC) -
        form.frequencyMHz(p, reference, powerW - stepW, temperatureC)) /
      (2 * stepW);
    const perTemperature =
      (form.frequencyMHz(p, reference, powerW, temperatureC + 0.5) -
        form.frequencyMHz(p, reference, powerW, temperatureC - 0.5)) /
      1;
    return (
      observation.frequencyVariance +
      perPower ** 2 * observation.powerVariance +
      perTemperature ** 2 * observation.temperatureVariance +
      1e-4
    );
  });
  let sum = 0;
  let count = 0;
  for (let i = 1; i < observations.length; i++) {
    if (observations[i]!.segment !== observations[i - 1]!.segment) continue;
    sum += (residualsMHz[i]! - residualsMHz[i - 1]!) ** 2 / (noise[i]! + noise[i - 1]!);
    count++;
  }
  const enlargement = count < 3 ? 1 : Math.max(1, sum / count);
  return noise.map((variance) => variance * enlargement);
}

function discrepancyCorrelation(observations: readonly Observation[]): Matrix {
  const n = observations.length;
  const logPower = observations.map((observation) => Math.log(observation.powerW));
  const correlation = new Matrix(n, n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      const byPower = (logPower[i]! - logPower[j]!) / POWER_SCALE_RATIO;
      const byTemperature =
        (observations[i]!.temperatureC - observations[j]!.temperatureC) / TEMPERATURE_SCALE_K;
      const value = Math.exp(-0.5 * (byPower * byPower + byTemperature * byTemperature));
      correlation.set(i, j, value);
      correlation.set(j, i, value);
    }
  }
  return correlation;
}

/**
 * Posterior of the discrepancy's standard deviation on a grid, with the linearised parameters integrated out;
 * a scaled inverse chi-square prior. Returned as the scaled inverse chi-square of the same mean and variance.
 */
function discrepancySpread(
  problem: FormProblem,
  x: ArrayLike<number>,
  linear: Linearised,
  correlation: Matrix,
  noise: Float64Array,
  priorSpreadMHz: number,
): { readonly standardDeviationMHz: number; readonly degreesOfFreedom: number } {
  const variances: number[] = [];
  const logWeights: number[] = [];
  for (let k = -8; k <= 10; k++) {
    const spread = priorSpreadMHz * 2 ** (k / 2);
    const factor = choleskyFactor(correlation, noise, spread);
    variances.push(spread * spread);
    logWeights.push(
      logMarginal(problem, x, linear, factor) -
        DISCREPANCY_DEGREES *
          (Math.log(spread / priorSpreadMHz) + priorSpreadMHz ** 2 / (2 * spread * spread)),
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
    standardDeviationMHz: Math.sqrt((mean * (degreesOfFreedom - 2)) / degreesOfFreedom),
    degreesOfFreedom,
  };
}

function logMarginal(problem: FormProblem, x: ArrayLike<number>, linear: Linearised, factor: Factor): number {
  const residuals = Float64Array.from(linear.residualsMHz);
  forwardSubstitute(factor, residuals);
  const columns = linear.columns.map((column) => {
    const whitened = Float64Array.from(column);
    forwardSubstitute(factor, whitened);
    return whitened;
  });
  const { information: precision } = normalMatrix(columns, problem.information);
  const right = columns.map((column, j) => {
    const entry = problem.information[j];
    const pull = entry === undefined ? 0 : (entry.mean - x[j]!) / entry.standardDeviation ** 2;
    return dot(column, residuals) + pull;
  });
  const cholesky = new CholeskyDecomposition(precision);
  if (!cholesky.isPositiveDefinite()) return Number.NEGATIVE_INFINITY;
  const step = cholesky.solve(Matrix.columnVector(right)).to1DArray();
  let squares = dot(residuals, residuals);
  problem.information.forEach((entry, j) => {
    if (entry !== undefined) squares += ((x[j]! - entry.mean) / entry.standardDeviation) ** 2;
  });
  squares -= step.reduce((sum, value, j) => sum + value * right[j]!, 0);
  let logDeterminant = 0;
  for (let i = 0; i < factor.size; i++) logDeterminant += Math.log(factor.lower[i * factor.size + i]!);
  const lower = cholesky.lowerTriangularMatrix;
  for (let j = 0; j < lower.rows; j++) logDeterminant += Math.log(lower.get(j, j));
  return -0.5 * squares - logDeterminant;
}

function summarise(
  problem: FormProblem,
  fit: LeastSquaresResult,
  linear: Linearised,
  factor: Factor,
  noise: Float64Array,
  spread: { readonly standardDeviationMHz: number; readonly degreesOfFreedom: number },
  evaluationCount: number,
): FormFit {
  const { form, observations, information } = problem;
  const whitened = Float64Array.from(linear.residualsMHz);
  forwardSubstitute(factor, whitened);
  const columns = linear.columns.map((column) => Float64Array.from(column));
  for (const column of columns) forwardSubstitute(factor, column);
  const { covariance, effectiveParameterCount } = posterior(columns, information);
  // What is left over although noise and discrepancy were allowed for widens everything.
  const freedom = Math.max(1, observations.length - effectiveParameterCount);
  const inflation = Math.max(1, dot(whitened, whitened) / freedom);
  const parameters = toNatural(form, fit.parameters);
  const natural = naturalPerFitted(form, parameters);
  return {
    parameters,
    perFitted: natural,
    covariance: covariance.map((row, i) =>
      row.map((value, j) => inflation * value * natural[i]! * natural[j]!),
    ),
    assumptionShares: information.map((entry, j) =>
      entry === undefined ? undefined : Math.sqrt(covariance[j]![j]!) / entry.standardDeviation,
    ),
    residualsMHz: linear.residualsMHz,
    variances: noise.map((variance) => variance + spread.standardDeviationMHz ** 2),
    discrepancy: {
      standardDeviationMHz: spread.standardDeviationMHz * Math.sqrt(inflation),
      powerScaleRatio: POWER_SCALE_RATIO,
      temperatureScaleK: TEMPERATURE_SCALE_K,
    },
    degreesOfFreedom: spread.degreesOfFreedom,
    effectiveParameterCount,
    evaluationCount,
    termination: fit.termination,
  };
}

function posterior(
  columns: readonly Float64Array[],
  weak: readonly (WeakInformation | undefined)[],
): { readonly covariance: readonly (readonly number[])[]; readonly effectiveParameterCount: number } {
  const { data, information } = normalMatrix(columns, weak);
  // Scaled to a unit diagonal, so that the inverse does not depend on units.
  const scale = columns.map((_, j) => 1 / Math.sqrt(information.get(j, j)));
  const scaled = Matrix.zeros(columns.length, columns.length);
  for (let i = 0; i < columns.length; i++)
    for (let j = 0; j < columns.length; j++)
      scaled.set(i, j, information.get(i, j) * (scale[i]! * scale[j]!));
  const cholesky = new CholeskyDecomposition(scaled);
  if (!cholesky.isPositiveDefinite() || scale.some((value) => !Number.isFinite(value))) {
    throw new NumericalError(
      'fitPowerCurve: the points do not determine the parameters of this form; log runs at further power caps',
    );
  }
  const inverted = inverse(scaled);
  const covariance = columns.map((_, i) => columns.map((_, j) => inverted.get(i, j) * scale[i]! * scale[j]!));
  let effectiveParameterCount = 0;
  for (let i = 0; i < columns.length; i++)
    for (let j = 0; j < columns.length; j++) effectiveParameterCount += covariance[i]![j]! * data.get(j, i);
  return { covariance, effectiveParameterCount };
}

/** Normal matrix of the whitened columns alone, and with the weak information added. */
function normalMatrix(
  columns: readonly Float64Array[],
  weak: readonly (WeakInformation | undefined)[],
): { readonly data: Matrix; readonly information: Matrix } {
  const data = new Matrix(columns.map((a) => columns.map((b) => dot(a, b))));
  const information = data.clone();
  weak.forEach((entry, j) => {
    if (entry !== undefined) information.set(j, j, information.get(j, j) + 1 / entry.standardDeviation ** 2);
  });
  return { data, information };
}

interface Factor {
  readonly size: number;
  /** Lower triangle, row-major. */
  readonly lower: Float64Array;
}

function choleskyFactor(correlation: Matrix, noise: Float64Array, spreadMHz: number): Factor {
  const size = noise.length;
  const covariance = Matrix.mul(correlation, spreadMHz * spreadMHz);
  for (let i = 0; i < size; i++) covariance.set(i, i, covariance.get(i, i) + noise[i]!);
  const lower = new CholeskyDecomposition(covariance).lowerTriangularMatrix;
  return { size, lower: Float64Array.from(lower.to1DArray()) };
}

function forwardSubstitute({ size, lower }: Factor, vector: Float64Array): void {
  for (let i = 0; i < size; i++) {
    let sum = vector[i]!;
    const row = i * size;
    for (let j = 0; j < i; j++) sum -= lower[row + j]! * vector[j]!;
    vector[i] = sum / lower[row + i]!;
  }
}

function toNatural(form: CurveForm, x: ArrayLike<number>): Float64Array {
  return Float64Array.from(form.parameters, ({ above }, j) =>
    above === undefined ? x[j]! : above + Math.exp(x[j]!),
  );
}

function toFitted(form: CurveForm, p: ArrayLike<number>): Float64Array {
  return Float64Array.from(form.parameters, ({ above }, j) =>
    above === undefined ? p[j]! : Math.log(p[j]! - above),
  );
}

function naturalPerFitted(form: CurveForm, p: ArrayLike<number>): Float64Array {
  return Float64Array.from(form.parameters, ({ above }, j) => (above === undefined ? 1 : p[j]! - above));
}

function dot(a: ArrayLike<number>, b: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

function average(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
