import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import type { Run } from '../../../../toolkit/runs/run.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { fitOf } from '../../../../toolkit/thermal/fit/fit-of.js';
import { everyS, knownRun } from '../known-cooler.js';

const poles = [
  { timeConstantS: 6, resistanceKPerW: 0.12 },
  { timeConstantS: 150, resistanceKPerW: 0.4 },
];

function noisyRun(seed: number, label: string, factor = 1, mount?: string): Run {
  const random = seededRandom(seed);
  return knownRun({
    timeS: everyS(1, 900),
    poles: poles.map((pole) => ({ ...pole, resistanceKPerW: factor * pole.resistanceKPerW })),
    startPowerW: 10,
    powerSteps: [{ atS: 30, powerW: 85 }],
    noiseK: () => 0.2 * random.normal(),
    label,
    ...(mount === undefined ? {} : { conditions: { mount } }),
  });
}

const rms = (values: ArrayLike<number>): number =>
  Math.sqrt(Array.from(values).reduce((sum, value) => sum + value * value, 0) / values.length);

describe('fitOf', () => {
  test('has the run’s length, its measurements, and residuals that are measured minus modelled', () => {
    const run = noisyRun(1, 'one');
    const model = fitCooler(run, { powerExponent: 0 });
    const fit = fitOf(model, run);
    expect(fit.runLabel).toBe('one');
    expect(fit.timeS).toEqual(run.timeS);
    expect(fit.measuredC).toEqual(run.temperatureC);
    expect(fit.residualK).toEqual(fit.measuredC.map((measured, i) => measured - fit.modelledC[i]));
    expect(fit.measuredC).not.toBe(run.temperatureC);
  });

  test.each([undefined, 0])(
    'leaves the residuals that the fit itself reported, exponent %s',
    (powerExponent) => {
      const run = noisyRun(1, 'one');
      const model = fitCooler(run, powerExponent === undefined ? {} : { powerExponent });
      expect(rms(fitOf(model, run).residualK)).toBeCloseTo(model.noise.standardDeviationK, 6);
    },
  );

  test('holds each run against its own mount', () => {
    const runs = [noisyRun(2, 'first', 1.03, 'first'), noisyRun(3, 'second', 0.97, 'second')];
    const model = fitCooler(runs, { powerExponent: 0 });
    for (const run of runs) {
      const { residualK } = fitOf(model, run);
      // White noise of 0.2 K; a factor of 3 % left out would be 1.2 K.
      expect(rms(residualK)).toBeLessThan(0.22);
    }
  });

  test('starts anew after a gap', () => {
    const run = noisyRun(4, 'gap');
    const keep = (values: Float64Array): Float64Array => values.filter((_, i) => i < 300 || i > 340);
    const cut = makeRun(
      { timeS: keep(run.timeS), temperatureC: keep(run.temperatureC), powerW: keep(run.powerW) },
      { label: 'gap', conditions: run.conditions },
    );
    const model = fitCooler(cut, { powerExponent: 0 });
    expect(model.starts).toHaveLength(2);
    const { residualK } = fitOf(model, cut);
    expect(rms(residualK)).toBeCloseTo(model.noise.standardDeviationK, 6);
  });

  test('refuses a run the model does not know, and a model without stages', () => {
    const run = noisyRun(1, 'one');
    const model = fitCooler(run, { powerExponent: 0 });
    expect(() => fitOf(model, { ...run, label: 'another' })).toThrow(
      'fitOf: `run` must be one of the runs the model was fitted from (one) (received "another")',
    );
    const averages = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 64, ambientC: 24 }]);
    expect(() => fitOf(averages, run)).toThrow(/^fitOf: `model` must be a model with stages/);
  });
});
