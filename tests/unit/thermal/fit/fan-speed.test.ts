import { describe, expect, test } from 'vitest';
import type { Estimate, EstimatedNumber } from '../../../../toolkit/numerics/estimate.js';
import { resistanceAtFanSpeed } from '../../../../toolkit/thermal/fan-curve.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { fitOf } from '../../../../toolkit/thermal/fit/fit-of.js';
import { simulateTemperature } from '../../../../toolkit/thermal/simulate.js';
import { resistanceAt, steadyTemperature } from '../../../../toolkit/thermal/steady-temperature.js';
import { FINS, fannedRun, totalKPerW } from '../fanned-ladder.js';

const SPEEDS = [700, 1000, 1400, 2000];

function known(estimate: Estimate): EstimatedNumber {
  if (estimate.kind !== 'estimated') throw new Error('no estimate');
  return estimate;
}

const codesOf = (model: { readonly findings: readonly { readonly code: string }[] }): string[] =>
  model.findings.map(({ code }) => code);

describe('fan speed as a covariate of the fit', () => {
  const runs = SPEEDS.map((speed, i) =>
    fannedRun({ seed: 300 + i, powerW: 90, label: `${speed} rpm`, fanSpeedRpm: () => speed }),
  );
  const model = fitCooler(runs, { powerExponent: 0 });

  test('finds R(n) of a ladder it shares nothing with, from four runs at a speed each', () => {
    if (model.fanCurve === undefined) throw new Error('no fan curve');
    expect(codesOf(model)).toContain('fan-speed-fitted');
    expect(codesOf(model)).not.toContain('fan-speed-changed');
    expect(codesOf(model)).not.toContain('assumed-fan-exponent');
    expect(model.fanSpeedRpm).toBe(model.fanCurve.referenceFanSpeedRpm);
    for (const speed of [...SPEEDS, 850, 1700]) {
      const { value, standardError, interval95, extrapolated } = known(
        resistanceAtFanSpeed(model.fanCurve, speed),
      );
      expect(interval95[0], `${speed}`).toBeLessThan(totalKPerW(speed));
      expect(interval95[1], `${speed}`).toBeGreaterThan(totalKPerW(speed));
      expect(standardError).toBeLessThan(0.006);
      expect(Math.abs(value - totalKPerW(speed))).toBeLessThan(0.004);
      expect(extrapolated).toBe(false);
    }
    const { fanSpeedExponent, covariance, convectionKPerW, referenceFanSpeedRpm } = model.fanCurve;
    expect(Math.abs(fanSpeedExponent - FINS.exponent)).toBeLessThan(3 * Math.sqrt(covariance.matrix[2][2]));
    const convection = FINS.convectionKPerW * (referenceFanSpeedRpm / FINS.atFanSpeedRpm) ** -FINS.exponent;
    expect(Math.abs(convectionKPerW - convection)).toBeLessThan(3 * Math.sqrt(covariance.matrix[1][1]));
    expect(Math.sqrt(covariance.matrix[1][1])).toBeLessThan(0.1);
  });

  test('is what steady temperature, resistance and simulation answer at a fan speed', () => {
    const { powerW, timeS, fanSpeedRpm } = runs[3];
    const steady = known(steadyTemperature(model, { powerW: 90, ambientC: 22, fanSpeedRpm: 2000 }));
    const resistance = known(resistanceAt(model, 90, { fanSpeedRpm: 2000 }));
    expect(steady.value).toBeCloseTo(22 + 90 * resistance.value, 9);
    expect(Math.abs(resistance.value - totalKPerW(2000))).toBeLessThan(0.004);
    const course = simulateTemperature(model, {
      timeS,
      powerW,
      ambientC: 22,
      startPowerW: 12,
      fanSpeedRpm: fanSpeedRpm ?? 0,
    });
    // The end of the run is settled to a few hundredths of a kelvin; the power there is 90 ± 0.5 W.
    expect(Math.abs(course[course.length - 1] - steady.value)).toBeLessThan(0.5);
    // At the reference speed the fan changes nothing.
    const plain = simulateTemperature(model, { timeS, powerW, ambientC: 22 });
    const stated = simulateTemperature(model, {
      timeS,
      powerW,
      ambientC: 22,
      fanSpeedRpm: model.fanSpeedRpm ?? 0,
    });
    plain.forEach((value, i) => {
      expect(Math.abs(value - stated[i])).toBeLessThan(1e-9);
    });
    for (const run of runs) {
      const { residualK } = fitOf(model, run);
      const rms = Math.sqrt(residualK.reduce((sum, residual) => sum + residual ** 2, 0) / residualK.length);
      expect(rms).toBeLessThan(0.25);
    }
  });

  test('follows a fan that changes within one run, and the temperature never jumps', () => {
    const changing = fannedRun({
      seed: 41,
      powerW: 95,
      durationS: 2400,
      fanSpeedRpm: (t) => (t < 800 ? 800 : t < 1600 ? 1800 : 1200),
    });
    const one = fitCooler(changing, { powerExponent: 0 });
    if (one.fanCurve === undefined) throw new Error('no fan curve');
    expect(codesOf(one)).toContain('fan-speed-fitted');
    expect(codesOf(one)).toContain('assumed-fan-exponent');
    for (const speed of [800, 1200, 1800])
      expect(
        Math.abs(known(resistanceAtFanSpeed(one.fanCurve, speed)).value - totalKPerW(speed)),
      ).toBeLessThan(0.005);
    const { modelledC, residualK } = fitOf(one, changing);
    expect(Math.abs(modelledC[800] - modelledC[799])).toBeLessThan(0.3);
    // Noise of 0.2 K, and what one slow pole leaves of two heat capacities after a jump from 800 to 1800 rpm.
    expect(
      Math.sqrt(residualK.reduce((sum, residual) => sum + residual ** 2, 0) / residualK.length),
    ).toBeLessThan(0.3);
  });

  test('follows a fan that is ruled by the temperature', () => {
    const automatic = fannedRun({
      seed: 43,
      powerW: 95,
      durationS: 2400,
      fanSpeedRpm: (t) => 700 + 900 * (1 - Math.exp(-Math.max(0, t - 60) / 200)),
    });
    const one = fitCooler([automatic, runs[0]], { powerExponent: 0 });
    if (one.fanCurve === undefined) throw new Error('no fan curve');
    for (const speed of [700, 1100, 1550]) {
      const { interval95 } = known(resistanceAtFanSpeed(one.fanCurve, speed));
      expect(interval95[0]).toBeLessThan(totalKPerW(speed));
      expect(interval95[1]).toBeGreaterThan(totalKPerW(speed));
    }
  });

  test('is left out where asked, where one speed was logged, and where the fan rests', () => {
    const averaged = fitCooler(runs, { powerExponent: 0, fitFanSpeed: false });
    expect(averaged.fanCurve).toBeUndefined();
    expect(codesOf(averaged)).toContain('fan-speed-changed');
    const one = fitCooler(runs[1], { powerExponent: 0 });
    expect(one.fanCurve).toBeUndefined();
    expect(one.findings.find(({ code }) => code === 'one-fan-speed')?.message).toMatch(/1000 rpm/);
    const resting = { ...runs[2], fanSpeedRpm: runs[2].timeS.map((t) => (t < 300 ? 0 : 1400)) };
    const rested = fitCooler(resting, { powerExponent: 0 });
    expect(rested.fanCurve).toBeUndefined();
    expect(codesOf(rested)).toContain('fan-speed-changed');
  });

  test('refuses a fan speed for a model that knows one only', () => {
    const one = fitCooler(runs[1], { powerExponent: 0 });
    expect(() => steadyTemperature(one, { powerW: 90, ambientC: 22, fanSpeedRpm: 900 })).toThrow(
      /^steadyTemperature: `scenario.fanSpeedRpm` must be left out for a model without a fan curve \(received "a fan speed for/,
    );
    expect(() => resistanceAt(model, 90, { fanSpeedRpm: 0 })).toThrow(
      /^resistanceAt: `options.fanSpeedRpm` must be a finite number above 0/,
    );
    expect(() =>
      simulateTemperature(model, { timeS: [0, 1], powerW: 90, ambientC: 22, fanSpeedRpm: [900, 0] }),
    ).toThrow(/`simulation.fanSpeedRpm\[1\]` must be a finite number above 0/);
  });
});
