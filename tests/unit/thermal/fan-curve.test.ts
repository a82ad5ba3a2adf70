import { describe, expect, it } from 'vitest';
import { coolerFromSteadyPoints } from '../../../toolkit/thermal/cooler-from-steady-points.js';
import type { CoolerModel } from '../../../toolkit/thermal/cooler-model.js';
import {
  fitFanCurve,
  resistanceAtFanSpeed,
  soundLevelAtFanSpeed,
} from '../../../toolkit/thermal/fan-curve.js';

const trueResistance = (fanSpeedRpm: number): number => 0.25 + 0.28 * (fanSpeedRpm / 1500) ** -0.7;

function modelAt(fanSpeedRpm: number, cooler = 'tower 88 mm'): CoolerModel {
  return coolerFromSteadyPoints(
    [{ powerW: 80, temperatureC: 24 + 80 * trueResistance(fanSpeedRpm), ambientC: 24 }],
    { cooler, fanSpeedRpm, temperatureUncertaintyK: 0.1 },
  );
}

describe('fitFanCurve', () => {
  it('finds resistance against speed from five speeds', () => {
    const curve = fitFanCurve([800, 1100, 1500, 2000, 2700].map((speed) => modelAt(speed)));
    expect(curve.findings).toEqual([]);
    expect(curve.testedRange.fanSpeedRpm).toEqual([800, 2700]);
    for (const speed of [900, 1300, 2400]) {
      const estimate = resistanceAtFanSpeed(curve, speed);
      if (estimate.kind !== 'estimated') throw new Error('no estimate');
      // Exact data; the prior on the exponent moves the curve by less than a third of its standard error.
      expect(Math.abs(estimate.value - trueResistance(speed))).toBeLessThan(
        estimate.standardError / 3 + 1e-4,
      );
      expect(estimate.extrapolated).toBe(false);
    }
  });

  it('rests on the stated exponent from two speeds, says so, and is wider between and beyond', () => {
    const curve = fitFanCurve([modelAt(2000), modelAt(1000)]);
    expect(curve.findings.map(({ code }) => code)).toEqual(['assumed-fan-exponent']);
    const width = (speed: number): number => {
      const estimate = resistanceAtFanSpeed(curve, speed);
      if (estimate.kind !== 'estimated') throw new Error('no estimate');
      expect(estimate.interval95[0]).toBeLessThan(trueResistance(speed));
      expect(estimate.interval95[1]).toBeGreaterThan(trueResistance(speed));
      return estimate.standardError;
    };
    expect(width(3000)).toBeGreaterThan(2 * width(2000));
    expect(width(500)).toBeGreaterThan(2 * width(1000));
    expect(resistanceAtFanSpeed(curve, 3000)).toMatchObject({ extrapolated: true });
  });

  it('refuses what it cannot use', () => {
    expect(() => fitFanCurve([modelAt(1000)])).toThrow(
      /^fitFanCurve: `models` must be models at two fan speeds or more/,
    );
    expect(() => fitFanCurve([modelAt(1000), modelAt(1020)])).toThrow(
      /`models` must be models at two fan speeds or more/,
    );
    expect(() => fitFanCurve([modelAt(1000), modelAt(2000, 'flat 58 mm')])).toThrow(
      /`models` must be models of one cooler/,
    );
    const { fanSpeedRpm: _, ...withoutSpeed } = modelAt(1000);
    expect(() => fitFanCurve([withoutSpeed, modelAt(2000)])).toThrow(
      /`models\[0\].fanSpeedRpm` must be a finite number above 0 \(received undefined\); log the fan speed/,
    );
    const swapped = { ...modelAt(1000), fanSpeedRpm: 2500 };
    expect(() => fitFanCurve([swapped, modelAt(2000)])).toThrow(
      /^fitFanCurve: the resistance does not fall from 2000 rpm/,
    );
    expect(() => resistanceAtFanSpeed(fitFanCurve([modelAt(1000), modelAt(2000)]), 0)).toThrow(
      /`fanSpeedRpm` must be a finite number above 0/,
    );
  });
});

describe('soundLevelAtFanSpeed', () => {
  // Fan laws: 50 log10 of the speed ratio; ×2 gives +15.0515 dB, ×0.8 −4.8455 dB (value from memory, recomputed).
  it.each([
    [2, 15.0515],
    [0.8, -4.8455],
    [0.5, -15.0515],
  ])('at %f times the speed', (ratio, differenceDb) => {
    expect(soundLevelAtFanSpeed({ soundLevelDb: 30, fanSpeedRpm: 1200 }, 1200 * ratio) - 30).toBeCloseTo(
      differenceDb,
      4,
    );
  });
});
