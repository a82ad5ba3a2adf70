import { describe, expect, it } from 'vitest';
import {
  addProduct,
  addScaled,
  addWeightedSum,
  dotProduct,
  setProduct,
  setScaled,
  setSum,
} from '../../../toolkit/numerics/columns.js';

const a = Float64Array.of(1, 2, 3, 4, 5, 6, 7);
const b = Float64Array.of(2, 1, 0, -1, 3, 1, 2);
const w = Float64Array.of(1, 1, 2, 2, 1, 0, 1);
const fresh = (): Float64Array => new Float64Array(7).fill(10);

describe('columns', () => {
  it('multiplies ranges of any length', () => {
    for (let end = 1; end <= 7; end++) {
      let expected = 0;
      for (let i = 1; i < end; i++) expected += a[i] * b[i];
      expect(dotProduct(a, b, 1, end)).toBe(expected);
    }
  });

  it.each([
    ['setSum', (out: Float64Array) => setSum(out, 2, a, 3, b, 1, 6), (i: number) => 2 * a[i] + 3 * b[i]],
    ['setScaled', (out: Float64Array) => setScaled(out, 2, a, 1, 6), (i: number) => 2 * a[i]],
    ['setProduct', (out: Float64Array) => setProduct(out, 2, a, b, 1, 6), (i: number) => 2 * a[i] * b[i]],
    [
      'addProduct',
      (out: Float64Array) => addProduct(out, 2, a, b, 1, 6),
      (i: number) => 10 + 2 * a[i] * b[i],
    ],
    ['addScaled', (out: Float64Array) => addScaled(out, 2, a, 1, 6), (i: number) => 10 + 2 * a[i]],
    [
      'addWeightedSum',
      (out: Float64Array) => addWeightedSum(out, w, 2, a, 3, b, 1, 6),
      (i: number) => 10 + w[i] * (2 * a[i] + 3 * b[i]),
    ],
  ])('%s touches its range and nothing else', (_, apply, expected) => {
    const out = fresh();
    apply(out);
    expect(Array.from(out)).toEqual(Array.from(out, (_, i) => (i >= 1 && i < 6 ? expected(i) : 10)));
  });
});
