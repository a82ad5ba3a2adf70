import { expect, test } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { roundingVariance } from '../../../../toolkit/power/fit/rounding-variance.js';

test('readings that never change keep the uniform variance of a step', () => {
  expect(roundingVariance(25, 0)).toBeCloseTo(625 / 12, 12);
});

test('no step leaves no variance', () => {
  expect(roundingVariance(0, 9)).toBe(0);
});

test('a scatter of a whole step averages the rounding out', () => {
  expect(roundingVariance(25, 625 * (1 + 1 / 12))).toBeLessThan(1e-6);
});

test.each([0.1, 0.2, 0.3])(
  'rounding of the mean has the stated variance for a scatter of %s steps',
  (scatter) => {
    // The mean of rounded readings as a function of where the truth lies between two steps, over 400 places.
    const random = seededRandom(71);
    const draws = Array.from({ length: 4000 }, () => scatter * random.normal());
    let squares = 0;
    for (let place = 0; place < 400; place++) {
      const truth = place / 400;
      const mean = draws.reduce((sum, draw) => sum + Math.round(truth + draw), 0) / draws.length;
      const meanDraw = draws.reduce((sum, draw) => sum + draw, 0) / draws.length;
      squares += (mean - truth - meanDraw) ** 2 / 400;
    }
    // The expected reading variance is scatter² + 1/12; 4000 draws leave about 1e-4 of a step² in the simulation.
    expect(Math.abs(roundingVariance(1, scatter * scatter + 1 / 12) - squares)).toBeLessThan(1e-3);
  },
);
