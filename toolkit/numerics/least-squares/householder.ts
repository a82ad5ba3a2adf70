/**
 * Householder triangularisation on flat arrays, in place: the inner loop of the least-squares core, which must
 * not allocate.
 *
 * Columns lie one after another, `stride` numbers apart.
 */

/**
 * Reduces the first `columnCount` columns to upper triangular form and applies the same rotations to the columns
 * behind them, up to `totalColumnCount`: right-hand sides.
 *
 * R stands above the diagonal in place and its diagonal in `diagonal`; below and on the diagonal of the reduced
 * columns the reflection vectors remain. Columns beyond the number of rows get a zero diagonal.
 */
export function reduceToTriangle(
  a: Float64Array,
  rowCount: number,
  stride: number,
  columnCount: number,
  totalColumnCount: number,
  diagonal: Float64Array,
): void {
  for (let j = 0; j < columnCount; j += 1) {
    const column = j * stride;
    let square = 0;
    for (let i = j; i < rowCount; i += 1) square += a[column + i] * a[column + i];
    if (square === 0) {
      diagonal[j] = 0;
      continue;
    }
    const head = a[column + j];
    const alpha = head > 0 ? -Math.sqrt(square) : Math.sqrt(square);
    diagonal[j] = alpha;
    a[column + j] = head - alpha;
    const beta = 1 / (alpha * (alpha - head));
    for (let k = j + 1; k < totalColumnCount; k += 1) {
      const other = k * stride;
      let dot = 0;
      for (let i = j; i < rowCount; i += 1) dot += a[column + i] * a[other + i];
      dot *= beta;
      for (let i = j; i < rowCount; i += 1) a[other + i] -= dot * a[column + i];
    }
  }
}

/** Solves R x = b for a triangle left by `reduceToTriangle`; `b` and `x` may be one array. */
export function solveUpper(
  a: Float64Array,
  stride: number,
  count: number,
  diagonal: Float64Array,
  b: Float64Array,
  x: Float64Array,
): void {
  for (let i = count - 1; i >= 0; i -= 1) {
    let sum = b[i];
    for (let k = i + 1; k < count; k += 1) sum -= a[k * stride + i] * x[k];
    x[i] = sum / diagonal[i];
  }
}

/** Solves Rᵀ x = b for a triangle left by `reduceToTriangle`; `b` and `x` may be one array. */
export function solveUpperTransposed(
  a: Float64Array,
  stride: number,
  count: number,
  diagonal: Float64Array,
  b: Float64Array,
  x: Float64Array,
): void {
  for (let i = 0; i < count; i += 1) {
    let sum = b[i];
    for (let k = 0; k < i; k += 1) sum -= a[i * stride + k] * x[k];
    x[i] = sum / diagonal[i];
  }
}
