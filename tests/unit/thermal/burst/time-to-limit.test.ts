import { describe, expect, test } from 'vitest';
import { requireValue } from '../../../../toolkit/numerics/estimates.js';
import { propagate } from '../../../../toolkit/numerics/propagation.js';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { timeToLimit } from '../../../../toolkit/thermal/burst/time-to-limit.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { simulateTemperature } from '../../../../toolkit/thermal/simulate.js';
import { steadyTemperature } from '../../../../toolkit/thermal/steady-temperature.js';
import { everyS, knownRun, modelWith } from '../known-cooler.js';

const poles = [
  { timeConstantS: 4, resistanceKPerW: 0.1 },
  { timeConstantS: 120, resistanceKPerW: 0.4 },
];
const model = modelWith(poles);
const scenario = { powerW: 100, limitC: 60, ambientC: 22 };

/** Without uncertainty, so that only the central answer speaks. */
const exactly = (more: Parameters<typeof modelWith>[1] = {}) =>
  modelWith(poles, { resistanceStandardErrorKPerW: 0, ...more });

const reachedS = (...[ofModel, question]: Parameters<typeof timeToLimit>): number => {
  const answer = timeToLimit(ofModel, question);
  if (answer.kind !== 'reached') throw new Error(`reached, not ${answer.kind}`);
  return requireValue(answer.timeS);
};

describe('timeToLimit', () => {
  test.each([
    ['from the air', {}, {}],
    ['from an earlier power', {}, { startPowerW: 50 }],
    ['from a state of each stage', {}, { startPowerW: [70, 30] }],
    ['with a sensor lag', { sensorLagS: 3 }, { startPowerW: 20 }],
    ['with a bent convection', { powerExponent: 0.12 }, { startPowerW: 35 }],
    ['with both', { sensorLagS: 9, powerExponent: 0.08 }, { startPowerW: [40, 20] }],
  ])('is the time at which the simulated temperature is at the limit, %s', (_, numbers, start) => {
    const cooler = exactly(numbers);
    const timeS = reachedS(cooler, { ...scenario, ...start });
    const [, temperatureC] = simulateTemperature(cooler, {
      timeS: [0, timeS],
      powerW: 100,
      ambientC: 22,
      ...start,
    });
    expect(temperatureC).toBeCloseTo(60, 8);
  });

  test('finds the first crossing where a hot fast stage rises above the limit before the slow one cools', () => {
    // Fast stage cold, slow one hot: up past the limit within seconds, then down for good.
    const start = { startPowerW: [0, 130] };
    const powerW = 60;
    const limitC = 22 + 54;
    const simulated = simulateTemperature(exactly(), {
      timeS: everyS(0.01, 60),
      powerW,
      ambientC: 22,
      ...start,
    });
    const first = simulated.findIndex((temperature) => temperature >= limitC);
    expect(Math.max(...simulated)).toBeGreaterThan(limitC);
    expect(simulated.at(-1)).toBeLessThan(limitC);
    expect(
      Math.abs(reachedS(exactly(), { powerW, limitC, ambientC: 22, ...start }) - first * 0.01),
    ).toBeLessThan(0.011);
  });

  test('never, where the steady temperature stays below, and by how much, as steadyTemperature says', () => {
    const answer = timeToLimit(model, { ...scenario, powerW: 70 });
    if (answer.kind !== 'never') throw new Error(answer.kind);
    const steady = steadyTemperature(model, { powerW: 70, ambientC: 22 });
    if (steady.kind !== 'estimated' || answer.highestTemperatureC.kind !== 'estimated')
      throw new Error('estimated');
    expect(answer.highestTemperatureC.value).toBeCloseTo(steady.value, 9);
    expect(requireValue(answer.marginK)).toBeCloseTo(60 - 22 - 35, 9);
    // Student's t of 100 degrees of freedom as a stretched normal: 1.2 % wider; quasi-random draws add about 1 %.
    expect(answer.highestTemperatureC.standardError / steady.standardError).toBeCloseTo(1, 1);
    const halfWidthK = (steady.interval95[1] - steady.interval95[0]) / 2;
    for (const side of [0, 1])
      expect(
        Math.abs(answer.highestTemperatureC.interval95[side] - steady.interval95[side]) / halfWidthK,
      ).toBeLessThan(0.04);
    expect(answer.reachedFraction).toBe(0);
  });

  test('the highest temperature on the way counts, also where the steady one is lower', () => {
    const answer = timeToLimit(exactly(), { powerW: 60, limitC: 85, ambientC: 22, startPowerW: [0, 130] });
    if (answer.kind !== 'never') throw new Error(answer.kind);
    const simulated = simulateTemperature(exactly(), {
      timeS: everyS(0.05, 60),
      powerW: 60,
      ambientC: 22,
      startPowerW: [0, 130],
    });
    expect(requireValue(answer.highestTemperatureC)).toBeCloseTo(Math.max(...simulated), 2);
    expect(requireValue(answer.highestTemperatureC)).toBeGreaterThan(22 + 50);
  });

  test('already, where the start is above the limit', () => {
    expect(timeToLimit(exactly(), { ...scenario, startPowerW: 90 })).toEqual({
      kind: 'already',
      excessK: expect.closeTo(7, 9),
    });
  });

  test('a start temperature is the steady state that has it', () => {
    for (const powerExponent of [0, 0.1]) {
      const cooler = exactly({ powerExponent });
      const startTemperatureC = requireValue(steadyTemperature(cooler, { powerW: 40, ambientC: 22 }));
      expect(reachedS(cooler, { ...scenario, startTemperatureC })).toBeCloseTo(
        reachedS(cooler, { ...scenario, startPowerW: 40 }),
        7,
      );
    }
  });

  test('an enclosure warms the air, peaks take from the limit', () => {
    const warm = reachedS(exactly(), { ...scenario, enclosure: { riseK: 5, atPowerW: 50 } });
    expect(warm).toBeCloseTo(reachedS(exactly(), { ...scenario, limitC: 50 }), 9);
    const cooler = { ...exactly(), noise: { ...model.noise, peakAboveMeanK: 1.5 } };
    expect(reachedS(cooler, { ...scenario, limitAppliesTo: 'peak' })).toBeCloseTo(
      reachedS(cooler, { ...scenario, limitC: 58.5 }),
      9,
    );
  });

  test('where the steady temperature is near the limit there is no upper end, but a soonest time', () => {
    const answer = timeToLimit(model, { ...scenario, powerW: 76.1 });
    if (answer.kind !== 'reached') throw new Error(answer.kind);
    expect(answer.timeS).toMatchObject({ kind: 'unavailable', reason: 'not-identifiable' });
    // The steady rise is 38.05 ± 0.152 K (one standard error, ν = 100) against 38 K: Φ(0.33) = 0.63.
    expect(answer.reachedFraction).toBeCloseTo(0.63, 1);
    expect(answer.soonestS).toBeGreaterThan(300);
    expect(answer.soonestS).toBeLessThan(requireValue(answer.timeS));
  });

  test('the same question has the same answer', () => {
    expect(timeToLimit(model, scenario)).toEqual(timeToLimit(model, scenario));
  });

  test('marks a power that was not logged', () => {
    const answer = timeToLimit(model, scenario);
    expect(answer).toMatchObject({ timeS: { extrapolated: true } });
    expect(timeToLimit(model, { ...scenario, powerW: 80 })).toMatchObject({ timeS: { extrapolated: false } });
  });
});

test('draws and first-order propagation agree on the spread where the limit is far from the steady temperature', () => {
  const random = seededRandom(31);
  const run = knownRun({
    timeS: everyS(1, 1200),
    poles,
    startPowerW: 10,
    powerSteps: [{ atS: 30, powerW: 100 }],
    noiseK: () => 0.3 * random.normal(),
  });
  const fitted = fitCooler(run, { stageCount: 2, sensorLag: false, powerExponent: 0 });
  const answer = timeToLimit(fitted, { powerW: 100, limitC: 52, ambientC: 22 });
  if (answer.kind !== 'reached' || answer.timeS.kind !== 'estimated') throw new Error('reached');
  const { parameters, matrix } = fitted.covariance;
  const names = ['logTimeConstantS[1]', 'logTimeConstantS[2]', 'resistanceKPerW[1]', 'resistanceKPerW[2]'];
  const places = names.map((name) => parameters.indexOf(name));
  const covariance = places.map((a) => places.map((b) => matrix[a][b]));
  const sum = covariance[2][2] + covariance[3][3] + 2 * covariance[2][3];
  const total = requireValue(fitted.thermalResistanceKPerW);
  const extra = (fitted.resistanceLaw.resistanceStandardErrorKPerW ** 2 - sum) / total ** 2;
  const { timeConstantsS, resistancesKPerW } = fitted.poles!;
  const withFactor = [...covariance.map((row) => [...row, 0]), [0, 0, 0, 0, extra]];
  const first = propagate(
    ([logFast, logSlow, fast, slow, logFactor]) =>
      reachedS(
        modelWith(
          [
            { timeConstantS: Math.exp(logFast), resistanceKPerW: Math.exp(logFactor) * fast },
            { timeConstantS: Math.exp(logSlow), resistanceKPerW: Math.exp(logFactor) * slow },
          ],
          { resistanceStandardErrorKPerW: 0 },
        ),
        { powerW: 100, limitC: 52, ambientC: 22 },
      ),
    [...timeConstantsS.map(Math.log), ...resistancesKPerW, 0],
    withFactor,
  );
  expect(answer.timeS.value).toBeCloseTo(first.value, 6);
  // What bends over one standard error adds a few per cent.
  expect(Math.abs(answer.timeS.standardError / first.standardError - 1)).toBeLessThan(0.1);
  // And the truth is held: exactly known here.
  const truthS = reachedS(exactly(), { powerW: 100, limitC: 52, ambientC: 22 });
  expect(answer.timeS.interval95[0]).toBeLessThan(truthS);
  expect(answer.timeS.interval95[1]).toBeGreaterThan(truthS);
});

describe('timeToLimit refuses', () => {
  test('a model without stages', () => {
    const averages = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 62, ambientC: 22 }]);
    expect(() => timeToLimit(averages, scenario)).toThrow(/timeToLimit: `model` must be a model with stages/);
  });

  test.each([
    [{ powerW: 0 }, 'scenario.powerW', 'a finite number above 0'],
    [{ powerW: Number.NaN }, 'scenario.powerW', 'a finite number above 0'],
    [{ limitC: Number.NaN }, 'scenario.limitC', 'a finite number'],
    [{ limitC: 22 }, 'scenario.limitC', 'above 22.0 °C, the intake air'],
    [{ limitC: 30, enclosure: { riseK: 9 } }, 'scenario.limitC', 'above 31.0 °C, the intake air'],
    [{ ambientC: -300 }, 'scenario.ambientC', 'a finite number above -273.15'],
    [{ startPowerW: -1 }, 'scenario.startPowerW', 'a finite number at least 0'],
    [{ startPowerW: [1] }, 'scenario.startPowerW', 'one number or 2 of them, one a stage'],
    [{ startPowerW: [1, Number.NaN] }, 'scenario.startPowerW\\[1\\]', 'a finite number at least 0'],
    [{ startTemperatureC: 20 }, 'scenario.startTemperatureC', 'a finite number at least 22'],
    [
      { startTemperatureC: 30, startPowerW: 5 },
      'scenario.startTemperatureC',
      'given alone, without startPowerW',
    ],
    [{ confidence: 1 }, 'scenario.confidence', 'a finite number at least 0.5 and at most 0.99'],
    [{ limitAppliesTo: 'top' as 'peak' }, 'scenario.limitAppliesTo', "'mean' or 'peak'"],
  ])('%j', (changes, argument, expected) => {
    expect(() => timeToLimit(model, { ...scenario, ...changes })).toThrow(
      new RegExp(`timeToLimit: \`${argument}\` must be ${expected}`),
    );
  });
});
