import { expect, test } from 'vitest';
import { limitCap, limitRank } from '../../../../toolkit/cap/draws/limit-cap.js';
import { seededRandom } from '../../../../toolkit/numerics/random.js';

/** The same place by sorting. */
const bySorting = (values: Float64Array, confidence: number): number =>
  values.toSorted()[limitRank(values.length, confidence)]!;

test.each([
  ['few', 300],
  ['the default number of', 4096],
  ['many', 10_007],
])('the largest cap among %s draws is the value that sorting puts at its rank', (_, count) => {
  const { uniform } = seededRandom(4711 + count);
  const spread = Float64Array.from({ length: count }, () => 80 + 20 * uniform());
  const inOrder = spread.toSorted();
  const backwards = inOrder.toReversed();
  const alike = new Float64Array(count).fill(77);
  const withoutLimit = spread.map((value, i) => (i % 2 === 0 ? value : Number.POSITIVE_INFINITY));
  // A sample of every so many-th draw sees none of the low ones: the rank lies below all that it shows.
  const hidden = spread.map((value, i) => (i % Math.floor(count / 256) === 1 ? value - 60 : value));
  for (const values of [spread, inOrder, backwards, alike, withoutLimit, hidden])
    for (const confidence of [0.5, 0.9, 0.95, 0.99]) {
      const before = values.slice();
      expect(limitCap(values, confidence)).toBe(bySorting(values, confidence));
      expect(values).toEqual(before);
    }
});
