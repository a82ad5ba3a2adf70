import { describe, expect, test } from 'vitest';
import type { Estimate, EstimatedNumber } from '../../../../toolkit/numerics/estimate.js';
import { bootstrapCooler } from '../../../../toolkit/thermal/check/bootstrap.js';
import type { CoolerModel } from '../../../../toolkit/thermal/cooler-model.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { noisyRun } from '../noisy-cooler.js';

const structure = { stageCount: 2, sensorLag: false, powerExponent: 0 };

function known(estimate: Estimate): EstimatedNumber {
  if (estimate.kind !== 'estimated') throw new Error('an estimate is expected');
  return estimate;
}

/** Standard error of the sum of the resistances from the covariance of the fit alone. */
function noiseStandardErrorKPerW({ covariance: { parameters, matrix } }: CoolerModel): number {
  const places = parameters.flatMap((name, i) => (name.startsWith('resistanceKPerW') ? [i] : []));
  const sum = places.reduce((all, a) => all + places.reduce((row, b) => row + matrix[a][b], 0), 0);
  return Math.sqrt(sum);
}

describe('a bootstrap of residuals', () => {
  test('agrees with the covariance where the noise is white', async () => {
    const run = noisyRun(1);
    const model = fitCooler(run, structure);
    const found = await bootstrapCooler(model, run, { count: 600, seed: 3 });
    const total = known(found.thermalResistanceKPerW);
    // 600 refits tell a standard deviation to 3 %; residuals of one record to another few.
    expect(Math.abs(total.standardError / noiseStandardErrorKPerW(model) - 1)).toBeLessThan(0.12);
    found.stages.forEach(({ timeConstantS, resistanceKPerW }, k) => {
      const stated = [model.stages[k].timeConstantS, model.stages[k].resistanceKPerW].map(known);
      [timeConstantS, resistanceKPerW].map(known).forEach((one, i) => {
        expect(one.value).toBe(stated[i].value);
        expect(Math.abs(one.standardError / stated[i].standardError - 1)).toBeLessThan(0.15);
        // Percentiles of a normal distribution: about 2 standard errors to each side.
        expect(one.interval95[1] - one.interval95[0]).toBeGreaterThan(3.4 * one.standardError);
        expect(one.interval95[1] - one.interval95[0]).toBeLessThan(4.4 * one.standardError);
      });
    });
    expect(known(found.steadyRiseK).standardError).toBeCloseTo(found.powerW * total.standardError, 10);
    expect(found).toMatchObject({ count: 600, seed: 3, failedCount: 0, findings: [] });
  });

  test('keeps the correlation of the residuals: in blocks they say what single draws would hide', async () => {
    const run = noisyRun(2, { correlation: 0.8 });
    const model = fitCooler(run, structure);
    const blocks = await bootstrapCooler(model, run, { count: 300, seed: 3 });
    const singly = await bootstrapCooler(model, run, { count: 300, seed: 3, blockS: 1 });
    const ratio =
      known(blocks.thermalResistanceKPerW).standardError / known(singly.thermalResistanceKPerW).standardError;
    // √τ = 3 for long blocks and a long record; blocks of finite length give less.
    expect(ratio).toBeGreaterThan(1.8);
    expect(ratio).toBeLessThan(3.8);
    expect(blocks.blockS).toBeGreaterThan(15);
    expect(singly.blockS).toBe(1);
  });

  test('covers a sensor lag and several runs, each with residuals of its own', async () => {
    const runs = [
      noisyRun(4, { label: 'high', sensorLagS: 3 }),
      noisyRun(5, { label: 'low', sensorLagS: 3, powerSteps: [{ atS: 30, powerW: 60 }] }),
    ];
    const model = fitCooler(runs, { stageCount: 2 });
    const found = await bootstrapCooler(model, runs, { count: 60, seed: 3, powerW: 75 });
    expect(model.poles?.sensorLagS).toBeDefined();
    expect(known(found.sensorLagS ?? { kind: 'unavailable', reason: 'fixed' }).standardError).toBeGreaterThan(
      0,
    );
    expect(found.powerW).toBe(75);
    expect(known(found.steadyRiseK).value / 75).toBeCloseTo(0.52, 1);
  });
});

describe('bootstrapCooler', () => {
  const run = noisyRun(1);
  const model = fitCooler(run, structure);

  test('repeats itself to the last digit, reports progress and ends when it is told to', async () => {
    const seen: number[] = [];
    const first = await bootstrapCooler(model, [run], {
      count: 30,
      seed: 9,
      onProgress: (doneCount) => seen.push(doneCount),
    });
    expect(await bootstrapCooler(model, [run], { count: 30, seed: 9 })).toEqual(first);
    expect(seen).toEqual([20, 30]);
    const stopped = bootstrapCooler(model, run, { signal: AbortSignal.abort(new Error('enough')) });
    await expect(stopped).rejects.toThrow('enough');
  });

  test('refuses a model whose residuals show structure, and says where', async () => {
    // Air that comes and goes by a kelvin every three minutes, not logged.
    const disturbed = {
      ...run,
      temperatureC: run.temperatureC.map((reading, i) => reading + Math.sin((2 * Math.PI * i) / 180)),
    };
    const departing = fitCooler(disturbed, structure);
    expect(departing.findings.map(({ code }) => code)).toContain('structured-residuals');
    await expect(bootstrapCooler(departing, disturbed)).rejects.toThrow(
      /bootstrapCooler: `model` must be a model whose residuals are noise.*departs from the model by/,
    );
  });

  test.each([
    [{ blockS: 0.1 }, /`options.blockS` must be a finite number at least 1/],
    [{ blockS: 400 }, /`options.blockS` must be a finite number at least 1 and at most 180/],
    [{ count: 3 }, /`options.count` must be a finite number at least 20/],
  ])('refuses %o', async (options, message) => {
    await expect(bootstrapCooler(model, run, options)).rejects.toThrow(message);
  });
});
