import { describe, expect, test } from 'vitest';
import { autocorrelations } from '../../../toolkit/numerics/autocorrelation.js';
import {
  drawAutoregression,
  fitAutoregression,
  highestOrder,
} from '../../../toolkit/numerics/autoregression.js';
import { seededRandom } from '../../../toolkit/numerics/random.js';

/** Autocovariances of x_i = a x_{i−1} + b x_{i−2} + e, variance of e 1, in closed form. */
function secondOrder(a: number, b: number, count: number): number[] {
  const variance = (1 - b) / ((1 + b) * ((1 - b) ** 2 - a * a));
  const covariances = [variance, (a / (1 - b)) * variance];
  while (covariances.length < count) {
    covariances.push(a * covariances[covariances.length - 1] + b * covariances[covariances.length - 2]);
  }
  return covariances;
}

describe('an autoregression', () => {
  test('is found from its own autocovariances, order and coefficients', () => {
    const { predictors, innovationDeviations } = fitAutoregression(secondOrder(0.6, 0.3, 20), 1000);
    expect(predictors).toHaveLength(3);
    expect(Array.from(predictors[2])).toEqual([expect.closeTo(0.6, 12), expect.closeTo(0.3, 12)]);
    expect(innovationDeviations[2]).toBeCloseTo(1, 12);
    // From one sample before: ρ₁, leaving σ²(1 − ρ₁²).
    const [variance, next] = secondOrder(0.6, 0.3, 2);
    expect(predictors[1][0]).toBeCloseTo(next / variance, 12);
    expect(innovationDeviations[1] ** 2).toBeCloseTo(variance * (1 - (next / variance) ** 2), 12);
  });

  test('of uncorrelated samples has order 0', () => {
    expect(fitAutoregression([4, 0, 0, 0], 100)).toEqual({
      predictors: [new Float64Array(0)],
      innovationDeviations: [2],
    });
  });

  test('ends where the covariances leave nothing open', () => {
    // A pure cosine is predicted exactly from two samples.
    const { predictors } = fitAutoregression(
      Array.from({ length: 10 }, (_, lag) => Math.cos(lag)),
      1000,
    );
    expect(predictors.length).toBeLessThanOrEqual(2);
  });

  test('looks back over a quarter of a short record and 60 samples of a long one', () => {
    expect([3, 100, 100_000].map(highestOrder)).toEqual([0, 25, 60]);
  });

  test('is drawn stationary from its first sample on', () => {
    const covariances = secondOrder(0.6, 0.3, 20);
    const process = fitAutoregression(covariances, 1000);
    const random = seededRandom(1);
    const into = new Float64Array(6);
    const products = new Float64Array(into.length);
    const repeats = 20_000;
    for (let r = 0; r < repeats; r++) {
      drawAutoregression(process, random, into);
      for (let i = 0; i < into.length; i++) products[i] += into[i] ** 2 / repeats;
    }
    // Relative standard error of a variance from 20 000 draws: 1 %; four of them.
    for (const variance of products) expect(Math.abs(variance / covariances[0] - 1)).toBeLessThan(0.04);
  });

  test('has the autocorrelations it was made with', () => {
    const covariances = secondOrder(0.6, 0.3, 20);
    const into = new Float64Array(200_000);
    drawAutoregression(fitAutoregression(covariances, 1000), seededRandom(2), into);
    const found = autocorrelations(into, 10);
    // About 0.004 of standard error with some 17 samples per independent one.
    for (let lag = 1; lag <= 10; lag++) {
      expect(Math.abs(found[lag] - covariances[lag] / covariances[0])).toBeLessThan(0.02);
    }
  });
});
