import { expect, test } from 'vitest';
import { checkIntervals } from '../../../toolkit/numerics/interval-check.js';

test('bias, spread and coverage of four estimates by hand', () => {
  const of = (value: number, standardError: number) => ({ value, standardError, coverageFactor: 2 });
  const check = checkIntervals(10, 1.5, [of(9, 1), of(11, 1), of(13, 1), of(11, 0.1)]);
  // Mean 11; squares 4, 0, 4, 0; the third and fourth intervals miss 10.
  expect(check).toMatchObject({ truth: 10, claimedStandardError: 1.5, coverageFraction: 0.5 });
  expect(check.spread).toBeCloseTo(Math.sqrt(8 / 3), 12);
  expect(check.meanStandardError).toBeCloseTo(Math.sqrt(3.01 / 4), 12);
  expect(check.bias).toMatchObject({ kind: 'estimated', value: 1 });
  // Student's t for 3 degrees of freedom: 3.1824 (standard table).
  if (check.bias.kind !== 'estimated') throw new Error('a bias is estimated');
  expect(check.bias.interval95[1] - 1).toBeCloseTo((3.182446 * Math.sqrt(8 / 3)) / 2, 5);
});
