import { describe, expect, test } from 'vitest';
import { requireValue } from '../../../../toolkit/numerics/estimates.js';
import { burstPower } from '../../../../toolkit/thermal/burst/burst-power.js';
import { timeToLimit } from '../../../../toolkit/thermal/burst/time-to-limit.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import { simulateTemperature } from '../../../../toolkit/thermal/simulate.js';
import { steadyTemperature } from '../../../../toolkit/thermal/steady-temperature.js';
import { modelWith } from '../known-cooler.js';

const poles = [
  { timeConstantS: 4, resistanceKPerW: 0.1 },
  { timeConstantS: 120, resistanceKPerW: 0.4 },
];
const model = modelWith(poles, { powerExponent: 0.06, sensorLagS: 1.5, exponentStandardError: 0.01 });
const scenario = { durationS: 90, limitC: 70, ambientC: 24, startPowerW: 15 };

describe('burstPower', () => {
  test('is the power at which the simulated temperature is at the limit when the burst ends', () => {
    const powerW = requireValue(burstPower(model, scenario).powerW);
    const [, temperatureC] = simulateTemperature(model, {
      timeS: [0, 90],
      powerW,
      ambientC: 24,
      startPowerW: 15,
    });
    expect(temperatureC).toBeCloseTo(70, 8);
  });

  test('and timeToLimit gives the duration back', () => {
    const powerW = requireValue(burstPower(model, scenario).powerW);
    const time = timeToLimit(model, { powerW, limitC: 70, ambientC: 24, startPowerW: 15 });
    expect(time.kind === 'reached' && requireValue(time.timeS)).toBeCloseTo(90, 5);
  });

  test('for ever it is the sustained power, whose steady temperature is the limit', () => {
    const { powerW, sustainedPowerW } = burstPower(model, { ...scenario, durationS: 1e5 });
    expect(requireValue(powerW)).toBeCloseTo(requireValue(sustainedPowerW), 8);
    const steady = steadyTemperature(model, { powerW: requireValue(sustainedPowerW), ambientC: 24 });
    expect(requireValue(steady)).toBeCloseTo(70, 8);
  });

  test('the value at a confidence holds the limit in that share of the draws: a normal quantile below the estimate', () => {
    const sure = burstPower(model, { ...scenario, confidence: 0.95 });
    if (sure.powerW.kind !== 'estimated') throw new Error('estimated');
    const { value, standardError } = sure.powerW;
    // t₀.₉₅(100) = 1.66; the draws fix this quantile to a few hundredths of a standard error.
    expect(Math.abs((value - sure.atConfidenceW) / standardError - 1.66)).toBeLessThan(0.08);
    expect(burstPower(model, { ...scenario, confidence: 0.5 }).atConfidenceW).toBeLessThanOrEqual(value);
  });

  test('an enclosure that warms with the power is taken as warmed by the burst', () => {
    const powerW = requireValue(
      burstPower(model, { ...scenario, enclosure: { riseK: 6, atPowerW: 100 } }).powerW,
    );
    const fixed = burstPower(model, { ...scenario, enclosure: { riseK: 0.06 * powerW } });
    expect(requireValue(fixed.powerW)).toBeCloseTo(powerW, 7);
  });

  test('marks powers that were not logged, each on its own', () => {
    const { powerW, sustainedPowerW } = burstPower(
      { ...model, testedRange: { ...model.testedRange, powerW: [80, 100] } },
      { ...scenario, durationS: 10 },
    );
    expect(powerW).toMatchObject({ extrapolated: true });
    expect(sustainedPowerW).toMatchObject({ extrapolated: false });
  });

  test('refuses a start above the limit', () => {
    expect(() => burstPower(model, { ...scenario, startPowerW: 120 })).toThrow(
      'burstPower: `scenario.startPowerW` must be a power whose steady temperature lies below the limit of 70 °C (received 120); start from a lower power, or see burstSchedule for how long to pause',
    );
  });

  test.each([
    [{ durationS: 0 }, 'scenario.durationS', 'a finite number above 0'],
    [{ durationS: -5 }, 'scenario.durationS', 'a finite number above 0'],
    [{ limitC: 20 }, 'scenario.limitC', 'above 24.0 °C, the intake air'],
    [{ confidence: 0.2 }, 'scenario.confidence', 'a finite number at least 0.5 and at most 0.99'],
    [{ startPowerW: Number.NaN }, 'scenario.startPowerW', 'a finite number at least 0'],
  ])('refuses %j', (changes, argument, expected) => {
    expect(() => burstPower(model, { ...scenario, ...changes })).toThrow(
      `burstPower: \`${argument}\` must be ${expected}`,
    );
  });

  test('refuses a model without stages', () => {
    const averages = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 62, ambientC: 22 }]);
    expect(() => burstPower(averages, scenario)).toThrow(/burstPower: `model` must be a model with stages/);
  });
});
