import { expect, test } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { roundingVariance, sharedRoundingVariance } from '../../../../toolkit/power/fit/rounding-variance.js';

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

test('a whole segment on one value keeps the uniform variance, one that stands on a threshold none', () => {
  expect(sharedRoundingVariance(100, 0)).toBeCloseTo(1e4 / 12, 9);
  expect(sharedRoundingVariance(100, 2500)).toBeLessThan(1.5);
  expect(sharedRoundingVariance(0, 9)).toBe(0);
});

test('readings that change between two values leave what is not known of their scatter', () => {
  // Truths anywhere between two steps with a scatter anywhere from 0 to 0.3 steps, of which one reading in ten lies
  // on the second value: the squared error of their mean, against p·(1 − p) = 0.09 steps² of variance.
  const random = seededRandom(72);
  let squares = 0;
  let count = 0;
  for (let trial = 0; trial < 3000; trial++) {
    const truth = random.uniform();
    const scatter = 0.3 * random.uniform();
    const readings = Array.from({ length: 300 }, () => Math.round(truth + scatter * random.normal()));
    const mean = readings.reduce((sum, reading) => sum + reading, 0) / readings.length;
    const variance = readings.reduce((sum, reading) => sum + (reading - mean) ** 2, 0) / readings.length;
    if (Math.abs(variance - 0.09) > 0.03 || new Set(readings).size > 2) continue;
    squares += (mean - truth) ** 2;
    count++;
  }
  expect(count).toBeGreaterThan(100);
  const stated = sharedRoundingVariance(1, 0.09);
  expect(squares / count).toBeGreaterThan(0.4 * stated);
  expect(squares / count).toBeLessThan(1.3 * stated);
});
