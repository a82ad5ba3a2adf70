import { describe, expect, it } from 'vitest';
import { countCycles } from '../../toolkit/wear/count-cycles.js';

/** Counts by range, as the tables of the sources state them. */
const table = (series: readonly number[], history: 'once' | 'repeating' = 'once'): Record<string, number> =>
  Object.fromEntries(
    countCycles(series, { rangeStepK: 0, history }).ranges.map(({ rangeK, cycleCount }) => [
      rangeK,
      cycleCount,
    ]),
  );

describe('rainflow counting against ASTM E1049-85 (2017)', () => {
  // History and table of 5.4.4 and Fig. 6, as reproduced in the tests of the MIT-licensed Python package `rainflow`;
  // recomputed with a four-point count whose residue is counted as half cycles.
  const history = [-2, 1, -3, 5, -1, 3, -4, 4, -2];

  it('reproduces the table of the worked example exactly', () => {
    expect(table(history)).toEqual({ 3: 0.5, 4: 1.5, 6: 0.5, 8: 1, 9: 0.5 });
    expect(countCycles(history).cycleCount).toBe(4);
  });

  it('finds its cycles in the order of the text, each with its range, mean and extremes', () => {
    const cycles = countCycles(history).cycles.map(({ rangeK, meanC, count, startIndex, endIndex }) => [
      history[startIndex],
      history[endIndex],
      rangeK,
      meanC,
      count,
    ]);
    expect(cycles).toEqual([
      [-2, 1, 3, -0.5, 0.5],
      [1, -3, 4, -1, 0.5],
      [-1, 3, 4, 1, 1],
      [-3, 5, 8, 1, 0.5],
      [5, -4, 9, 0.5, 0.5],
      [-4, 4, 8, 0, 0.5],
      [4, -2, 6, 1, 0.5],
    ]);
  });

  it('reproduces the example of a history that repeats (5.4.5 and Fig. 7, value from memory)', () => {
    expect(table(history, 'repeating')).toEqual({ 3: 1, 4: 1, 7: 1, 9: 1 });
  });

  it('gives the damage sums of the example, Σ count · range^m (recomputed)', () => {
    const sum = (exponent: number): number =>
      countCycles(history).cycles.reduce((total, { rangeK, count }) => total + count * rangeK ** exponent, 0);
    // Rounding of a few additions.
    expect(sum(1)).toBeCloseTo(23, 12);
    expect(sum(1.9)).toBeCloseTo(124.46747164388167, 10);
    expect(sum(2)).toBeCloseTo(151, 12);
    expect(sum(2.65)).toBeCloseTo(542.183514680794, 9);
    expect(sum(5)).toBeCloseTo(67838, 8);
  });

  it('reproduces the second case in the tests of the MIT-licensed Python package `rainflow`', () => {
    const series = [-1.5, 1, -3, 10, -1, 3, -8, 4, -2, 6, -1, -4, -8, 2, 1, -5, 0, 2.5, -4, 1, 0, 2, -0.5];
    expect(table(series)).toEqual({
      1: 1,
      2.5: 1,
      4: 1.5,
      6: 1.5,
      6.5: 0.5,
      7: 1,
      10.5: 0.5,
      13: 0.5,
      14: 1,
      18: 0.5,
    });
  });

  it('counts a made-up history of temperatures as two other implementations do (recomputed)', () => {
    const series = [25, 70, 62, 75, 40, 68, 66, 72, 30, 80, 55, 65, 50, 78, 25];
    expect(table(series)).toEqual({ 2: 1, 8: 1, 10: 1, 28: 1, 32: 1, 45: 1, 55: 1 });
  });
});
