import { expect, test } from 'vitest';
import { nonnegativeLeastSquares } from '../../../../toolkit/numerics/least-squares/nonnegative-least-squares.js';

function solve(rows: readonly (readonly number[])[], b: readonly number[]): number[] {
  const n = rows[0].length;
  const gram = Array.from({ length: n * n }, (_, at) =>
    rows.reduce((sum, row) => sum + row[Math.floor(at / n)] * row[at % n], 0),
  );
  const products = Array.from({ length: n }, (_, j) => rows.reduce((sum, row, i) => sum + row[j] * b[i], 0));
  const out = new Float64Array(n);
  nonnegativeLeastSquares(gram, products, out);
  return Array.from(out);
}

test('where the unconstrained solution is positive it is the answer', () => {
  const x = solve(
    [
      [1, 0],
      [1, 1],
      [1, 2],
    ],
    [1, 3, 5],
  );
  expect(x[0]).toBeCloseTo(1, 12);
  expect(x[1]).toBeCloseTo(2, 12);
});

test('a parameter that would be negative is 0 and the others are solved again', () => {
  // SciPy’s nnls documentation: A = [[1, 0], [1, 0], [0, 1]], b = [2, 1, 1] → [1.5, 1]; b = [-1, -1, -1] → [0, 0].
  const rows = [
    [1, 0],
    [1, 0],
    [0, 1],
  ];
  const x = solve(rows, [2, 1, 1]);
  expect(x[0]).toBeCloseTo(1.5, 14);
  expect(x[1]).toBeCloseTo(1, 14);
  expect(solve(rows, [-1, -1, -1])).toEqual([0, 0]);
});

test('a repeated column and a column of zeros leave a solution as good as without them', () => {
  const x = solve(
    [
      [1, 1, 0],
      [2, 2, 0],
      [3, 3, 0],
    ],
    [2, 4, 6],
  );
  expect(x[0] + x[1]).toBeCloseTo(2, 12);
  expect(x[2]).toBe(0);
});

test('sizes that do not agree are refused', () => {
  expect(() => nonnegativeLeastSquares([1], [1, 1], new Float64Array(2))).toThrow(
    /`gram` must be the square of the length/,
  );
  expect(() => nonnegativeLeastSquares([1], [1], new Float64Array(2))).toThrow(
    /`out` must be as long as `products`, 1/,
  );
  expect(() => nonnegativeLeastSquares([], new Float64Array(17), new Float64Array(17))).toThrow(
    /`products` must be at most 16 numbers long \(received 17\)/,
  );
});
