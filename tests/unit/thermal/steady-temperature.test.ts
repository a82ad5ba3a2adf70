import { describe, expect, test } from 'vitest';
import { studentTQuantile } from '../../../toolkit/numerics/distributions.js';
import { resistanceAt, steadyTemperature } from '../../../toolkit/thermal/steady-temperature.js';
import { modelWith } from './known-cooler.js';

const poles = [
  { timeConstantS: 4, resistanceKPerW: 0.1 },
  { timeConstantS: 120, resistanceKPerW: 0.4 },
];
const model = modelWith(poles, {
  powerExponent: 0.1,
  atPowerW: 80,
  resistanceStandardErrorKPerW: 0.004,
  exponentStandardError: 0.02,
  correlation: 0.3,
});

describe('resistanceAt', () => {
  test('follows R₀ (P / P₀)^−q', () => {
    expect(resistanceAt(model, 80)).toMatchObject({ kind: 'estimated', value: 0.5, standardError: 0.004 });
    expect(resistanceAt(model, 40)).toMatchObject({ value: 0.5 * 2 ** 0.1 });
  });

  test('propagates both uncertainties with their correlation, as the partial derivatives say', () => {
    const estimate = resistanceAt(model, 120);
    if (estimate.kind !== 'estimated') throw new Error('estimated');
    const share = 1.5 ** -0.1;
    const byResistance = share * 0.004;
    const byExponent = -0.5 * share * Math.log(1.5) * 0.02;
    const variance = byResistance ** 2 + byExponent ** 2 + 2 * 0.3 * byResistance * byExponent;
    expect(estimate.standardError).toBeCloseTo(Math.sqrt(variance), 14);
    const halfWidth = studentTQuantile(0.975, 100) * Math.sqrt(variance);
    expect(estimate.interval95[0]).toBeCloseTo(0.5 * share - halfWidth, 12);
    expect(estimate.interval95[1]).toBeCloseTo(0.5 * share + halfWidth, 12);
  });

  test('marks what lies more than 2 % outside the tested powers', () => {
    expect(resistanceAt(model, 81.5)).toMatchObject({ extrapolated: false });
    expect(resistanceAt(model, 82)).toMatchObject({ extrapolated: true });
    expect(resistanceAt(model, 78)).toMatchObject({ extrapolated: true });
  });

  test.each([0, -5, Number.NaN, Number.POSITIVE_INFINITY])('refuses %s W', (powerW) => {
    expect(() => resistanceAt(model, powerW)).toThrow(
      `resistanceAt: \`powerW\` must be a finite number above 0 (received ${powerW})`,
    );
  });
});

describe('steadyTemperature', () => {
  test('is the air plus the rise, and its interval that of the resistance times the power', () => {
    const estimate = steadyTemperature(model, { powerW: 80, ambientC: 23 });
    expect(estimate).toMatchObject({
      kind: 'estimated',
      value: 63,
      standardError: 0.32,
      extrapolated: false,
    });
    if (estimate.kind !== 'estimated') throw new Error('estimated');
    expect(estimate.interval95[0] + estimate.interval95[1]).toBeCloseTo(2 * 63, 12);
  });

  test('adds the rise of an enclosure, fixed or in proportion to the power', () => {
    const fixed = steadyTemperature(model, { powerW: 80, ambientC: 23, enclosure: { riseK: 9 } });
    expect(fixed.value).toBeCloseTo(72, 12);
    const scaled = steadyTemperature(model, {
      powerW: 80,
      ambientC: 23,
      enclosure: { riseK: 9, atPowerW: 100 },
    });
    expect(scaled.value).toBeCloseTo(63 + 7.2, 12);
  });

  test.each([
    [{ powerW: 0 }, 'scenario.powerW', 'a finite number above 0', '0'],
    [{ powerW: Number.NaN }, 'scenario.powerW', 'a finite number above 0', 'NaN'],
    [{ ambientC: Number.NaN }, 'scenario.ambientC', 'a finite number above -273.15', 'NaN'],
    [{ ambientC: -300 }, 'scenario.ambientC', 'a finite number above -273.15', '-300'],
    [{ enclosure: { riseK: Number.NaN } }, 'scenario.enclosure.riseK', 'a finite number', 'NaN'],
    [{ enclosure: { riseK: 8, atPowerW: 0 } }, 'scenario.enclosure.atPowerW', 'a finite number above 0', '0'],
  ])('refuses %j', (changes, argument, expected, received) => {
    expect(() => steadyTemperature(model, { powerW: 80, ambientC: 23, ...changes })).toThrow(
      `steadyTemperature: \`${argument}\` must be ${expected} (received ${received})`,
    );
  });
});
