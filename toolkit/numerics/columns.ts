// Loops over ranges of columns stored as typed arrays. They stand apart from the closures that use them, because the
// engine compiles such plain functions well, and their names make the formulas above them readable.

/** Σ aᵢ bᵢ for begin ≤ i < end; four partial sums keep the processor's pipeline full. */
export function dotProduct(a: Float64Array, b: Float64Array, begin: number, end: number): number {
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  let i = begin;
  for (; i + 3 < end; i += 4) {
    s0 += a[i] * b[i];
    s1 += a[i + 1] * b[i + 1];
    s2 += a[i + 2] * b[i + 2];
    s3 += a[i + 3] * b[i + 3];
  }
  for (; i < end; i++) s0 += a[i] * b[i];
  return s0 + s1 + (s2 + s3);
}

/** out = p a + q b */
export function setSum(
  out: Float64Array,
  p: number,
  a: Float64Array,
  q: number,
  b: Float64Array,
  begin: number,
  end: number,
): void {
  for (let i = begin; i < end; i++) out[i] = p * a[i] + q * b[i];
}

/** out = p a */
export function setScaled(out: Float64Array, p: number, a: Float64Array, begin: number, end: number): void {
  for (let i = begin; i < end; i++) out[i] = p * a[i];
}

/** out += w (p a + q b), element by element in w. */
export function addWeightedSum(
  out: Float64Array,
  w: Float64Array,
  p: number,
  a: Float64Array,
  q: number,
  b: Float64Array,
  begin: number,
  end: number,
): void {
  for (let i = begin; i < end; i++) out[i] += w[i] * (p * a[i] + q * b[i]);
}

/** out += p a */
export function addScaled(out: Float64Array, p: number, a: Float64Array, begin: number, end: number): void {
  for (let i = begin; i < end; i++) out[i] += p * a[i];
}

/** out += p a b, element by element. */
export function addProduct(
  out: Float64Array,
  p: number,
  a: Float64Array,
  b: Float64Array,
  begin: number,
  end: number,
): void {
  for (let i = begin; i < end; i++) out[i] += p * a[i] * b[i];
}

/** out = p a b, element by element. */
export function setProduct(
  out: Float64Array,
  p: number,
  a: Float64Array,
  b: Float64Array,
  begin: number,
  end: number,
): void {
  for (let i = begin; i < end; i++) out[i] = p * a[i] * b[i];
}
