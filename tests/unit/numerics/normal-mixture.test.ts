import { describe, expect, test } from 'vitest';
import { normalQuantile } from '../../../toolkit/numerics/distributions.js';
import { momentsOfMixture, quantileOfMixture } from '../../../toolkit/numerics/normal-mixture.js';

describe('a mixture of normal distributions', () => {
  test('of one part is that part', () => {
    const mixture = [{ weight: 1, mean: 62, standardDeviation: 0.4 }];
    expect(momentsOfMixture(mixture)).toEqual({ mean: 62, standardDeviation: 0.4 });
    expect(quantileOfMixture(mixture, 0.975)).toBeCloseTo(62 + 0.4 * normalQuantile(0.975), 7);
  });

  test('of two equal parts far apart has its median between them and half of each tail', () => {
    const mixture = [
      { weight: 0.5, mean: 0, standardDeviation: 1 },
      { weight: 0.5, mean: 100, standardDeviation: 1 },
    ];
    expect(momentsOfMixture(mixture)).toMatchObject({ mean: 50, standardDeviation: Math.sqrt(1 + 2500) });
    expect(quantileOfMixture(mixture, 0.025)).toBeCloseTo(normalQuantile(0.05), 6);
    expect(quantileOfMixture(mixture, 0.975)).toBeCloseTo(100 + normalQuantile(0.95), 6);
  });
});
