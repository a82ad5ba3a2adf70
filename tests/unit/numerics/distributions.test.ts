import { expect, test } from 'vitest';
import {
  chiSquareCdf,
  chiSquareQuantile,
  fisherFCdf,
  fisherFQuantile,
  normalCdf,
  normalQuantile,
  studentTCdf,
  studentTQuantile,
} from '../../../toolkit/numerics/distributions.js';

test('lower tails keep their relative precision', () => {
  // Φ(−10) = 7.619853024160527e-24 (recomputed with mpmath).
  expect(normalCdf(-10) / 7.619853024160527e-24).toBeCloseTo(1, 12);
  expect(normalQuantile(7.619853024160527e-24)).toBeCloseTo(-10, 12);
  // Student’s t with one degree of freedom is Cauchy’s: P(T < −t) = arctan(1/t)/π.
  expect((studentTCdf(-1e8, 1) * Math.PI) / 1e-8).toBeCloseTo(1, 12);
});

test('the distributions agree where they meet', () => {
  expect(studentTQuantile(0.975, Number.POSITIVE_INFINITY)).toBe(normalQuantile(0.975));
  expect(studentTQuantile(0.975, 1e9)).toBeCloseTo(normalQuantile(0.975), 8);
  expect(chiSquareQuantile(0.95, 1)).toBeCloseTo(normalQuantile(0.975) ** 2, 11);
  expect(fisherFQuantile(0.95, 1, 7.5)).toBeCloseTo(studentTQuantile(0.975, 7.5) ** 2, 10);
  // Two degrees of freedom: the exponential distribution.
  expect(chiSquareCdf(3, 2)).toBeCloseTo(1 - Math.exp(-1.5), 14);
});

test('limits', () => {
  expect([normalCdf(Number.NEGATIVE_INFINITY), normalCdf(Number.POSITIVE_INFINITY)]).toEqual([0, 1]);
  expect([studentTCdf(Number.NEGATIVE_INFINITY, 3), studentTCdf(Number.POSITIVE_INFINITY, 3)]).toEqual([
    0, 1,
  ]);
  expect([chiSquareCdf(-1, 3), chiSquareCdf(Number.POSITIVE_INFINITY, 3)]).toEqual([0, 1]);
  expect([fisherFCdf(-1, 3, 4), fisherFCdf(Number.POSITIVE_INFINITY, 3, 4)]).toEqual([0, 1]);
  expect(studentTQuantile(0.5, 4)).toBe(0);
});

test.each([0, 1, -0.1, 1.1, Number.NaN])('a probability of %d is refused by every quantile', (p) => {
  const message = /`p` must be a finite number above 0 and below 1 .*give a probability as a fraction/;
  expect(() => normalQuantile(p)).toThrow(message);
  expect(() => studentTQuantile(p, 3)).toThrow(message);
  expect(() => chiSquareQuantile(p, 3)).toThrow(message);
  expect(() => fisherFQuantile(p, 3, 3)).toThrow(message);
});

test('degrees of freedom that are not positive are refused', () => {
  expect(() => studentTQuantile(0.9, 0)).toThrow(/studentTQuantile: `degreesOfFreedom` must be .* above 0/);
  expect(() => chiSquareCdf(1, -1)).toThrow(/chiSquareCdf: `degreesOfFreedom` must be .* above 0/);
  expect(() => fisherFCdf(1, 0, 1)).toThrow(/`numeratorDegreesOfFreedom` must be .* above 0/);
  expect(() => fisherFCdf(1, 1, 0)).toThrow(/`denominatorDegreesOfFreedom` must be .* above 0/);
});

test('a variate that is not a number is refused by name', () => {
  expect(() => studentTCdf(Number.NaN, 3)).toThrow(/studentTCdf: `t` must be a number \(received NaN\)/);
  expect(() => normalCdf(Number.NaN)).toThrow(/normalCdf: `x` must be a number \(received NaN\)/);
});
