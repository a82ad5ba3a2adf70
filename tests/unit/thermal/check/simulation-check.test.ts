import { describe, expect, test } from 'vitest';
import { requireValue } from '../../../../toolkit/numerics/estimates.js';
import { simulationCheck } from '../../../../toolkit/thermal/check/simulation-check.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { noisyRun } from '../noisy-cooler.js';

const structure = { stageCount: 2, sensorLag: false, powerExponent: 0 };

describe('records simulated from a fit', () => {
  test('scatter as the covariance says where the noise is white', async () => {
    const run = noisyRun(1);
    const check = await simulationCheck(fitCooler(run, structure), run, { count: 400, seed: 5 });
    const { spread, meanStandardError, coverageFraction, bias } = check.thermalResistanceKPerW;
    // A spread from 400 is known to 3.5 %.
    expect(spread / meanStandardError).toBeGreaterThan(0.88);
    expect(spread / meanStandardError).toBeLessThan(1.12);
    // 380 ± 4.4 of 400.
    expect(coverageFraction).toBeGreaterThan(0.95 - 4 * 0.011);
    expect(Math.abs(requireValue(bias))).toBeLessThan(0.2 * spread);
    expect(check.failedCount).toBe(0);
    expect(check.findings).toEqual([]);
  });

  test('scatter more, by the root of τ, where neighbours are correlated', async () => {
    const spreads: number[] = [];
    for (const correlation of [0, 0.8]) {
      const run = noisyRun(2, { correlation });
      const check = await simulationCheck(fitCooler(run, structure), run, { count: 200, seed: 5 });
      spreads.push(check.thermalResistanceKPerW.spread);
    }
    // τ = (1 + 0.8) / (1 − 0.8) = 9; the correlation of one record is known to some 15 %.
    expect(spreads[1] / spreads[0]).toBeGreaterThan(2.2);
    expect(spreads[1] / spreads[0]).toBeLessThan(3.8);
  });

  test('are rounded where the sensor rounds, so that the scatter is that of noise and rounding together', async () => {
    const fine = noisyRun(3);
    const rounded = {
      ...fine,
      temperatureC: fine.temperatureC.map((reading) => 0.5 * Math.round(2 * reading)),
    };
    const [before, after] = await Promise.all(
      [fine, rounded].map((run) => simulationCheck(fitCooler(run, structure), run, { count: 200, seed: 5 })),
    );
    // √((0.2² + 0.5² / 12) / 0.2²) = 1.23, in ideal circumstances; each spread is known to 5 %.
    const ratio = after.thermalResistanceKPerW.spread / before.thermalResistanceKPerW.spread;
    expect(ratio).toBeGreaterThan(1.05);
    expect(ratio).toBeLessThan(1.45);
  });

  test('tell the steady rise at another power, with the exponent where it is fitted', async () => {
    const runs = [
      noisyRun(4, { label: 'high' }),
      noisyRun(5, { label: 'low', powerSteps: [{ atS: 30, powerW: 60 }] }),
    ];
    const model = fitCooler(runs, { stageCount: 2, sensorLag: false });
    const [at, beyond] = await Promise.all(
      [undefined, 140].map((powerW) =>
        simulationCheck(model, runs, { count: 100, seed: 5, ...(powerW === undefined ? {} : { powerW }) }),
      ),
    );
    expect(at.powerW).toBe(model.resistanceLaw.atPowerW);
    expect(at.steadyRiseK.spread / at.powerW).toBeCloseTo(at.thermalResistanceKPerW.spread, 12);
    expect(beyond.steadyRiseK.truth / 140).toBeCloseTo(0.52, 1);
    expect(beyond.steadyRiseK.spread / 140).toBeGreaterThan(1.5 * at.thermalResistanceKPerW.spread);
    // The prior of the exponent holds the refits together: they scatter less than is stated.
    expect(beyond.steadyRiseK.coverageFraction).toBeGreaterThan(0.88);
  });
});

describe('simulationCheck', () => {
  const run = noisyRun(1);
  const model = fitCooler(run, structure);

  test('repeats itself to the last digit, and not with another seed', async () => {
    const first = await simulationCheck(model, [run], { count: 30, seed: 9 });
    expect(await simulationCheck(model, [run], { count: 30, seed: 9 })).toEqual(first);
    const other = await simulationCheck(model, [run], { count: 30, seed: 10 });
    expect(other.thermalResistanceKPerW.spread).not.toBe(first.thermalResistanceKPerW.spread);
  });

  test('reports progress and ends when it is told to', async () => {
    const seen: number[] = [];
    await simulationCheck(model, run, { count: 50, onProgress: (doneCount) => seen.push(doneCount) });
    expect(seen).toEqual([20, 40, 50]);
    const stop = new AbortController();
    const stopped = simulationCheck(model, run, {
      count: 1000,
      signal: stop.signal,
      onProgress: (doneCount) => {
        if (doneCount === 40) stop.abort(new Error('enough'));
      },
    });
    await expect(stopped).rejects.toThrow('enough');
  });

  test('says in words that the stated standard error is too small', async () => {
    const boastful = {
      ...model,
      resistanceLaw: { ...model.resistanceLaw, resistanceStandardErrorKPerW: 1e-6 },
    };
    const { findings } = await simulationCheck(boastful, run, { count: 40 });
    expect(findings.map(({ code }) => code)).toContain('standard-error-too-small');
  });

  test.each([
    [{ count: 5 }, /`options.count` must be a finite number at least 20/],
    [{ count: 20.5 }, /`options.count` must be a whole number \(received 20.5\)/],
    [{ seed: -1 }, /`options.seed` must be a finite number at least 0/],
    [{ powerW: 0 }, /`options.powerW` must be a finite number above 0/],
  ])('refuses %o', async (options, message) => {
    await expect(simulationCheck(model, run, options)).rejects.toThrow(message);
  });

  test('refuses a model without stages', async () => {
    const steady = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 64, ambientC: 24 }]);
    await expect(simulationCheck(steady, run)).rejects.toThrow(/must be a model with stages/);
  });
});
