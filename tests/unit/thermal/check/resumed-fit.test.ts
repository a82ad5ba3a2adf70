import { describe, expect, test } from 'vitest';
import { requireValue } from '../../../../toolkit/numerics/estimates.js';
import { minimizeSeparable } from '../../../../toolkit/numerics/least-squares/separable-least-squares.js';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import type { Run } from '../../../../toolkit/runs/run.js';
import { hiddenNoiseRatio, refit, resumeFit } from '../../../../toolkit/thermal/check/resumed-fit.js';
import type { CoolerModel } from '../../../../toolkit/thermal/cooler-model.js';
import { type FitCoolerOptions, fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { createFitEvaluation } from '../../../../toolkit/thermal/fit/fit-evaluation.js';
import { everyS } from '../known-cooler.js';
import { noisyRun } from '../noisy-cooler.js';

const withGap = everyS(1, 900).filter((t) => t < 300 || t > 340);
const cases: readonly [string, readonly Run[], FitCoolerOptions][] = [
  ['one run', [noisyRun(1)], { stageCount: 2, sensorLag: false }],
  ['a gap', [noisyRun(2, { timeS: withGap })], { stageCount: 2, sensorLag: false }],
  ['a sensor lag', [noisyRun(3, { sensorLagS: 3 })], { stageCount: 2 }],
  [
    'two powers, whose exponent is fitted',
    [noisyRun(4, { label: 'high' }), noisyRun(5, { label: 'low', powerSteps: [{ atS: 30, powerW: 60 }] })],
    { stageCount: 2, sensorLag: false },
  ],
  [
    'two mounts',
    [
      noisyRun(6, { label: 'first', conditions: { mount: 'first' } }),
      noisyRun(7, { label: 'second', conditions: { mount: 'second' } }),
    ],
    { stageCount: 2, sensorLag: false, powerExponent: 0 },
  ],
];

const standardErrorOf = (model: CoolerModel, name: string): number => {
  const index = model.covariance.parameters.indexOf(name);
  return Math.sqrt(model.covariance.matrix[index][index]);
};

describe('a fit taken up again', () => {
  test.each(cases)('ends where it ended: %s', (_, runs, options) => {
    const model = fitCooler(runs, options);
    const fit = resumeFit(model, runs, 'test');
    const measured = fit.modelledRiseK.map((riseK, i) => riseK + fit.residualsK[i]);
    fit.record.pieces.forEach(({ offset, riseK }) => {
      for (let i = 0; i < riseK.length; i++) expect(measured[offset + i]).toBeCloseTo(riseK[i], 9);
    });
    const again = refit(fit, measured);
    expect(again.converged).toBe(true);
    // The weights are made of the model's residuals, not of a draft's: a hundredth of a standard error apart.
    const { timeConstantsS = [], resistancesKPerW = [], sensorLagS } = model.poles ?? {};
    again.timeConstantsS.forEach((timeConstantS, k) => {
      const apart = Math.log(timeConstantS / timeConstantsS[k]);
      expect(Math.abs(apart)).toBeLessThan(0.02 * standardErrorOf(model, `logTimeConstantS[${k + 1}]`));
      expect(Math.abs(again.resistancesKPerW[k] - resistancesKPerW[k])).toBeLessThan(
        0.02 * standardErrorOf(model, `resistanceKPerW[${k + 1}]`),
      );
    });
    expect(again.sensorLagS === undefined).toBe(sensorLagS === undefined);
    expect(again.powerExponent).toBeCloseTo(model.resistanceLaw.powerExponent, 4);
  });

  test.each(cases)('and one step on the tangent leads where a search does: %s', (_, runs, options) => {
    const model = fitCooler(runs, options);
    const fit = resumeFit(model, runs, 'test');
    const { record, structure, layout, sampleWeights } = fit;
    const random = seededRandom(12);
    const apart: number[] = [];
    for (let n = 0; n < 20; n++) {
      const riseK = fit.modelledRiseK.map((modelled) => modelled + 0.2 * random.normal());
      const short = refit(fit, riseK);
      const pieces = record.pieces.map((piece) => ({
        ...piece,
        riseK: riseK.subarray(piece.offset, piece.offset + piece.riseK.length),
      }));
      const evaluation = createFitEvaluation({ ...record, pieces }, structure, layout, sampleWeights);
      const long = minimizeSeparable(evaluation, fit.parameters);
      short.timeConstantsS.forEach((timeConstantS, k) => {
        const logApart = Math.log(timeConstantS) - long.parameters[k];
        const apartKPerW = short.resistancesKPerW[k] - long.linearParameters[k];
        apart.push(logApart / standardErrorOf(model, `logTimeConstantS[${k + 1}]`));
        apart.push(apartKPerW / standardErrorOf(model, `resistanceKPerW[${k + 1}]`));
      });
    }
    // In standard errors. Two hundredths add a few ten-thousandths to the scatter of refits.
    const square = apart.reduce((sum, one) => sum + one ** 2, 0) / apart.length;
    expect(Math.sqrt(square)).toBeLessThan(0.025);
    expect(Math.max(...apart.map(Math.abs))).toBeLessThan(0.15);
  });

  test('follows other temperatures: a rise that is 10 % higher is a resistance that is 10 % higher', () => {
    const runs = [noisyRun(1)];
    const model = fitCooler(runs, { stageCount: 2, sensorLag: false, powerExponent: 0 });
    const fit = resumeFit(model, runs, 'test');
    const { resistancesKPerW } = refit(
      fit,
      fit.modelledRiseK.map((riseK) => 1.1 * riseK),
    );
    const total = resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
    expect(total / requireValue(model.thermalResistanceKPerW)).toBeCloseTo(1.1, 6);
  });

  test('refuses other runs, and the same ones changed', () => {
    const run = noisyRun(1);
    const model = fitCooler(run);
    expect(() => resumeFit(model, [], 'refitAgain')).toThrow(
      /refitAgain: `runs` must be the runs the model was fitted from, in the same order \(known\)/,
    );
    const changed = noisyRun(1, { timeS: withGap });
    expect(() => resumeFit(model, [changed], 'refitAgain')).toThrow(/gaps at other places/);
  });
});

test('noise is larger than residuals by what the parameters took up of as many independent samples: s² = SSR/(n − p)', () => {
  const run = noisyRun(9, { timeS: everyS(1, 200) });
  const options = { stageCount: 2, sensorLag: false, powerExponent: 0 };
  const fit = resumeFit(fitCooler(run, options), [run], 'test');
  const independent = fit.record.sampleCount / fit.noise.samplesPerIndependentSample;
  // Two time constants, one start, two resistances [BatesWatts1988, ch. 2].
  const ratio = Math.sqrt(independent / (independent - 5));
  expect(ratio).toBeGreaterThan(1.005);
  expect(hiddenNoiseRatio(fit)).toBeCloseTo(ratio, 12);
});
