import { inverse, Matrix } from 'ml-matrix';
import { NumericalError } from '../../errors.js';
import type { WeakInformation } from './form-problem.js';

/** Σ aᵢ·bᵢ/varianceᵢ over the first `count` rows, all of them by default. */
export function weightedProduct(
  a: ArrayLike<number>,
  b: ArrayLike<number>,
  variances: ArrayLike<number>,
  count: number = variances.length,
): number {
  let sum = 0;
  for (let i = 0; i < count; i++) sum += (a[i] * b[i]) / variances[i];
  return sum;
}

/** XᵀV⁻¹X over the first `count` rows. */
export function normalMatrix(
  columns: readonly Float64Array[],
  variances: Float64Array,
  count?: number,
): number[][] {
  return columns.map((a) => columns.map((b) => weightedProduct(a, b, variances, count)));
}

/**
 * Covariance on the fitted scale, and how many parameters the frequencies determine: what weak information and voltages
 * carry counts as known.
 *
 * @param frequencyRowCount - rows of frequency, which come first
 */
export function posterior(
  columns: readonly Float64Array[],
  variances: Float64Array,
  information: readonly (WeakInformation | undefined)[],
  frequencyRowCount: number,
): { readonly covariance: readonly (readonly number[])[]; readonly effectiveParameterCount: number } {
  const count = columns.length;
  const data = normalMatrix(columns, variances);
  const ofFrequencies =
    frequencyRowCount === variances.length ? data : normalMatrix(columns, variances, frequencyRowCount);
  const total = data.map((row, i) =>
    row.map((value, j) => {
      const entry = i === j ? information[i] : undefined;
      return entry === undefined ? value : value + 1 / entry.standardDeviation ** 2;
    }),
  );
  // Scaled to a unit diagonal, so that the inverse does not depend on units.
  const unit = total.map((row, i) => 1 / Math.sqrt(row[i]));
  const scaled = new Matrix(total.map((row, i) => row.map((value, j) => value * unit[i] * unit[j])));
  const inverted = unit.every(Number.isFinite) ? inverse(scaled) : undefined;
  if (inverted === undefined || !inverted.to1DArray().every(Number.isFinite)) {
    throw new NumericalError(
      'power curve: the points do not determine the parameters of this form; log runs at further power caps',
    );
  }
  const covariance = Array.from({ length: count }, (_, i) =>
    Array.from(
      { length: count },
      (_, j) => 0.5 * (inverted.get(i, j) + inverted.get(j, i)) * unit[i] * unit[j],
    ),
  );
  let effectiveParameterCount = 0;
  for (let i = 0; i < count; i++)
    for (let j = 0; j < count; j++) effectiveParameterCount += covariance[i][j] * ofFrequencies[j][i];
  return { covariance, effectiveParameterCount };
}
