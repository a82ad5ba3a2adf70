import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { thinned } from '../../../toolkit/figures/thinned.js';

describe('thinned', () => {
  it('leaves a short series as it is', () => {
    expect(thinned([0, 1, 2, 3], [5, 6, 4, 5])).toEqual({ x: [0, 1, 2, 3], y: [5, 6, 4, 5] });
  });

  it('makes a million samples light and keeps a spike of one sample', () => {
    const count = 1_000_000;
    const x = Float64Array.from({ length: count }, (_, i) => i);
    const y = Float64Array.from({ length: count }, (_, i) => Math.sin(i / 9e4));
    y[123_457] = 40;
    y[876_543] = -40;
    const line = thinned(x, y);
    expect(line.x.length).toBeLessThanOrEqual(4000);
    expect(Math.max(...(line.y as number[]))).toBe(40);
    expect(Math.min(...(line.y as number[]))).toBe(-40);
    expect(line.x[0]).toBe(0);
    expect(line.x.at(-1)).toBe(999_999);
  });

  it('keeps the extremes and the order of any series', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -1000, max: 1000 }), { minLength: 50, maxLength: 400 }), (y) => {
        const x = y.map((_, i) => i);
        const line = thinned(x, y, 40);
        expect(line.y).toContain(Math.max(...y));
        expect(line.y).toContain(Math.min(...y));
        for (let i = 1; i < line.x.length; i++) expect(line.x[i]).toBeGreaterThan(line.x[i - 1]);
      }),
      { seed: 7, numRuns: 60 },
    );
  });

  it('opens the line where samples are missing', () => {
    const x = [0, 1, 2, 3, 30, 31, 32];
    expect(thinned(x, [1, 1, 1, 1, 2, 2, 2]).y).toEqual([1, 1, 1, 1, null, 2, 2, 2]);
  });

  it('opens the line where a value is not a number', () => {
    expect(thinned([0, 1, 2], [1, Number.NaN, 3]).y).toEqual([1, null, 3]);
  });

  it('returns nothing for nothing', () => {
    expect(thinned([], [])).toEqual({ x: [], y: [] });
  });
});
