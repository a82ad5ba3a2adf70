// Times to a limit, burst powers and on-off schedules against closed forms of one lumped capacity and worked examples of
// the textbooks. Lumped bodies in a fluid map to one stage: the fluid's distance is P R, the body's its rise.
import { describe, expect, test } from 'vitest';
import { requireValue } from '../../toolkit/numerics/estimates.js';
import { burstPower } from '../../toolkit/thermal/burst/burst-power.js';
import { burstSchedule } from '../../toolkit/thermal/burst/burst-schedule.js';
import { timeToLimit } from '../../toolkit/thermal/burst/time-to-limit.js';
import type { CoolerModel } from '../../toolkit/thermal/cooler-model.js';
import { modelWith } from '../unit/thermal/known-cooler.js';

const oneStage = (resistanceKPerW: number, timeConstantS: number): CoolerModel =>
  modelWith([{ timeConstantS, resistanceKPerW }], { resistanceStandardErrorKPerW: 0 });

function reachedS(...[model, scenario]: Parameters<typeof timeToLimit>): number {
  const time = timeToLimit(model, scenario);
  if (time.kind !== 'reached') throw new Error(time.kind);
  return requireValue(time.timeS);
}

describe('one lumped capacity', () => {
  test.each([
    { powerW: 95, resistance: 0.52, tau: 74, startW: 0, limitK: 40 },
    { powerW: 150, resistance: 0.3, tau: 210, startW: 60, limitK: 44.9 },
    { powerW: 65, resistance: 0.8, tau: 10, startW: 12, limitK: 10 },
  ])(
    'time to limit is −τ ln((P R − ΔT) / (P R − ΔT₀)): $powerW W, to 1e-9 s',
    ({ powerW, resistance, tau, startW, limitK }) => {
      const expected =
        -tau * Math.log((powerW * resistance - limitK) / (powerW * resistance - startW * resistance));
      const found = reachedS(oneStage(resistance, tau), {
        powerW,
        limitC: 22 + limitK,
        ambientC: 22,
        startPowerW: startW,
      });
      expect(Math.abs(found - expected)).toBeLessThan(1e-9 * tau);
    },
  );

  test('burst power is (ΔT / R − P₀ e^(−t/τ)) / (1 − e^(−t/τ)), to 1e-9', () => {
    const kept = Math.exp(-45 / 74);
    const { powerW } = burstPower(oneStage(0.52, 74), {
      durationS: 45,
      limitC: 62,
      ambientC: 22,
      startPowerW: 20,
    });
    expect(requireValue(powerW)).toBeCloseTo((40 / 0.52 - 20 * kept) / (1 - kept), 8);
  });
});

describe('worked examples', () => {
  // Incropera, DeWitt, Bergman, Lavine, 6th ed., example 5.1: inputs as printed, answer 5.2 s from memory, recomputed.
  test('thermocouple junction from 25 to 199 °C in gas at 200 °C with a time constant of 1 s: 5.16 s', () => {
    const timeS = reachedS(oneStage(1, 1), { powerW: 175, limitC: 199, ambientC: 25 });
    expect(timeS).toBeCloseTo(5.1647859739, 8);
    expect(timeS).toBeCloseTo(5.2, 1);
  });

  // The same, example 5.5, first step: sphere of 5 mm radius, 3000 kg/m³, 1000 J/(kg K), cooled from 400 to 335 °C by air
  // at 20 °C with 10 W/(m² K); answer 94 s from memory, recomputed. Cooling mirrored: it falls by 65 of 380 K.
  test('sphere in air from 400 to 335 °C: 93.8 s', () => {
    const tau = (3000 * 1000 * 0.005) / 3 / 10;
    const timeS = reachedS(oneStage(1, tau), { powerW: 380, limitC: 65, ambientC: 0 });
    expect(timeS).toBeCloseTo(93.79930694739917, 8);
    expect(timeS).toBeCloseTo(94, 0);
  });

  // Çengel, thermocouple: 210 W/(m² K), 8500 kg/m³, 320 J/(kg K), 1 mm; answer 10 s from memory, recomputed.
  test('thermocouple to 99 % of a step: 9.94 s', () => {
    const tau = (8500 * 320 * 0.001) / 6 / 210;
    const timeS = reachedS(oneStage(1, tau), { powerW: 100, limitC: 99, ambientC: 0 });
    expect(timeS).toBeCloseTo(9.941, 3);
  });
});

// The elementary periodic solution of one node, and of two by superposition; values recomputed with SciPy 1.10.
describe('square power', () => {
  test.each([
    {
      powerW: 100,
      resistance: 0.5,
      tau: 60,
      periodS: 120,
      duty: 0.5,
      max: 36.55292893150024,
      min: 13.447071068499755,
    },
    {
      powerW: 65,
      resistance: 0.8,
      tau: 10,
      periodS: 2,
      duty: 0.3,
      max: 16.705780517319706,
      min: 14.52330787149681,
    },
    {
      powerW: 150,
      resistance: 0.25,
      tau: 90,
      periodS: 600,
      duty: 0.25,
      max: 30.455924132092974,
      min: 0.2052104026102105,
    },
  ])(
    'one node: $powerW W, $periodS s, duty $duty',
    ({ powerW, resistance, tau, periodS, duty, max, min }) => {
      const limited = { powerW, idlePowerW: 0, limitC: 22 + max, ambientC: 22 };
      const byPeriod = burstSchedule(oneStage(resistance, tau), { ...limited, periodS });
      if (byPeriod.kind !== 'sustainable') throw new Error(byPeriod.kind);
      expect(requireValue(byPeriod.dutyFraction)).toBeCloseTo(duty, 9);
      expect(requireValue(byPeriod.meanPowerW)).toBeCloseTo(duty * powerW, 7);
      expect(byPeriod.lowestC).toBeCloseTo(22 + min, 8);
      const byBurst = burstSchedule(oneStage(resistance, tau), { ...limited, onS: duty * periodS });
      if (byBurst.kind !== 'sustainable') throw new Error(byBurst.kind);
      // The longer the pause, the less it does: at ten time constants of pause a digit of it takes four of the rise.
      expect(requireValue(byBurst.offS) / ((1 - duty) * periodS)).toBeCloseTo(1, 6);
    },
  );

  test('two nodes: 120 W for 9 of every 30 s rises to 27.8065 K and falls to 12.9209 K', () => {
    const model = modelWith(
      [
        { resistanceKPerW: 0.1, timeConstantS: 2 },
        { resistanceKPerW: 0.4, timeConstantS: 100 },
      ],
      { resistanceStandardErrorKPerW: 0 },
    );
    const schedule = burstSchedule(model, {
      powerW: 120,
      idlePowerW: 0,
      limitC: 27.80648556672731,
      ambientC: 0,
      onS: 9,
    });
    if (schedule.kind !== 'sustainable') throw new Error(schedule.kind);
    expect(requireValue(schedule.offS)).toBeCloseTo(21, 8);
    expect(schedule.lowestC).toBeCloseTo(12.920869339736722, 8);
  });
});
