import { expect, test } from 'vitest';
import { standardDraws } from '../../../../toolkit/cap/draws/standard-draws.js';
import { studentTQuantile } from '../../../../toolkit/numerics/distributions.js';
import { quasiRandomPoints } from '../../../../toolkit/numerics/quasi-random.js';

const ask = { count: 512, seed: 5, exponentIsFitted: true };

test.each([1, 2.5, 8, 60])(
  'Student scores of %d degrees of freedom are the quantiles of the uniform draws to 1e-5',
  (degreesOfFreedom) => {
    const { resistanceScores } = standardDraws({ ...ask, degreesOfFreedom });
    const points = quasiRandomPoints(ask.count, 4, ask.seed);
    for (let i = 0; i < ask.count; i++) {
      const exact = studentTQuantile(points[4 * i], degreesOfFreedom);
      expect(Math.abs(resistanceScores[i] - exact)).toBeLessThan(1e-5 * (1 + Math.abs(exact)));
    }
  },
);

test('a fitted exponent belongs to a joint Student t: far from the centre both scores are spread wider', () => {
  // Of a joint t with 6 degrees of freedom E[t1²·t2²] = ν²/((ν − 2)(ν − 4)) = 4.5; of two independent ones 2.25.
  const { resistanceScores, exponentScores } = standardDraws({ ...ask, count: 2 ** 16, degreesOfFreedom: 6 });
  const sum = resistanceScores.reduce((total, score, i) => total + (score * exponentScores[i]) ** 2, 0);
  expect(sum / 2 ** 16).toBeGreaterThan(3.6); // heavy tails settle slowly, from below
  expect(sum / 2 ** 16).toBeLessThan(5.4);
});

test('an assumed exponent is a normal prior, independent of the resistance', () => {
  const { exponentScores } = standardDraws({ ...ask, exponentIsFitted: false, degreesOfFreedom: 3 });
  const variance = exponentScores.reduce((sum, score) => sum + score * score, 0) / ask.count;
  expect(variance).toBeCloseTo(1, 1);
});

test('the draws kept from the last call do not change an answer', () => {
  const first = standardDraws({ ...ask, degreesOfFreedom: 8 }).resistanceScores.slice();
  standardDraws({ ...ask, degreesOfFreedom: 9 });
  expect(standardDraws({ ...ask, degreesOfFreedom: 8 }).resistanceScores).toEqual(first);
});
