import fc from 'fast-check';
import { expect, test } from 'vitest';
import { orderStatistic } from '../../../toolkit/numerics/order-statistic.js';

test('the value at every place is that of the sorted values, ties included', () => {
  fc.assert(
    fc.property(fc.array(fc.integer({ min: -9, max: 9 }), { minLength: 1, maxLength: 60 }), (values) => {
      const sorted = [...values].sort((a, b) => a - b);
      for (let rank = 0; rank < values.length; rank++)
        expect(orderStatistic(Float64Array.from(values), rank)).toBe(sorted[rank]);
    }),
    { seed: 11 },
  );
});

test('after one place is found, a further one needs only its own part of the values', () => {
  const values = Float64Array.from({ length: 1000 }, (_, i) => (i * 379) % 1000);
  expect(orderStatistic(values, 900)).toBe(900);
  expect(orderStatistic(values, 25, 0, 900)).toBe(25);
  expect(orderStatistic(values, 975, 900)).toBe(975);
});
