import { describe, expect, test } from 'vitest';
import { ArgumentError, NumericalError } from '../../../../toolkit/errors.js';
import { leastSquares } from '../../../../toolkit/numerics/least-squares/least-squares.js';
import type { LeastSquaresOptions } from '../../../../toolkit/numerics/least-squares/least-squares-options.js';

const timeS = [0, 10, 20, 40, 60, 90, 120, 180, 240, 300];
const riseK = [0.3, 9.1, 16.4, 26.0, 32.1, 36.6, 38.2, 39.9, 40.4, 39.8];

/** One heat capacity: final rise and time constant. */
const heating = ([finalK, timeConstantS]: ArrayLike<number> & Iterable<number>, out: Float64Array): void => {
  timeS.forEach((t, i) => {
    out[i] = finalK * (1 - Math.exp(-t / timeConstantS)) - riseK[i];
  });
};
const heatingJacobian = (
  [finalK, timeConstantS]: ArrayLike<number> & Iterable<number>,
  out: Float64Array,
): void => {
  timeS.forEach((t, i) => {
    const left = Math.exp(-t / timeConstantS);
    out[2 * i] = 1 - left;
    out[2 * i + 1] = (-finalK * left * t) / timeConstantS ** 2;
  });
};
const ten: LeastSquaresOptions = { residualCount: 10 };

describe('leastSquares', () => {
  test('difference and exact derivatives lead to the same minimum and the same covariance', () => {
    const differences = leastSquares(heating, [30, 60], ten);
    const exact = leastSquares(heating, [30, 60], { ...ten, jacobian: heatingJacobian });
    expect(differences.termination.converged && exact.termination.converged).toBe(true);
    for (const j of [0, 1]) {
      // The minimum is flat: parameters agree to the root of the tolerance on the sum of squares.
      expect(differences.parameters[j] / exact.parameters[j]).toBeCloseTo(1, 7);
      for (const k of [0, 1]) expect(differences.covariance[j][k] / exact.covariance[j][k]).toBeCloseTo(1, 6);
    }
    expect(exact.evaluationCounts.residuals).toBeLessThan(20);
    expect(exact.jacobian).toHaveLength(20);
  });

  test('residuals, sum of squares and degrees of freedom belong to the parameters returned', () => {
    const fit = leastSquares(heating, [30, 60], ten);
    const again = new Float64Array(10);
    heating(fit.parameters, again);
    expect(fit.residuals).toEqual(again);
    expect(fit.sumOfSquares).toBeCloseTo(
      again.reduce((sum, r) => sum + r * r, 0),
      12,
    );
    expect(fit.degreesOfFreedom).toBe(8);
  });

  test('neither the start nor the bounds are changed', () => {
    const start = Object.freeze([30, 60]);
    const lowerBounds = Object.freeze([0, 1]);
    leastSquares(heating, start, { ...ten, lowerBounds });
    expect(start).toEqual([30, 60]);
    expect(lowerBounds).toEqual([0, 1]);
  });

  test('a bound that presses is kept exactly, reported, and left out of the covariance', () => {
    const fit = leastSquares(heating, [30, 60], { ...ten, upperBounds: [35, Number.POSITIVE_INFINITY] });
    expect(fit.termination.converged).toBe(true);
    expect(fit.parameters[0]).toBe(35);
    expect(fit.atBound).toEqual([true, false]);
    expect(fit.estimates[0]).toEqual({ kind: 'unavailable', reason: 'at-bound', value: 35 });
    expect(fit.covarianceOrder).toEqual([1]);
    expect(fit.covariance).toHaveLength(1);
    expect(fit.degreesOfFreedom).toBe(9);
    // The free parameter is the minimum with the other one fixed there.
    const fixed = leastSquares(heating, [35, 60], {
      ...ten,
      lowerBounds: [35, 0.1],
      upperBounds: [35, Number.POSITIVE_INFINITY],
    });
    expect(fit.parameters[1] / fixed.parameters[1]).toBeCloseTo(1, 7);
    expect(fixed.estimates[0]).toEqual({ kind: 'unavailable', reason: 'fixed', value: 35 });
  });

  test('a start on the wrong bound leaves it again', () => {
    const free = leastSquares(heating, [30, 60], ten);
    const fit = leastSquares(heating, [10, 500], { ...ten, lowerBounds: [10, 5], upperBounds: [100, 500] });
    expect(fit.termination.converged).toBe(true);
    expect(fit.atBound).toEqual([false, false]);
    expect(fit.parameters[1] / free.parameters[1]).toBeCloseTo(1, 6);
  });

  test('the model is never asked outside the bounds, not even for differences', () => {
    let lowest = Number.POSITIVE_INFINITY;
    let highest = Number.NEGATIVE_INFINITY;
    leastSquares(
      (b, out) => {
        lowest = Math.min(lowest, b[1]);
        highest = Math.max(highest, b[1]);
        heating(b, out);
      },
      [30, 20],
      { ...ten, lowerBounds: [0, 20], upperBounds: [100, 30] },
    );
    expect(lowest).toBe(20);
    expect(highest).toBe(30);
  });

  test('two parameters of which only the sum matters are not identifiable, a third one is', () => {
    const fit = leastSquares(
      ([a, b, slope], out) => {
        timeS.forEach((t, i) => {
          out[i] = a + b + slope * t - riseK[i];
        });
      },
      [1, 2, 3],
      ten,
    );
    expect(fit.termination.converged).toBe(true);
    expect(fit.estimates.slice(0, 2)).toEqual([
      { kind: 'unavailable', reason: 'not-identifiable' },
      { kind: 'unavailable', reason: 'not-identifiable' },
    ]);
    expect(fit.covarianceOrder).toEqual([2]);
    // The slope’s standard error is that of the line without the doubled intercept.
    const line = leastSquares(
      ([a, slope], out) => {
        timeS.forEach((t, i) => {
          out[i] = a + slope * t - riseK[i];
        });
      },
      [1, 3],
      ten,
    );
    // One degree of freedom fewer is counted with the superfluous parameter.
    expect((fit.covariance[0][0] * 7) / 8 / line.covariance[1][1]).toBeCloseTo(1, 6);
  });

  test('a parameter that runs onto a plateau is flagged, not called converged', () => {
    const fit = leastSquares(
      ([a, rate], out) => {
        timeS.forEach((t, i) => {
          out[i] = a * (1 - Math.exp(-rate * (t + 10))) - 40;
        });
      },
      [10, 0.4],
      ten,
    );
    expect(fit.termination).toMatchObject({ reason: 'flat-direction', converged: false });
    expect(fit.termination.message).toMatch(/no longer has any influence/);
  });

  test('as many parameters as points leave no degrees of freedom and no standard errors', () => {
    const fit = leastSquares(
      ([a, b], out) => {
        out[0] = a + b - 3;
        out[1] = a - b - 1;
      },
      [0, 0],
      { residualCount: 2 },
    );
    expect(fit.parameters[0]).toBeCloseTo(2, 10);
    expect(fit.degreesOfFreedom).toBe(0);
    expect(fit.covariance).toEqual([]);
    expect(fit.estimates).toEqual([
      { kind: 'unavailable', reason: 'too-few-points' },
      { kind: 'unavailable', reason: 'too-few-points' },
    ]);
  });

  test('fewer points than parameters end without an exception', () => {
    const fit = leastSquares(([a, b], out) => out.fill(a + 2 * b - 5), [0, 0], { residualCount: 1 });
    expect(fit.sumOfSquares).toBeLessThan(1e-20);
    expect(fit.estimates[0].kind).toBe('unavailable');
  });

  test('a limit on evaluations ends the fit as not converged', () => {
    const fit = leastSquares(heating, [1, 1], { ...ten, maxEvaluations: 3 });
    expect(fit.termination).toMatchObject({ reason: 'evaluation-limit', converged: false });
    expect(fit.termination.message).toMatch(/raise maxEvaluations/);
  });

  test('a step into a region where the model is not defined is taken back', () => {
    const fit = leastSquares(([a], out) => out.fill(Math.log(a) - 1), [30], { residualCount: 3 });
    expect(fit.termination.converged).toBe(true);
    expect(fit.parameters[0]).toBeCloseTo(Math.E, 8);
  });

  test('derivatives that contradict the residuals end as no progress', () => {
    const fit = leastSquares(([a], out) => out.fill(a - 3), [1], {
      residualCount: 2,
      jacobian: (_, out) => out.fill(-1),
    });
    expect(fit.termination).toMatchObject({ reason: 'no-progress', converged: false });
    expect(fit.termination.message).toMatch(/check the derivatives/);
  });

  test('a residual that is not a number at the start is named with a remedy', () => {
    const broken = (): unknown =>
      leastSquares(
        ([a], out) => {
          out.fill(a);
          out[2] = Number.NaN;
        },
        [1],
        { residualCount: 4 },
      );
    expect(broken).toThrow(NumericalError);
    expect(broken).toThrow(/residual 2 is NaN at the start \(1\); start where the model is defined/);
  });

  test('derivatives that are not finite at the start are named with a remedy', () => {
    expect(() =>
      leastSquares(([a], out) => out.fill(a), [1], {
        residualCount: 4,
        jacobian: (_, out) => out.fill(Number.POSITIVE_INFINITY),
      }),
    ).toThrow(/derivatives by parameter 0 are not finite at the start \(1\)/);
  });

  test.each<[string, number[], Partial<LeastSquaresOptions>, RegExp]>([
    ['no parameters', [], {}, /leastSquares: `start` must be at least one number/],
    [
      'a start that is not finite',
      [Number.NaN, 1],
      {},
      /`start\[0\]` must be a finite number \(received NaN\)/,
    ],
    [
      'no residuals',
      [1, 1],
      { residualCount: 0 },
      /`options.residualCount` must be a whole number of at least 1/,
    ],
    [
      'bounds of the wrong length',
      [1, 1],
      { lowerBounds: [0] },
      /`options.lowerBounds` must be as long as `start`, 2 \(received 1\)/,
    ],
    [
      'crossed bounds',
      [1, 1],
      { lowerBounds: [2, 0], upperBounds: [1, 9] },
      /`options.lowerBounds\[0\]` must be at most its upper bound 1/,
    ],
    [
      'a start outside its bounds',
      [1, 1],
      { lowerBounds: [2, 0] },
      /`start\[0\]` must be within its bounds 2 to Infinity \(received 1\)/,
    ],
    ['a scale of zero', [1, 1], { scales: [1, 0] }, /`options.scales\[1\]` must be a finite number above 0/],
    [
      'no evaluations',
      [1, 1],
      { maxEvaluations: 0 },
      /`options.maxEvaluations` must be a finite number at least 1/,
    ],
  ])('refuses %s', (_, start, options, message) => {
    const fit = (): unknown => leastSquares(heating, start, { ...ten, ...options });
    expect(fit).toThrow(ArgumentError);
    expect(fit).toThrow(message);
  });
});
