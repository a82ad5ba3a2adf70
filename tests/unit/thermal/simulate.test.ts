import { describe, expect, test } from 'vitest';
import { coolerFromSteadyPoints } from '../../../toolkit/thermal/cooler-from-steady-points.js';
import { simulateTemperature } from '../../../toolkit/thermal/simulate.js';
import { everyS, knownRiseK, modelWith } from './known-cooler.js';

const poles = [
  { timeConstantS: 4, resistanceKPerW: 0.1 },
  { timeConstantS: 120, resistanceKPerW: 0.4 },
];
const model = modelWith(poles);
const step = { timeS: [0, 1, 5], powerW: 80, ambientC: 22 };

describe('simulateTemperature', () => {
  test.each([undefined, 0.5, 12])('agrees with closed-form step responses, sensor lag %s s', (sensorLagS) => {
    const powerSteps = [
      { atS: 0, powerW: 90 },
      { atS: 60, powerW: 15 },
      { atS: 90, powerW: 70 },
    ];
    const timeS = everyS(2.5, 300);
    const powerW = timeS.map((t) => (t <= 60 ? 90 : t <= 90 ? 15 : 70));
    const simulated = simulateTemperature(modelWith(poles, sensorLagS === undefined ? {} : { sensorLagS }), {
      timeS,
      powerW,
      ambientC: 21,
      startPowerW: 20,
    });
    const known = { poles, powerSteps, startPowerW: 20, ...(sensorLagS === undefined ? {} : { sensorLagS }) };
    simulated.forEach((temperatureC, i) => {
      expect(temperatureC).toBeCloseTo(21 + knownRiseK(timeS[i], known), 9);
    });
  });

  test('a sensor lag that equals a time constant is the limit of both, 1 − (1 + t/τ) exp(−t/τ), to 1e-4 of the rise', () => {
    const [pole] = poles;
    const timeS = everyS(0.5, 40);
    const simulated = simulateTemperature(modelWith([pole], { sensorLagS: pole.timeConstantS }), {
      timeS,
      powerW: 80,
      ambientC: 22,
    });
    simulated.forEach((temperatureC, i) => {
      const t = timeS[i] / pole.timeConstantS;
      const riseK = 80 * pole.resistanceKPerW * (1 - (1 + t) * Math.exp(-t));
      expect(Math.abs(temperatureC - 22 - riseK)).toBeLessThan(1e-4 * 8);
    });
  });

  test('starts at ambient unless an earlier power is given, one for all stages or one each', () => {
    expect(simulateTemperature(model, step)[0]).toBe(22);
    expect(simulateTemperature(model, { ...step, startPowerW: 40 })[0]).toBeCloseTo(22 + 40 * 0.5, 12);
    expect(simulateTemperature(model, { ...step, startPowerW: [10, 50] })[0]).toBeCloseTo(22 + 1 + 20, 12);
  });

  test('takes interval means for the step before, instants for the step after', () => {
    const timeS = [0, 10, 20];
    const mean = simulateTemperature(model, { timeS, powerW: [0, 80, 0], ambientC: 22 });
    expect(
      simulateTemperature(model, { timeS, powerW: [80, 0, 0], ambientC: 22, powerSample: 'instant' }),
    ).toEqual(mean);
    expect(mean[1]).toBeGreaterThan(22);
  });

  test('passes the air through the slowest stage', () => {
    const slow = modelWith(poles, { airTimeConstantS: 120 });
    const timeS = everyS(1, 1200);
    const ambientC = timeS.map((t) => (t < 200 ? 20 : 25));
    const temperatureC = simulateTemperature(slow, { timeS, powerW: 0, ambientC });
    expect(temperatureC[199]).toBeCloseTo(20, 9);
    // One time constant after the air rose by 5 K.
    expect(temperatureC[320]).toBeCloseTo(20 + 5 * (1 - Math.exp(-1)), 1);
    expect(temperatureC[1200]).toBeCloseTo(25, 2);
  });

  test('with a convection that improves with power settles at P R (P / P₀)^−q', () => {
    const bent = modelWith(poles, { powerExponent: 0.1, atPowerW: 80 });
    for (const powerW of [20, 80, 130]) {
      const [, end] = simulateTemperature(bent, { timeS: [0, 5000], powerW, ambientC: 22 });
      expect(end).toBeCloseTo(22 + powerW * 0.5 * (powerW / 80) ** -0.1, 8);
    }
  });

  test('never gives what is not a number, from rest and at no power', () => {
    const bent = modelWith(poles, { powerExponent: 0.1 });
    expect(Array.from(simulateTemperature(bent, { ...step, powerW: 0 }))).toEqual([22, 22, 22]);
  });

  test('leaves its input as it was', () => {
    const simulation = {
      timeS: Float64Array.of(0, 1, 2),
      powerW: Float64Array.of(0, 80, 80),
      ambientC: Float64Array.of(22, 22, 23),
    };
    const before = structuredClone(simulation);
    simulateTemperature(model, simulation);
    expect(simulation).toEqual(before);
  });

  test('refuses a model made from averages, with the remedy', () => {
    const averages = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 64, ambientC: 24, label: 'noon' }]);
    expect(() => simulateTemperature(averages, step)).toThrow(
      /^simulateTemperature: `model` must be a model with stages \(received .*noon.*, made from steady points.*\); fit a run with fitCooler that holds a change of power: idle before the load, or cool-down after it$/,
    );
  });

  test.each([
    [{ powerW: [80, 80] }, 'simulation.powerW', 'one number or 3 of them', '"2 of them"'],
    [{ ambientC: [22] }, 'simulation.ambientC', 'one number or 3 of them', '"1 of them"'],
    [{ timeS: [0, 5, 5] }, 'simulation.timeS[2] − timeS[1]', 'a finite number above 0', '0'],
    [{ timeS: [0, 5, 4] }, 'simulation.timeS[2] − timeS[1]', 'a finite number above 0', '-1'],
    [{ powerW: Number.NaN }, 'simulation.powerW', 'a finite number', 'NaN'],
    [{ powerW: [80, 80, Number.NaN] }, 'simulation.powerW[2]', 'a finite number', 'NaN'],
    [{ ambientC: Number.NaN }, 'simulation.ambientC', 'a finite number', 'NaN'],
    [{ startPowerW: [10] }, 'simulation.startPowerW', 'one number or 2 of them, one a stage', '"1 of them"'],
    [{ startPowerW: Number.NaN }, 'simulation.startPowerW', 'a finite number', 'NaN'],
  ])('refuses %j', (changes, argument, expected, received) => {
    expect(() => simulateTemperature(model, { ...step, ...changes })).toThrow(
      `simulateTemperature: \`${argument}\` must be ${expected} (received ${received})`,
    );
  });
});
