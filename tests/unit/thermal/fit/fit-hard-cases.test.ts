import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { everyS, knownRun } from '../known-cooler.js';

const noise = (seed: number, sizeK: number): (() => number) => {
  const random = seededRandom(seed);
  return () => sizeK * random.normal();
};

describe('noise is taken from the candidate that describes the data, lag or not', () => {
  const run = knownRun({
    timeS: everyS(1, 570),
    poles: [{ timeConstantS: 135, resistanceKPerW: 0.36 }],
    sensorLagS: 15,
    startPowerW: 10,
    powerSteps: [
      { atS: 60, powerW: 85 },
      { atS: 260, powerW: 10 },
      { atS: 460, powerW: 85 },
    ],
    noiseK: noise(3, 0.2),
  });
  test('one stage with a lag is chosen over one stage without', () => {
    const model = fitCooler(run, { powerExponent: 0, stageCount: 1 });
    expect(model.orders.find((order) => order.chosen)).toMatchObject({ sensorLag: true });
  });
  test('white noise leaves about as many independent samples as there are', () => {
    expect(fitCooler(run, { powerExponent: 0 }).noise.effectiveSampleCount).toBeGreaterThan(300);
  });
});

test('moving air reaches the die through the slowest stage that was fitted, not through a draft’s', () => {
  const random = seededRandom(13);
  const [timeConstantS, resistanceKPerW] = [300, 0.4];
  const timeS = everyS(1, 2399);
  const ambientC = timeS.map((t) => 23 + 8 * Math.sin((2 * Math.PI * t) / 5000));
  const powerW = timeS.map((t) => (t > 60 && t < 1500 ? 85 : 10));
  const kept = Math.exp(-1 / timeConstantS);
  let airC = ambientC[0];
  let riseK = 10 * resistanceKPerW;
  const temperatureC = powerW.map((p, i) => {
    if (i > 0) {
      const between = (ambientC[i] + ambientC[i - 1]) / 2;
      airC = between + kept * (airC - between);
      riseK = resistanceKPerW * p + kept * (riseK - resistanceKPerW * p);
    }
    return airC + riseK + 0.1 * random.normal();
  });
  const run = makeRun({ timeS, powerW, temperatureC, ambientC }, { label: 'moving air' });
  const model = fitCooler(run, { powerExponent: 0 });
  expect(Math.abs((model.poles?.airTimeConstantS ?? 0) / timeConstantS - 1)).toBeLessThan(0.05);
  expect(model.noise.standardDeviationK).toBeLessThan(0.11);
  expect(Math.abs(model.resistanceLaw.thermalResistanceKPerW / resistanceKPerW - 1)).toBeLessThan(0.01);
});

test('a stage slower than three runs is called a guess, not dropped for a wrong one', () => {
  const run = knownRun({
    timeS: everyS(1, 400),
    poles: [
      { timeConstantS: 6, resistanceKPerW: 0.1 },
      { timeConstantS: 1300, resistanceKPerW: 0.3 },
    ],
    startPowerW: 10,
    powerSteps: [{ atS: 30, powerW: 85 }],
    noiseK: noise(60, 0.1),
  });
  const model = fitCooler(run, { powerExponent: 0 });
  expect(model.findings.map(({ code }) => code)).toContain('time-constant-beyond-run');
});

test('a steady load whose power flickers by a watt still gives the total resistance', () => {
  const random = seededRandom(1);
  const timeS = everyS(1, 900);
  const run = makeRun(
    {
      timeS,
      powerW: timeS.map(() => 80 + random.normal()),
      temperatureC: timeS.map(() => 63 + 0.2 * random.normal()),
    },
    { label: 'steady', conditions: { ambientC: 23 } },
  );
  const model = fitCooler(run, { powerExponent: 0 });
  expect(model.resistanceLaw.thermalResistanceKPerW).toBeCloseTo(0.5, 2);
  expect(model.findings.map(({ code }) => code)).toContain('stages-not-identifiable');
});

test('samples that are no numbers in a run made by hand are named by run, column and sample', () => {
  const run = knownRun({
    timeS: everyS(1, 600),
    poles: [{ timeConstantS: 60, resistanceKPerW: 0.5 }],
    powerSteps: [{ atS: 30, powerW: 80 }],
    noiseK: noise(1, 0.1),
  });
  const powerW = run.powerW.slice();
  powerW[400] = Number.NaN;
  expect(() => fitCooler({ ...run, powerW })).toThrow(/powerW\[400\]/);
});
