import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import type { Run } from '../../../../toolkit/runs/run.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { knownRun } from '../known-cooler.js';

const codesOf = (run: Run): string[] => fitCooler(run).findings.map(({ code }) => code);

const seconds = Array.from({ length: 1500 }, (_, i) => i);

/** One heat capacity whose resistance to the air falls as ΔT^−p, by small explicit steps: C T' = P − ΔT^(1+p) / r. */
function naturalConvection(p: number): Run {
  const random = seededRandom(3);
  const powerW = seconds.map((t) => (t < 60 ? 10 : 90));
  const [heatCapacityJPerK, scale] = [250, 0.5 * 45 ** p];
  let riseK = 0;
  for (let i = 0; i < 40_000; i++) riseK += (0.1 * (10 - riseK ** (1 + p) / scale)) / heatCapacityJPerK;
  const temperatureC = powerW.map((power) => {
    for (let sub = 0; sub < 20; sub++) {
      riseK += (0.05 * (power - riseK ** (1 + p) / scale)) / heatCapacityJPerK;
    }
    return 22 + riseK + 0.15 * random.normal();
  });
  return makeRun(
    { timeS: seconds, powerW, temperatureC },
    { label: 'one power', conditions: { ambientC: 22 } },
  );
}

describe('findings of a thermal fit', () => {
  it('say that the residuals follow the temperature difference where convection is natural', () => {
    const finding = fitCooler(naturalConvection(0.33)).findings.find(
      ({ code }) => code === 'convection-not-linear',
    );
    expect(finding?.message).toMatch(/R ∝ P\^−0\.[12]\d+, not the assumed −0\.042/);
    expect(finding?.remedy).toMatch(/second run at another power/);
  });

  it('do not say so where it is linear', () => {
    expect(codesOf(naturalConvection(0.04))).not.toContain('convection-not-linear');
  });

  it('say that the power never changes where the log begins with the load', () => {
    const random = seededRandom(4);
    const poles = [
      { timeConstantS: 6, resistanceKPerW: 0.2 },
      { timeConstantS: 130, resistanceKPerW: 0.3 },
    ];
    const noiseK = (): number => 0.1 * random.normal();
    const cold = knownRun({ timeS: seconds, poles, powerSteps: [{ atS: 0, powerW: 90 }], noiseK });
    const loaded = makeRun(
      { timeS: cold.timeS, temperatureC: cold.temperatureC, powerW: cold.powerW.map(() => 90) },
      { label: 'begins with the load', conditions: { ambientC: 22 } },
    );
    expect(codesOf(loaded)).toContain('power-never-changes');
    expect(codesOf(cold)).not.toContain('power-never-changes');
  });

  it('say that a log which idles tells little', () => {
    const random = seededRandom(5);
    const poles = [{ timeConstantS: 90, resistanceKPerW: 0.5 }];
    const noiseK = (): number => 0.1 * random.normal();
    const at = (powerW: number): Run =>
      knownRun({ timeS: seconds, poles, startPowerW: 4, powerSteps: [{ atS: 60, powerW }], noiseK });
    const finding = fitCooler(at(15)).findings.find(({ code }) => code === 'small-rise');
    expect(finding?.message).toMatch(/15 W, lifts the die only 7\.\d+ K above the air, .* 13\.\d* % wrong/);
    expect(codesOf(at(40))).not.toContain('small-rise');
  });

  it('say where a fan that follows the temperature hides what it changes', () => {
    const random = seededRandom(6);
    const cooler = (speedAt: (temperatureC: number, t: number) => number): Run => {
      let [rise, speed] = [6, 900];
      const temperatureC: number[] = [];
      const fanSpeedRpm: number[] = [];
      const powerW = seconds.map((t) => (t < 60 ? 10 : 80));
      for (const t of seconds) {
        speed += 0.2 * (speedAt(22 + rise, t) - speed);
        const resistance = 0.2 + 0.35 * (speed / 1200) ** -0.6;
        rise += (powerW[t] - rise / resistance) / 250;
        temperatureC.push(22 + rise + 0.1 * random.normal());
        fanSpeedRpm.push(speed + 5 * random.normal());
      }
      return makeRun(
        { timeS: seconds, powerW, temperatureC, fanSpeedRpm },
        { label: 'fan', conditions: { ambientC: 22 } },
      );
    };
    const driven = cooler((temperatureC) => 900 + 40 * Math.max(0, temperatureC - 40));
    expect(codesOf(driven)).toContain('fan-follows-temperature');
    const stepped = cooler((_, t) => (t < 900 ? 900 : 1800));
    expect(codesOf(stepped)).toContain('fan-speed-fitted');
    expect(codesOf(stepped)).not.toContain('fan-follows-temperature');
  });

  it('carry along what is serious in the logs: degrees Fahrenheit under a header that says Celsius', () => {
    const random = seededRandom(7);
    const poles = [{ timeConstantS: 90, resistanceKPerW: 0.5 }];
    const noiseK = (): number => 0.1 * random.normal();
    const run = knownRun({ timeS: seconds, poles, powerSteps: [{ atS: 60, powerW: 90 }], noiseK });
    const inF = makeRun(
      {
        timeS: run.timeS,
        powerW: run.powerW,
        temperatureC: run.temperatureC.map((celsius) => 32 + 1.8 * celsius),
      },
      { label: 'mislabelled', conditions: { ambientC: 22 } },
    );
    const finding = fitCooler(inF).findings.find(({ code }) => code === 'implausible-range');
    expect(finding?.severity).toBe('serious');
    expect(finding?.message).toMatch(/^Run "mislabelled": The temperature reaches 1\d\d\.\d °C/);
    expect(codesOf(run)).not.toContain('implausible-range');
  });
});
