/** aᵀ C b. */
export function bilinearForm(
  a: ArrayLike<number>,
  covariance: readonly (readonly number[])[],
  b: ArrayLike<number>,
): number {
  let sum = 0;
  for (let i = 0; i < covariance.length; i++) {
    const row = covariance[i];
    for (let j = 0; j < row.length; j++) sum += a[i] * row[j] * b[j];
  }
  return sum;
}
