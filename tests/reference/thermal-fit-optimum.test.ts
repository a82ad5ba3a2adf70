// The fit against the optimum an outside library finds: SciPy 1.10 `least_squares(method="lm")` over
// `scipy.signal.lfilter`, by fixtures/two-stage-fit.py.
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { makeRun } from '../../toolkit/runs/make-run.js';
import { fitCooler } from '../../toolkit/thermal/fit/fit-cooler.js';
import { fitOf } from '../../toolkit/thermal/fit/fit-of.js';

interface Optimum {
  readonly seed: number;
  readonly timeConstantsS: readonly [number, number];
  readonly resistancesKPerW: readonly [number, number];
  readonly startPowerW: number;
  readonly sumOfSquaresK2: number;
  readonly logTimeConstantStandardErrors: readonly [number, number];
  readonly resistanceStandardErrorsKPerW: readonly [number, number];
  readonly lastRiseK: number;
}

const optimum = JSON.parse(
  readFileSync(new URL('./fixtures/two-stage-fit.json', import.meta.url), 'utf8'),
) as Optimum;

const powerW = (t: number): number => (t <= 40 ? 12 : t <= 700 ? 92 : t <= 760 ? 35 : t <= 1300 ? 78 : 15);

/** The record of the script, by the same arithmetic. */
function record(): { timeS: number[]; powerW: number[]; riseK: number[] } {
  const timeS = Array.from({ length: 1500 }, (_, i) => i);
  let state = optimum.seed;
  const uniform = (): number => {
    state = (Math.imul(1664525, state) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  const stages = [
    { kept: Math.exp(-1 / 7), resistance: 0.11, y: 12 },
    { kept: Math.exp(-1 / 160), resistance: 0.41, y: 12 },
  ];
  const riseK = timeS.map((t) => {
    let sum = 0;
    for (let i = 0; i < 12; i++) sum += uniform();
    let rise = 0.2 * (sum - 6);
    for (const stage of stages) {
      if (t > 0) stage.y = stage.kept * stage.y + (1 - stage.kept) * powerW(t);
      rise += stage.resistance * stage.y;
    }
    return rise;
  });
  return { timeS, powerW: timeS.map(powerW), riseK };
}

describe('a two-stage fit of 1,500 noisy samples', () => {
  const { timeS, powerW: powers, riseK } = record();
  const run = makeRun(
    { timeS, powerW: powers, temperatureC: riseK.map((rise) => 22 + rise) },
    { label: 'two stages', conditions: { ambientC: 22 } },
  );
  const model = fitCooler(run, { stageCount: 2, sensorLag: false, powerExponent: 0 });
  const close = (value: number | undefined, expected: number): number =>
    Math.abs((value ?? Number.NaN) / expected - 1);

  test('starts from the same record as the script', () => {
    expect(riseK[1499]).toBeCloseTo(optimum.lastRiseK, 10);
  });

  test('ends at the parameters SciPy finds, to 1e-5', () => {
    optimum.timeConstantsS.forEach((timeConstantS, k) => {
      expect(close(model.poles?.timeConstantsS[k], timeConstantS)).toBeLessThan(1e-5);
      expect(close(model.poles?.resistancesKPerW[k], optimum.resistancesKPerW[k])).toBeLessThan(1e-5);
    });
    expect(close(model.starts[0].startPowerW[0], optimum.startPowerW)).toBeLessThan(1e-5);
  });

  test('with the same sum of squares, to 1e-9', () => {
    const sum = fitOf(model, run).residualK.reduce((total, residual) => total + residual ** 2, 0);
    expect(close(sum, optimum.sumOfSquaresK2)).toBeLessThan(1e-9);
  });

  test('and, the noise being white, nearly the same standard errors: 10 % for what residuals say of their correlation', () => {
    model.stages.forEach(({ timeConstantS, resistanceKPerW }, k) => {
      if (timeConstantS.kind !== 'estimated' || resistanceKPerW.kind !== 'estimated')
        throw new Error('estimated');
      const relative = timeConstantS.standardError / timeConstantS.value;
      expect(close(relative, optimum.logTimeConstantStandardErrors[k])).toBeLessThan(0.1);
      expect(close(resistanceKPerW.standardError, optimum.resistanceStandardErrorsKPerW[k])).toBeLessThan(
        0.1,
      );
    });
  });
});
