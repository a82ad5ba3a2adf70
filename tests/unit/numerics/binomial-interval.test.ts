import { expect, test } from 'vitest';
import { binomialInterval95 } from '../../../toolkit/numerics/binomial-interval.js';

/** Σ binomial probabilities of at most `hits` of `count`. */
function atMost(hits: number, count: number, share: number): number {
  let sum = 0;
  let term = (1 - share) ** count;
  for (let k = 0; k <= hits; k++) {
    sum += term;
    term *= ((count - k) / (k + 1)) * (share / (1 - share));
  }
  return sum;
}

test.each([
  [1, 10],
  [10, 20],
  [150, 200],
])('the limits leave a fortieth of the binomial distribution on either side: %d of %d', (hits, count) => {
  // The definition of the exact interval, with sums in place of quantiles.
  const [low, high] = binomialInterval95(hits, count);
  expect(1 - atMost(hits - 1, count, low)).toBeCloseTo(0.025, 9);
  expect(atMost(hits, count, high)).toBeCloseTo(0.025, 9);
});

test('none and all have one limit each, with a closed form', () => {
  const limit = 1 - 0.025 ** (1 / 10);
  expect(binomialInterval95(0, 10)).toEqual([0, expect.closeTo(limit, 12)]);
  expect(binomialInterval95(10, 10)).toEqual([expect.closeTo(1 - limit, 12), 1]);
});
