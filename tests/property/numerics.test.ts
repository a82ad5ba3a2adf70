import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  chiSquareCdf,
  chiSquareQuantile,
  fisherFCdf,
  fisherFQuantile,
  normalCdf,
  normalQuantile,
  studentTCdf,
  studentTQuantile,
} from '../../toolkit/numerics/distributions.js';
import { leastSquares } from '../../toolkit/numerics/least-squares/least-squares.js';
import { nonnegativeLeastSquares } from '../../toolkit/numerics/least-squares/nonnegative-least-squares.js';
import { seededRandom } from '../../toolkit/numerics/random.js';

const number = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });

describe('quantile and distribution function are inverse', () => {
  const probability = number(1e-6, 1 - 1e-6);
  const freedom = number(0.3, 2000);

  test('for every distribution and any degrees of freedom', () => {
    fc.assert(
      fc.property(probability, freedom, freedom, (p, a, b) => {
        // Rounding of a quantile moves the probability by density times quantile times 1e-15, at most about 1e-11.
        expect(normalCdf(normalQuantile(p))).toBeCloseTo(p, 11);
        expect(studentTCdf(studentTQuantile(p, a), a)).toBeCloseTo(p, 11);
        expect(chiSquareCdf(chiSquareQuantile(p, a), a)).toBeCloseTo(p, 10);
        expect(fisherFCdf(fisherFQuantile(p, a, b), a, b)).toBeCloseTo(p, 10);
      }),
      { seed: 1, numRuns: 500 },
    );
  });
});

/** A random problem: rows of A and b, m × n with m = n + 4. */
const problem = fc.record({ n: fc.integer({ min: 1, max: 5 }), seed: fc.nat() }).map(({ n, seed }) => {
  const random = seededRandom(seed);
  const rows = Array.from({ length: n + 4 }, () => Array.from({ length: n }, () => random.normal()));
  return { n, rows, b: rows.map(() => random.normal()) };
});

const dot = (a: ArrayLike<number>, b: readonly number[]): number =>
  b.reduce((sum, value, i) => sum + value * a[i], 0);

describe('constrained minima meet the optimality conditions', () => {
  test('non-negative least squares: no gradient where positive, none downhill at 0', () => {
    fc.assert(
      fc.property(problem, ({ n, rows, b }) => {
        const gram = Array.from({ length: n * n }, (_, at) =>
          rows.reduce((sum, row) => sum + row[Math.floor(at / n)] * row[at % n], 0),
        );
        const products = Array.from({ length: n }, (_, j) =>
          rows.reduce((sum, row, i) => sum + row[j] * b[i], 0),
        );
        const x = new Float64Array(n);
        nonnegativeLeastSquares(gram, products, x);
        for (let j = 0; j < n; j += 1) {
          const gradient = dot(x, gram.slice(j * n, (j + 1) * n)) - products[j];
          expect(x[j]).toBeGreaterThanOrEqual(0);
          expect(gradient).toBeGreaterThanOrEqual(-1e-10);
          if (x[j] > 0) expect(Math.abs(gradient)).toBeLessThan(1e-10);
        }
        // The general core, bounded below by 0, must find the same point.
        const fit = leastSquares(
          (values, out) => {
            rows.forEach((row, i) => {
              out[i] = dot(values, row) - b[i];
            });
          },
          x.map(() => 1),
          { residualCount: rows.length, lowerBounds: x.map(() => 0) },
        );
        expect(fit.termination.converged).toBe(true);
        for (let j = 0; j < n; j += 1) expect(fit.parameters[j]).toBeCloseTo(x[j], 5);
      }),
      { seed: 2, numRuns: 300 },
    );
  });

  test('bounded nonlinear least squares: within the bounds, and no gradient left where free', () => {
    const times = [1, 2, 4, 8, 16, 32];
    fc.assert(
      fc.property(number(5, 50), number(2, 20), number(0.5, 1.5), number(0.5, 1.5), (final, tau, up, low) => {
        const lower = [1, tau * low * 0.8];
        const upper = [final * up * 1.2, tau * low * 1.6];
        const fit = leastSquares(
          ([a, b], out) => {
            times.forEach((t, i) => {
              out[i] = a * (1 - Math.exp(-t / b)) - final * (1 - Math.exp(-t / tau));
            });
          },
          [Math.min(3, upper[0]), lower[1] * 1.5],
          { residualCount: 6, lowerBounds: lower, upperBounds: upper },
        );
        expect(fit.termination.converged).toBe(true);
        for (const j of [0, 1]) {
          expect(fit.parameters[j]).toBeGreaterThanOrEqual(lower[j]);
          expect(fit.parameters[j]).toBeLessThanOrEqual(upper[j]);
          let gradient = 0;
          let column = 0;
          times.forEach((_, i) => {
            gradient += fit.jacobian[2 * i + j] * fit.residuals[i];
            column += fit.jacobian[2 * i + j] ** 2;
          });
          const cosine = gradient / Math.sqrt(column * Math.max(fit.sumOfSquares, 1e-16));
          if (fit.parameters[j] > lower[j]) expect(cosine).toBeLessThan(1e-4);
          if (fit.parameters[j] < upper[j]) expect(cosine).toBeGreaterThan(-1e-4);
        }
      }),
      { seed: 3, numRuns: 300 },
    );
  });
});

test('95 % intervals of fitted parameters hold the truth in 95 % of simulated records', () => {
  const random = seededRandom(12);
  const times = Array.from({ length: 12 }, (_, i) => 4 * i);
  const held = [0, 0];
  for (let record = 0; record < 2000; record += 1) {
    const measured = times.map((t) => 40 * (1 - Math.exp(-t / 15)) + 0.5 * random.normal());
    const fit = leastSquares(
      ([a, b], out) => {
        times.forEach((t, i) => {
          out[i] = a * (1 - Math.exp(-t / b)) - measured[i];
        });
      },
      [30, 10],
      { residualCount: 12 },
    );
    fit.estimates.forEach((estimate, j) => {
      if (estimate.kind !== 'estimated') return;
      const [low, high] = estimate.interval95;
      if (low <= [40, 15][j] && high >= [40, 15][j]) held[j] += 1;
    });
  }
  // Standard error of the share 0.5 points; four of them.
  for (const count of held) expect(Math.abs(count / 2000 - 0.95)).toBeLessThan(0.02);
});
