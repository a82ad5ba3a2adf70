import { expect, test } from 'vitest';
import { ArgumentError, NumericalError } from '../../../toolkit/errors.js';
import {
  autocorrelations,
  meanWithAutocorrelation,
  samplesPerIndependentSample,
  slopeWithAutocorrelation,
} from '../../../toolkit/numerics/autocorrelation.js';
import { seededRandom } from '../../../toolkit/numerics/random.js';

const alternating = [1, -1, 1, -1, 1, -1, 1, -1];

test('negative correlation is not credited: the mean is as uncertain as of independent samples', () => {
  expect(samplesPerIndependentSample(alternating)).toBe(1);
  const { standardError, standardDeviation } = meanWithAutocorrelation(alternating);
  expect(standardDeviation).toBeCloseTo(Math.sqrt(8 / 7), 12);
  expect(standardError).toBeCloseTo(Math.sqrt(8 / 7 / 8), 12);
});

test('a slow swing counts as few independent samples, never fewer than two', () => {
  const swing = Array.from({ length: 100 }, (_, i) => Math.cos((Math.PI * i) / 100));
  const mean = meanWithAutocorrelation(swing);
  expect(mean.effectiveSampleCount).toBeLessThan(4);
  expect(mean.effectiveSampleCount).toBeGreaterThanOrEqual(2);
});

test('more fitted parameters hide more of a slow fluctuation', () => {
  const x = Array.from({ length: 200 }, (_, i) => Math.sin(i / 7) + Math.sin(i / 3.1));
  expect(samplesPerIndependentSample(x, { fittedCount: 4 })).toBeGreaterThanOrEqual(
    samplesPerIndependentSample(x),
  );
});

/** Median τ found in the residuals of a polynomial of `count` parameters through a first-order autoregression. */
function medianSpacing(count: number, length: number, phi: number): number {
  const spacings = Array.from({ length: 201 }, (_, seed) => {
    const random = seededRandom(500 + seed);
    let state = random.normal() / Math.sqrt(1 - phi * phi);
    const x = Array.from({ length }, () => {
      const now = state;
      state = phi * state + random.normal();
      return now;
    });
    // Against orthogonal polynomials, by Gram and Schmidt.
    const basis: number[][] = [];
    for (let degree = 0; degree < count; degree += 1) {
      let column = x.map((_, i) => ((2 * i) / (length - 1) - 1) ** degree);
      for (const known of basis) {
        const part = column.reduce((sum, value, i) => sum + value * known[i], 0);
        column = column.map((value, i) => value - part * known[i]);
      }
      const norm = Math.hypot(...column);
      basis.push(column.map((value) => value / norm));
    }
    const residuals = basis.reduce((left, known) => {
      const part = left.reduce((sum, value, i) => sum + value * known[i], 0);
      return left.map((value, i) => value - part * known[i]);
    }, x);
    return samplesPerIndependentSample(residuals, { fittedCount: count });
  }).sort((a, b) => a - b);
  return spacings[100];
}

// An autoregression with φ = 0.8 holds (1 + φ)/(1 − φ) = 9 samples per independent one (closed form, for instance
// Priestley, Spectral Analysis and Time Series, 5.3; from memory).
test.each([
  // Medians of 201 records; without the correction for what is hidden 0.83 of it would be found, and 0.66.
  [1, 0.93],
  [4, 0.85],
])('what %i fitted parameters hide of the correlation of 200 samples is given back', (count, least) => {
  const ratio = medianSpacing(count, 200, 0.8) / 9;
  expect(ratio).toBeGreaterThan(least);
  expect(ratio).toBeLessThan(1.05);
});

test('equal samples tell a mean but not its uncertainty, unless the resolution is known', () => {
  const stuck = meanWithAutocorrelation([61, 61, 61, 61]);
  expect(stuck.mean).toBe(61);
  expect(stuck.standardError).toBeUndefined();
  expect(stuck.estimate).toEqual({ kind: 'unavailable', reason: 'not-identifiable' });
  const rounded = meanWithAutocorrelation([61, 61, 61, 61], { quantum: 1 });
  expect(rounded.standardError).toBeCloseTo(1 / Math.sqrt(12), 12);
  expect(rounded.estimate.kind).toBe('estimated');
});

test('a single sample has a mean and too few points for anything else', () => {
  expect(meanWithAutocorrelation([7])).toMatchObject({
    mean: 7,
    effectiveSampleCount: 1,
    estimate: { kind: 'unavailable', reason: 'too-few-points' },
  });
});

test('the slope of a line is found with its standard error', () => {
  const t = Array.from({ length: 40 }, (_, i) => i);
  const x = t.map((value, i) => 3 + 0.5 * value + (i % 2 === 0 ? 0.1 : -0.1));
  const drift = slopeWithAutocorrelation(t, x);
  expect(drift.slope).toBeCloseTo(0.5, 3);
  expect(drift.chanceWithoutDrift).toBeLessThan(1e-6);
  expect(drift.estimate.kind === 'estimated' && drift.estimate.interval95[0] < drift.slope).toBe(true);
});

test('the standard error of a slope counts the correlated samples as few', () => {
  const t = Array.from({ length: 30 }, (_, i) => i);
  const x = t.map((value) => 3 + 0.5 * value + Math.sin(value / 2));
  const { slope, standardError, samplesPerIndependentSample: spacing } = slopeWithAutocorrelation(t, x);
  expect(spacing).toBeGreaterThan(2);
  // u² = s² τ/Σ(t − t̄)², s² = Σe²/(n − 2 τ), with sums over n = 30 whole seconds: Σ(t − t̄)² = n (n² − 1)/12.
  const mean = x.reduce((sum, value) => sum + value, 0) / 30;
  const squares = x.reduce((sum, value, i) => sum + (value - mean - slope * (i - 14.5)) ** 2, 0);
  const expected = Math.sqrt(((squares / (30 - 2 * spacing)) * spacing) / ((30 * (30 ** 2 - 1)) / 12));
  expect(standardError).toBeCloseTo(expected, 12);
});

test('a perfect line and two points carry no uncertainty of their slope', () => {
  expect(slopeWithAutocorrelation([0, 1, 2, 3], [0, 2, 4, 6]).estimate).toEqual({
    kind: 'unavailable',
    reason: 'not-identifiable',
  });
  expect(slopeWithAutocorrelation([0, 1], [0, 2])).toMatchObject({
    slope: 2,
    estimate: { kind: 'unavailable', reason: 'too-few-points' },
  });
});

test('inputs are not changed', () => {
  const x = Object.freeze([1, 2, 4, 3, 5, 4]);
  meanWithAutocorrelation(x);
  slopeWithAutocorrelation([0, 1, 2, 3, 4, 5], x);
  expect(x).toEqual([1, 2, 4, 3, 5, 4]);
});

test('bad samples, lags and times are refused by name', () => {
  expect(() => meanWithAutocorrelation([])).toThrow(ArgumentError);
  expect(() => meanWithAutocorrelation([])).toThrow(
    /meanWithAutocorrelation: `x` must be at least 1 number long/,
  );
  expect(() => meanWithAutocorrelation([1, Number.NaN])).toThrow(
    /`x\[1\]` must be a finite number .*leave out samples/,
  );
  expect(() => meanWithAutocorrelation([1, 2], { quantum: 0 })).toThrow(
    /`options.quantum` must be .* above 0/,
  );
  expect(() => samplesPerIndependentSample([1, 2], { fittedCount: 0 })).toThrow(
    /`options.fittedCount` must be .* at least 1/,
  );
  expect(() => autocorrelations([1, 2, 3], 3)).toThrow(/`maxLag` must be a whole number from 0 to 2/);
  expect(() => autocorrelations([2, 2, 2], 1)).toThrow(NumericalError);
  expect(() => autocorrelations([2, 2, 2], 1)).toThrow(/all samples are equal.*stuck sensor/);
  expect(() => slopeWithAutocorrelation([1], [1, 2])).toThrow(/`t` must be as long as `x`, 2 \(received 1\)/);
  expect(() => slopeWithAutocorrelation([1, 1], [1, 2])).toThrow(/`t` must be times that are not all equal/);
});
