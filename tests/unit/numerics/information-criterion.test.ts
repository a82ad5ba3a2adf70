import { expect, test } from 'vitest';
import { aicc, akaikeWeights } from '../../../toolkit/numerics/information-criterion.js';

test('too few points for the parameters give no criterion instead of an infinite one', () => {
  expect(aicc({ sumOfSquares: 1, sampleCount: 5, parameterCount: 3 })).toBeUndefined();
  expect(aicc({ sumOfSquares: 1, sampleCount: 5.01, parameterCount: 3 })).toBeGreaterThan(100);
});

test('the unit of the residuals shifts all criteria alike', () => {
  const difference = (factor: number): number =>
    (aicc({ sumOfSquares: 3 * factor, sampleCount: 20, parameterCount: 2 }) ?? Number.NaN) -
    (aicc({ sumOfSquares: 2 * factor, sampleCount: 20, parameterCount: 4 }) ?? Number.NaN);
  expect(difference(1e6)).toBeCloseTo(difference(1), 10);
});

test('weights sum to 1, and a model without a criterion has none', () => {
  const weights = akaikeWeights([-1000, undefined, -998, -2]);
  expect(weights.reduce((a, b) => a + b)).toBeCloseTo(1, 14);
  expect(weights[1]).toBe(0);
  expect(weights[2] / weights[0]).toBeCloseTo(Math.exp(-1), 14);
});

test('what cannot be ranked is refused with a remedy', () => {
  expect(() => aicc({ sumOfSquares: 0, sampleCount: 9, parameterCount: 1 })).toThrow(
    /`sumOfSquares` must be a finite number above 0 .*cannot be ranked by its residuals/,
  );
  expect(() => aicc({ sumOfSquares: 1, sampleCount: 0, parameterCount: 1 })).toThrow(
    /`sampleCount` must be .* above 0/,
  );
  expect(() => aicc({ sumOfSquares: 1, sampleCount: 9, parameterCount: -1 })).toThrow(
    /`parameterCount` must be .* at least 0/,
  );
  expect(() => akaikeWeights([undefined])).toThrow(
    /`criteria` must be a list with at least one number.*too few points/,
  );
});
