import { describe, expect, test } from 'vitest';
import { requireValue } from '../../../../toolkit/numerics/estimates.js';
import {
  type BurstScheduleScenario,
  burstSchedule,
} from '../../../../toolkit/thermal/burst/burst-schedule.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import type { CoolerModel } from '../../../../toolkit/thermal/cooler-model.js';
import { simulateTemperature } from '../../../../toolkit/thermal/simulate.js';
import { modelWith } from '../known-cooler.js';

const poles = [
  { timeConstantS: 4, resistanceKPerW: 0.1 },
  { timeConstantS: 120, resistanceKPerW: 0.4 },
];
const plain = modelWith(poles);
const lagged = modelWith(poles, { sensorLagS: 2, powerExponent: 0.07 });
const scenario = { powerW: 120, idlePowerW: 15, limitC: 70, ambientC: 22 };

const sustainable = (model: CoolerModel, question: BurstScheduleScenario) => {
  const schedule = burstSchedule(model, question);
  if (schedule.kind !== 'sustainable') throw new Error(`sustainable, not ${schedule.kind}`);
  return schedule;
};

/** Highest and lowest simulated temperature of a late period, looked at every 1/400 of it. */
function extremes(model: CoolerModel, onS: number, offS: number): { highest: number; lowest: number } {
  const periodS = onS + offS;
  const periods = Math.ceil(3000 / periodS);
  const timeS = [0];
  const powerW = [0];
  for (let n = 0; n < periods; n++) {
    const steps = n < periods - 1 ? 1 : 200;
    for (let i = 1; i <= steps; i++) {
      timeS.push(n * periodS + (onS * i) / steps);
      powerW.push(scenario.powerW);
    }
    for (let i = 1; i <= steps; i++) {
      timeS.push(n * periodS + onS + (offS * i) / steps);
      powerW.push(scenario.idlePowerW);
    }
  }
  const last = simulateTemperature(model, { timeS, powerW, ambientC: 22, startPowerW: 40 }).slice(-400);
  return { highest: Math.max(...last), lowest: Math.min(...last) };
}

describe('burstSchedule', () => {
  test.each([
    ['plain', plain],
    ['with sensor lag and bent convection', lagged],
  ])(
    'given a burst, finds the pause after which the simulated periodic maximum is the limit: %s',
    (_, model) => {
      const schedule = sustainable(model, { ...scenario, onS: 60 });
      expect(schedule.onS).toEqual({ kind: 'unavailable', reason: 'fixed', value: 60 });
      const { highest, lowest } = extremes(model, 60, requireValue(schedule.offS));
      // Looked at every 0.3 s, a maximum after the burst is missed by less than 0.005 K.
      expect(highest).toBeCloseTo(70, 2);
      expect(schedule.lowestC).toBeCloseTo(lowest, 6);
    },
  );

  test('behind a lagging sensor the highest temperature is that of the closed form, soon after the burst', () => {
    // One stage of 0.5 K/W, τ = 60 s, behind a first-order sensor of 4 s. After a burst in a periodic state the sensor's rise
    // over that of idling is proportional to a·e^(−t/τ) τ − b·e^(−t/τₛ) τₛ, where a and b are the parts the burst leaves in
    // either pole; its slope is zero at t = ln(b/a) / (1/τₛ − 1/τ).
    const [stageS, lagS, onS] = [60, 4, 20];
    const model = modelWith([{ timeConstantS: stageS, resistanceKPerW: 0.5 }], { sensorLagS: lagS });
    const offS = requireValue(sustainable(model, { ...scenario, onS }).offS);
    const part = (poleS: number): number => Math.expm1(-onS / poleS) / Math.expm1(-(onS + offS) / poleS);
    const [a, b] = [part(stageS), part(lagS)];
    const afterS = Math.log(b / a) / (1 / lagS - 1 / stageS);
    const share =
      (a * stageS * Math.exp(-afterS / stageS) - b * lagS * Math.exp(-afterS / lagS)) / (stageS - lagS);
    const { ambientC, idlePowerW, powerW, limitC } = scenario;
    expect(afterS).toBeGreaterThan(1);
    // The sections end within 20 halvings by the golden ratio of 48 s, 0.003 s, at a flat maximum: 1e-5 K.
    expect(ambientC + 0.5 * (idlePowerW + (powerW - idlePowerW) * share)).toBeCloseTo(limitC, 5);
  });

  test.each([
    ['plain', plain],
    ['with sensor lag and bent convection', lagged],
  ])('given a period, finds the longest burst: %s', (_, model) => {
    const schedule = sustainable(model, { ...scenario, periodS: 100 });
    const onS = requireValue(schedule.onS);
    expect(onS + requireValue(schedule.offS)).toBeCloseTo(100, 9);
    expect(requireValue(schedule.dutyFraction)).toBeCloseTo(onS / 100, 12);
    expect(requireValue(schedule.meanPowerW)).toBeCloseTo(15 + (onS / 100) * 105, 9);
    expect(extremes(model, onS, 100 - onS).highest).toBeCloseTo(70, 2);
  });

  test('the two ways round agree', () => {
    const byPeriod = sustainable(lagged, { ...scenario, periodS: 100 });
    const byBurst = sustainable(lagged, { ...scenario, onS: requireValue(byPeriod.onS) });
    expect(requireValue(byBurst.offS)).toBeCloseTo(requireValue(byPeriod.offS), 6);
  });

  test('very short periods approach the sustained power: the stages see the mean alone', () => {
    // 48 K of headroom over 0.5 K/W: 96 W = 15 W + duty · 105 W.
    const schedule = sustainable(plain, { ...scenario, periodS: 0.001 });
    expect(requireValue(schedule.dutyFraction)).toBeCloseTo(81 / 105, 3);
  });

  test('at a confidence the burst is shorter and the pause longer', () => {
    const byPeriod = sustainable(plain, { ...scenario, periodS: 100 });
    expect(byPeriod.atConfidence?.onS).toBeLessThan(requireValue(byPeriod.onS));
    expect(byPeriod.atConfidence?.onS).toBeGreaterThan(
      byPeriod.onS.kind === 'estimated' ? byPeriod.onS.interval95[0] : 0,
    );
    const byBurst = sustainable(plain, { ...scenario, onS: 60 });
    expect(byBurst.atConfidence?.offS).toBeGreaterThan(requireValue(byBurst.offS));
    expect(byBurst.atConfidence?.onS).toBe(60);
  });

  test('no pause is needed where the bursts could be held', () => {
    const schedule = burstSchedule(plain, { ...scenario, powerW: 90, periodS: 100 });
    expect(schedule.kind === 'always' && requireValue(schedule.marginK)).toBeCloseTo(3, 9);
  });

  test('no pause helps where one burst from idle passes the limit', () => {
    const schedule = burstSchedule(plain, { ...scenario, onS: 300 });
    if (schedule.kind !== 'never') throw new Error(schedule.kind);
    expect(schedule.reason).toBe('burst');
    const riseK = 15 * 0.5 + 105 * (0.1 * -Math.expm1(-300 / 4) + 0.4 * -Math.expm1(-300 / 120));
    expect(requireValue(schedule.excessK)).toBeCloseTo(riseK - 48, 9);
  });

  test('nor where idling itself settles above the limit', () => {
    const schedule = burstSchedule(plain, { ...scenario, limitC: 28, periodS: 60 });
    expect(schedule.kind === 'never' && schedule.reason).toBe('idle');
    expect(schedule.kind === 'never' && requireValue(schedule.excessK)).toBeCloseTo(1.5, 9);
  });

  test('a pause that may have to be endless has no interval', () => {
    // 200 s from idle all but reach the limit: a little more resistance and no pause is long enough.
    const riseK = 7.5 + 105 * (0.1 + 0.4 * -Math.expm1(-200 / 120));
    const schedule = sustainable(plain, { ...scenario, limitC: 22 + riseK + 0.05, onS: 200 });
    expect(schedule.offS).toMatchObject({ kind: 'unavailable', reason: 'not-identifiable' });
    expect(requireValue(schedule.offS)).toBeGreaterThan(400);
    expect(schedule.atConfidence).toBeUndefined();
  });

  test('an enclosure is warmed by the mean power', () => {
    const schedule = sustainable(plain, {
      ...scenario,
      periodS: 100,
      enclosure: { riseK: 5, atPowerW: 100 },
    });
    const meanW = requireValue(schedule.meanPowerW);
    const fixed = sustainable(plain, { ...scenario, periodS: 100, enclosure: { riseK: 0.05 * meanW } });
    expect(requireValue(fixed.onS)).toBeCloseTo(requireValue(schedule.onS), 6);
  });

  test.each([
    [{ onS: 10, periodS: 20 }, 'scenario', 'a scenario with either onS or periodS (received "both")'],
    [{}, 'scenario', 'a scenario with either onS or periodS (received "neither")'],
    [{ onS: -1 }, 'scenario.onS', 'a finite number above 0 (received -1)'],
    [{ periodS: 0 }, 'scenario.periodS', 'a finite number above 0 (received 0)'],
    [{ onS: 10, idlePowerW: 120 }, 'scenario.idlePowerW', 'a finite number at least 0 and below 120'],
    [{ onS: 10, powerW: Number.NaN }, 'scenario.powerW', 'a finite number above 0'],
    [{ onS: 10, limitC: 21 }, 'scenario.limitC', 'above 22.0 °C, the intake air'],
    [{ onS: 10, confidence: 0.999 }, 'scenario.confidence', 'a finite number at least 0.5 and at most 0.99'],
  ])('refuses %j', (changes, argument, expected) => {
    expect(() => burstSchedule(plain, { ...scenario, ...changes })).toThrow(
      `burstSchedule: \`${argument}\` must be ${expected}`,
    );
  });

  test('refuses a model without stages', () => {
    const averages = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 62, ambientC: 22 }]);
    expect(() => burstSchedule(averages, { ...scenario, onS: 10 })).toThrow(
      /burstSchedule: `model` must be a model with stages/,
    );
  });
});
