import { describe, expect, test } from 'vitest';
import type { Estimate } from '../../../toolkit/numerics/estimate.js';
import { seededRandom } from '../../../toolkit/numerics/random.js';
import {
  inverseOfLine,
  type LinePoint,
  lineAt,
  weightedLine,
} from '../../../toolkit/numerics/weighted-line.js';

const holds = (estimate: Estimate, truth: number): boolean =>
  estimate.kind === 'estimated' && estimate.interval95[0] <= truth && truth <= estimate.interval95[1];

describe('weightedLine', () => {
  test('two exact points give the line through them, without an uncertainty', () => {
    const line = weightedLine([
      { x: 1, y: 5 },
      { x: 3, y: 9 },
    ]);
    expect(line).toMatchObject({ covariance: [], degreesOfFreedom: 0, uncertaintyFrom: 'scatter' });
    expect(line.slope).toMatchObject({ kind: 'unavailable', reason: 'too-few-points' });
    expect(line.slope.value).toBeCloseTo(2, 12);
    expect(line.intercept.value).toBeCloseTo(3, 12);
    expect(line).not.toHaveProperty('residualStandardDeviation');
    expect(line).not.toHaveProperty('isConsistent');
    expect(lineAt(line, 2)).toEqual({ kind: 'unavailable', reason: 'too-few-points' });
    expect(inverseOfLine(line, { y: 7 })).toEqual({ kind: 'unavailable', reason: 'too-few-points' });
  });

  test('two points with stated uncertainties carry them, with nothing left to test', () => {
    const line = weightedLine([
      { x: 0, y: 1, yStandardError: 0.3 },
      { x: 1, y: 3, yStandardError: 0.4 },
    ]);
    expect(line.slope).toMatchObject({ kind: 'estimated' });
    expect(line.slope.kind === 'estimated' && line.slope.standardError).toBeCloseTo(0.5, 12);
    expect(line.intercept.kind === 'estimated' && line.intercept.standardError).toBeCloseTo(0.3, 12);
    expect(line).not.toHaveProperty('isConsistent');
  });

  test('scatter far beyond the stated uncertainties is inconsistent, and does not change the standard errors', () => {
    const y = [1, 4, 2, 6, 3, 8];
    const point = (uncertainty: number): LinePoint[] =>
      y.map((value, x) => ({ x, y: value, yStandardError: uncertainty }));
    expect(weightedLine(point(0.1)).isConsistent).toBe(false);
    expect(weightedLine(point(3)).isConsistent).toBe(true);
    const [narrow, wide] = [weightedLine(point(0.1)).slope, weightedLine(point(3)).slope];
    if (narrow.kind !== 'estimated' || wide.kind !== 'estimated') throw new Error('estimated');
    expect(wide.standardError / narrow.standardError).toBeCloseTo(30, 9);
  });

  test('an uncertain x of 0 is the same as none, and a flat line is found as one', () => {
    const points = [2, 2.1, 1.9, 2].map((y, x) => ({ x, y, yStandardError: 0.1 }));
    expect(weightedLine(points.map((point) => ({ ...point, xStandardError: 0 })))).toEqual(
      weightedLine(points),
    );
    const symmetric = [2, 2.1, 2.1, 2].map((y, x) => ({ x, y, yStandardError: 0.1, xStandardError: 0.3 }));
    expect(Math.abs(weightedLine(symmetric).slope.value ?? 1)).toBeLessThan(1e-9);
  });

  test('points far from zero lose no digits', () => {
    // Epoch seconds against a temperature: the slope in ten digits although x has thirteen.
    const points = [0, 10, 20, 30].map((x, i) => ({ x, y: [40, 41.5, 42.9, 44.6][i] }));
    const far = weightedLine(points.map(({ x, y }) => ({ x: x + 1.8e9, y })));
    const near = weightedLine(points);
    expect((far.slope.value ?? 0) / (near.slope.value ?? 1)).toBeCloseTo(1, 10);
    expect(far.residualStandardDeviation).toBeCloseTo(near.residualStandardDeviation ?? 0, 10);
    const reached = inverseOfLine(far, { y: 43 });
    const expected = inverseOfLine(near, { y: 43 });
    expect((reached.value ?? 0) - 1.8e9).toBeCloseTo(expected.value ?? 0, 5);
  });

  test('intervals hold the truth in 95 of 100 cases with both coordinates uncertain', () => {
    const random = seededRandom(28_037);
    const cases = 2000;
    let slopes = 0;
    let inverses = 0;
    for (let k = 0; k < cases; k++) {
      const points = [1, 2, 3, 4, 5, 6, 7, 8].map((x) => ({
        x: x + 0.1 * random.normal(),
        y: 3 + 2 * x + 0.3 * random.normal(),
        xStandardError: 0.1,
        yStandardError: 0.3,
      }));
      const line = weightedLine(points);
      if (holds(line.slope, 2)) slopes++;
      const reading = { y: 3 + 2 * 9 + 0.3 * random.normal(), yStandardError: 0.3 };
      if (holds(inverseOfLine(line, reading), 9)) inverses++;
    }
    // 2,000 cases scatter by 0.5 %; the bounds are three of that.
    for (const count of [slopes, inverses]) {
      expect(count / cases).toBeGreaterThan(0.935);
      expect(count / cases).toBeLessThan(0.965);
    }
  });

  test('does not change the points', () => {
    const points = Object.freeze([
      Object.freeze({ x: 0, y: 1 }),
      Object.freeze({ x: 1, y: 2 }),
      Object.freeze({ x: 2, y: 4 }),
    ]);
    expect(() => weightedLine(points)).not.toThrow();
  });
});

describe('what is no line', () => {
  test.each([
    [[], 'points', /at least two points with different x \(received "0 with 0 different x"\)/],
    [
      [
        { x: 1, y: 1 },
        { x: 1, y: 2 },
      ],
      'points',
      /at least two points with different x \(received "2 with 1 different x"\)/,
    ],
    [[{ x: Number.NaN, y: 1 }], 'points[0].x', /a finite number \(received NaN\)/],
    [
      [
        { x: 1, y: 1 },
        { x: 2, y: Number.POSITIVE_INFINITY },
      ],
      'points[1].y',
      /a finite number \(received Infinity\)/,
    ],
    [[{ x: 1, y: 1, yStandardError: 0 }], 'points[0].yStandardError', /above 0 \(received 0\)/],
    [[{ x: 1, y: 1, xStandardError: -1 }], 'points[0].xStandardError', /at least 0 \(received -1\)/],
    [
      [
        { x: 1, y: 1, yStandardError: 1 },
        { x: 2, y: 1 },
      ],
      'points[1].yStandardError',
      /for all points or for none.*state the standard uncertainty of y of every point/,
    ],
    [
      [
        { x: 1, y: 1 },
        { x: 2, y: 1, xStandardError: 0.1 },
      ],
      'points[1].yStandardError',
      /wherever xStandardError is given/,
    ],
  ] as const)('%j is refused at %s', (points, argument, message) => {
    expect(() => weightedLine(points)).toThrow(message);
    expect(() => weightedLine(points)).toThrow(`weightedLine: \`${argument}\` must be`);
  });

  test('a slope that is not told from 0 reaches no y', () => {
    const flat = weightedLine([1, -1, 0.9, -1.1].map((y, x) => ({ x, y, yStandardError: 1 })));
    expect(inverseOfLine(flat, { y: 5, yStandardError: 1 })).toEqual({
      kind: 'unavailable',
      reason: 'not-identifiable',
    });
  });

  test('readings that are no numbers are refused by name', () => {
    const line = weightedLine([0, 1, 2].map((x) => ({ x, y: 2 * x, yStandardError: 1 })));
    expect(() => inverseOfLine(line, { y: Number.NaN })).toThrow(/`reading\.y` must be a finite number/);
    expect(() => inverseOfLine(line, { y: 1, readingCount: 0 })).toThrow(
      /`reading\.readingCount`.*at least 1/,
    );
    expect(() => inverseOfLine(line, { y: 1, yStandardError: -1 })).toThrow(
      /`reading\.yStandardError`.*at least 0/,
    );
    expect(() => lineAt(line, Number.NaN)).toThrow(/lineAt: `x` must be a finite number/);
  });
});
