import { expect, test } from 'vitest';
import { ArgumentError, NumericalError } from '../../../toolkit/errors.js';
import { propagateDistributions } from '../../../toolkit/numerics/monte-carlo.js';
import { propagate } from '../../../toolkit/numerics/propagation.js';

test('a product propagates by relative uncertainties', () => {
  const { value, standardError, sensitivities } = propagate(
    ([a, b]) => a * b,
    [3, 5],
    [
      [0.09, 0],
      [0, 0.25],
    ],
  );
  expect(value).toBe(15);
  expect(standardError).toBeCloseTo(15 * Math.hypot(0.1, 0.1), 12);
  expect(sensitivities[0]).toBeCloseTo(5, 12);
  expect(sensitivities[1]).toBeCloseTo(3, 12);
});

test('the difference of fully correlated quantities has no uncertainty', () => {
  const all = [
    [0.01, 0.01],
    [0.01, 0.01],
  ];
  expect(propagate(([a, b]) => a - b, [3, 3], all).standardError).toBe(0);
});

test('an exactly known quantity costs no evaluation', () => {
  let calls = 0;
  propagate(
    ([a, b]) => {
      calls += 1;
      return a + b;
    },
    [1, 2],
    [
      [0, 0],
      [0, 1],
    ],
  );
  expect(calls).toBe(3);
});

test('sizes, variances and domains are checked', () => {
  expect(() => propagate(([a]) => a, [1], [[1, 2]])).toThrow(ArgumentError);
  expect(() => propagate(([a]) => a, [1], [[1, 2]])).toThrow(/`covariance` must be 1 rows of 1 numbers/);
  expect(() => propagate(([a]) => a, [1], [[-1]])).toThrow(
    /`covariance\[0\]\[0\]` must be a finite number at least 0/,
  );
  expect(() => propagate(([a]) => Math.sqrt(a), [1], [[4]])).toThrow(NumericalError);
  expect(() => propagate(([a]) => Math.sqrt(a), [1], [[4]])).toThrow(/the function is NaN at \(-1\)/);
});

test('the same seed gives the same distribution, and its intervals hold 95 % of the draws', () => {
  const options = { trialCount: 5000, seed: 8 };
  const a = propagateDistributions((random) => Math.exp(random.normal()), options);
  expect(a).toEqual(propagateDistributions((random) => Math.exp(random.normal()), options));
  for (const [low, high] of [a.interval95, a.shortestInterval95]) {
    const held = a.sorted.filter((x) => x >= low && x <= high).length / 5000;
    expect(held).toBeGreaterThanOrEqual(0.95);
    expect(held).toBeLessThan(0.951);
  }
  // A skewed distribution: the shortest interval starts lower than the symmetric one.
  expect(a.shortestInterval95[0]).toBeLessThan(a.interval95[0]);
});

test('too few draws and results that are not finite are refused', () => {
  expect(() => propagateDistributions(() => 1, { trialCount: 10, seed: 1 })).toThrow(
    /`options.trialCount` must be a whole number of at least 100/,
  );
  expect(() => propagateDistributions(() => Number.NaN, { trialCount: 100, seed: 1 })).toThrow(
    /draw 0 gave NaN/,
  );
});
