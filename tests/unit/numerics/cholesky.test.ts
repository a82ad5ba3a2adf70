import { describe, expect, it } from 'vitest';
import { choleskyFactor, choleskySolve } from '../../../toolkit/numerics/cholesky.js';

describe('choleskyFactor', () => {
  it('factors and solves a small system exactly', () => {
    // L = [[2, 0], [1, 3]]
    const matrix = Float64Array.of(4, Number.NaN, 2, 10);
    expect(choleskyFactor(matrix, 2)).toBe(true);
    expect([matrix[0], matrix[2], matrix[3]]).toEqual([2, 1, 3]);
    const b = Float64Array.of(8, 22);
    choleskySolve(matrix, 2, b);
    expect(Array.from(b)).toEqual([1, 2]);
  });

  it('refuses a matrix that is not positive definite', () => {
    expect(choleskyFactor(Float64Array.of(1, 2, 2, 1), 2)).toBe(false);
    expect(choleskyFactor(Float64Array.of(1, 1, 1, 1), 2)).toBe(false);
  });
});
