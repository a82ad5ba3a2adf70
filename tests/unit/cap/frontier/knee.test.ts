import { describe, expect, it } from 'vitest';
import { kneeOf } from '../../../../toolkit/cap/frontier/knee.js';

const grid = (count: number, high = 1) => Array.from({ length: count }, (_, i) => (high * i) / (count - 1));

describe('kneeOf', () => {
  it('finds the knee of √x at a quarter of the range, a quarter above the chord (closed form: d(√x − x)/dx = 0)', () => {
    const x = grid(401);
    const knee = kneeOf(x, x.map(Math.sqrt))!;
    expect(x[knee.index]).toBeCloseTo(0.25, 12);
    expect(knee.heightFraction).toBeCloseTo(0.25, 12);
    // √x − x = 0.9 · 0.25 at √x = (1 ± √0.1)/2.
    const ends = [((1 - Math.sqrt(0.1)) / 2) ** 2, ((1 + Math.sqrt(0.1)) / 2) ** 2];
    knee.flatIndices.forEach((index, side) => {
      expect(Math.abs(x[index] - ends[side])).toBeLessThan(1 / 400);
    });
  });

  it('finds the knee of −1/(x + 0.1) + 5 at 0.22 (Satopää and others 2011, Fig. 2; value from memory)', () => {
    const x = grid(10);
    expect(
      x[
        kneeOf(
          x,
          x.map((at) => -1 / (at + 0.1) + 5),
        )!.index
      ],
    ).toBeCloseTo(0.22, 2);
  });

  it('does not depend on the units of either axis', () => {
    const x = grid(50, 118);
    const y = x.map((at) => 3000 + 90 * Math.log1p(at));
    const scaled = kneeOf(
      x.map((at) => 5 * at + 7),
      y.map((at) => 0.001 * at - 3),
    )!;
    expect(scaled.index).toBe(kneeOf(x, y)!.index);
  });

  it('finds none in a straight line, in a falling one, in one that bends upward, or in two points', () => {
    const x = grid(30);
    expect(kneeOf(x, x)).toBeUndefined();
    expect(
      kneeOf(
        x,
        x.map((at) => -at),
      ),
    ).toBeUndefined();
    expect(
      kneeOf(
        x,
        x.map((at) => at ** 2),
      ),
    ).toBeUndefined();
    expect(kneeOf([0, 1], [0, 1])).toBeUndefined();
  });
});
