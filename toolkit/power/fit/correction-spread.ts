import { choleskyFactor, choleskySolve } from '../../numerics/cholesky.js';
import { type FormProblem, informationOf } from './form-problem.js';
import type { Linearised } from './form-rows.js';
import { normalMatrix, weightedProduct } from './normal-matrix.js';

/**
 * What is assumed of the correction before the data speak: this standard deviation of ln V², as if learnt from that
 * many earlier processors. Found on simulated processors with piecewise voltage tables; a test with other seeds holds
 * the intervals to it.
 */
export const CORRECTION_SPREAD = 0.03;
export const CORRECTION_DEGREES = 5;

/** Standard deviation of the correction, with the degrees of freedom behind it. */
export interface CorrectionSpread {
  readonly standardDeviation: number;
  readonly degreesOfFreedom: number;
}

/**
 * Posterior of the correction's standard deviation on a grid, with the linearised parameters integrated out; scaled
 * inverse chi-square prior. Returned as the scaled inverse chi-square of the same mean and variance.
 *
 * @param current - standard deviation that `linear` and `x` are scaled with
 */
export function correctionSpread(
  problem: FormProblem,
  current: number,
  x: ArrayLike<number>,
  linear: Linearised,
  noise: Float64Array,
): CorrectionSpread {
  const information = informationOf(problem);
  const count = x.length;
  const first = count - problem.form.correction!.knotsMHz.length;
  const data = normalMatrix(linear.columns, noise);
  // Linearised about the fit without its correction, so that the knots start from zero at every spread.
  const residuals = Float64Array.from(linear.residuals, (residual, i) => {
    let sum = residual;
    for (let j = first; j < count; j++) sum += linear.columns[j][i] * x[j];
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
      right[i] = stretch(i) * projected[i];
      for (let j = 0; j < count; j++) matrix[i * count + j] = stretch(i) * stretch(j) * data[i][j];
      const entry = information[i];
      if (entry === undefined) continue;
      const precision = 1 / entry.standardDeviation ** 2;
      const offset = i < first ? entry.mean - x[i] : 0;
      matrix[i * count + i] = matrix[i * count + i] + precision;
      right[i] = right[i] + precision * offset;
      constant += precision * offset * offset;
    }
    if (!choleskyFactor(matrix, count)) continue;
    let logDeterminant = 0;
    for (let i = 0; i < count; i++) logDeterminant += Math.log(matrix[i * count + i]);
    const step = Float64Array.from(right);
    choleskySolve(matrix, count, step);
    const chiSquare = constant - step.reduce((sum, value, i) => sum + value * right[i], 0);
    variances.push(spread * spread);
    logWeights.push(
      -0.5 * chiSquare - logDeterminant - CORRECTION_DEGREES * (Math.log(ratio) + 0.5 / ratio ** 2),
    );
  }
  const highest = Math.max(...logWeights);
  const weights = logWeights.map((value) => Math.exp(value - highest));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const mean = variances.reduce((sum, variance, i) => sum + (weights[i] / total) * variance, 0);
  const spreadOfMean = variances.reduce(
    (sum, variance, i) => sum + (weights[i] / total) * (variance - mean) ** 2,
    0,
  );
  const degreesOfFreedom = Math.min(200, 4 + (2 * mean * mean) / Math.max(spreadOfMean, 1e-12 * mean * mean));
  return {
    standardDeviation: Math.sqrt((mean * (degreesOfFreedom - 2)) / degreesOfFreedom),
    degreesOfFreedom,
  };
}
