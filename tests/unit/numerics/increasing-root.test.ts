import { describe, expect, test } from 'vitest';
import { increasingRoot } from '../../../toolkit/numerics/increasing-root.js';

describe('increasingRoot', () => {
  test.each([
    ['a straight line', (x: number) => 3 * x - 1, 0, 1, 1 / 3],
    ['a saturating exponential', (x: number) => 1 - Math.exp(-x) - 0.999, 0, 1000, Math.log(1000)],
    ['a steep power', (x: number) => x ** 9 - 1e-9, 0, 10, 0.1],
    ['a cube root, vertical at its root', (x: number) => Math.cbrt(x - 0.7), 0, 1, 0.7],
  ])('finds the root of %s to 1e-9 of the interval', (_, f, low, high, root) => {
    expect(Math.abs(increasingRoot(f, low, high) - root)).toBeLessThan(1e-9 * (high - low));
  });

  test('takes few evaluations where the function is smooth', () => {
    let count = 0;
    increasingRoot(
      (x) => {
        count++;
        return 1 - Math.exp(-x) - 0.5;
      },
      0,
      2,
    );
    expect(count).toBeLessThan(12);
  });

  test('gives the bound that is the root already', () => {
    expect(increasingRoot((x) => x, 0, 1)).toBe(0);
    expect(increasingRoot((x) => x - 1, 0, 1)).toBe(1);
  });
});
