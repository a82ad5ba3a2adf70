/**
 * Cholesky factor of a small symmetric matrix, in place: the lower triangle of the row-major n × n `matrix` is
 * replaced by L with L Lᵀ = matrix. Only the lower triangle is read, so rounding in the upper one does no harm.
 *
 * Written here because the fits call it in their inner loop on matrices of a few rows, where allocating would cost
 * more than the arithmetic.
 *
 * @returns false where the matrix is not positive definite within rounding
 */
export function choleskyFactor(matrix: Float64Array, n: number): boolean {
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i * n + j];
      for (let k = 0; k < j; k++) sum -= matrix[i * n + k] * matrix[j * n + k];
      if (i === j) {
        if (!(sum > 1e-14 * Math.abs(matrix[i * n + i]))) return false;
        matrix[i * n + i] = Math.sqrt(sum);
      } else {
        matrix[i * n + j] = sum / matrix[j * n + j];
      }
    }
  }
  return true;
}

/** Solves L Lᵀ x = b in place, with the factor from `choleskyFactor`. */
export function choleskySolve(factor: Float64Array, n: number, b: Float64Array): void {
  for (let i = 0; i < n; i++) {
    let sum = b[i];
    for (let k = 0; k < i; k++) sum -= factor[i * n + k] * b[k];
    b[i] = sum / factor[i * n + i];
  }
  for (let i = n - 1; i >= 0; i--) {
    let sum = b[i];
    for (let k = i + 1; k < n; k++) sum -= factor[k * n + i] * b[k];
    b[i] = sum / factor[i * n + i];
  }
}
