import { Matrix, SingularValueDecomposition } from 'ml-matrix';
import { reduceToTriangle } from './householder.js';

/**
 * (JᵀJ)⁻¹ over the parameters that the data determine.
 *
 * Columns are brought to unit length first, so that the rank does not depend on the units. Where the triangle is
 * nearly singular, the singular vectors of its small values name the parameters that are not determined; the
 * others keep their variance.
 */
export function unscaledCovariance(
  jacobian: Float64Array,
  m: number,
  n: number,
  varying: readonly number[],
  exactDerivatives: boolean,
): { readonly rows: readonly (readonly number[])[]; readonly order: readonly number[] } {
  const count = varying.length;
  if (count === 0) return { rows: [], order: [] };
  const a = new Float64Array(m * count);
  const norms = varying.map((j, k) => {
    let square = 0;
    for (let i = 0; i < m; i += 1) square += jacobian[i * n + j] ** 2;
    const norm = Math.sqrt(square);
    if (norm > 0 && Number.isFinite(norm))
      for (let i = 0; i < m; i += 1) a[k * m + i] = jacobian[i * n + j] / norm;
    return norm;
  });
  const diagonal = new Float64Array(count);
  reduceToTriangle(a, m, m, count, count, diagonal);
  const r = (i: number, k: number): number =>
    i === k ? (i < m ? diagonal[k] : 0) : i < k && i < m ? a[k * m + i] : 0;

  // Below this fraction of the largest a singular value is rounding, of the derivatives if they are differences.
  const smallest = exactDerivatives ? Math.max(m, count) * Number.EPSILON : 1e-10;
  const inverse = inverseOfUpper(r, count);
  let square = 0;
  for (const value of inverse) square += value * value;
  // Frobenius norms bound the condition from above: √count for the unit columns, √square for the inverse.
  if (Math.sqrt(square * count) * smallest < 1) {
    const rows = varying.map((_, i) =>
      varying.map((__, k) => {
        let sum = 0;
        for (let l = Math.max(i, k); l < count; l += 1)
          sum += inverse[i * count + l] * inverse[k * count + l];
        return sum / norms[i] / norms[k];
      }),
    );
    return { rows, order: varying };
  }

  const decomposition = new SingularValueDecomposition(
    new Matrix(varying.map((_, i) => varying.map((__, k) => r(i, k)))),
  );
  const values = decomposition.diagonal;
  const vectors = decomposition.rightSingularVectors;
  const determined: number[] = [];
  for (let i = 0; i < count; i += 1) {
    let undetermined = norms[i] > 0 ? 0 : 1;
    for (let l = 0; l < count; l += 1)
      if (!(values[l] > smallest * values[0])) undetermined += vectors.get(i, l) ** 2;
    if (undetermined < 1e-6) determined.push(i);
  }
  const rows = determined.map((i) =>
    determined.map((k) => {
      let sum = 0;
      for (let l = 0; l < count; l += 1)
        if (values[l] > smallest * values[0]) sum += (vectors.get(i, l) * vectors.get(k, l)) / values[l] ** 2;
      return sum / norms[i] / norms[k];
    }),
  );
  return { rows, order: determined.map((i) => varying[i]) };
}

/** Inverse of an upper triangle, row-major; infinite entries where it is singular. */
function inverseOfUpper(r: (i: number, k: number) => number, count: number): Float64Array {
  const inverse = new Float64Array(count * count);
  for (let k = 0; k < count; k += 1) {
    inverse[k * count + k] = 1 / r(k, k);
    for (let i = k - 1; i >= 0; i -= 1) {
      let sum = 0;
      for (let l = i + 1; l <= k; l += 1) sum += r(i, l) * inverse[l * count + k];
      inverse[i * count + k] = -sum / r(i, i);
    }
  }
  return inverse;
}
