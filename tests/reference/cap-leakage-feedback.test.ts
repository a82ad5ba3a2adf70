import { describe, expect, test } from 'vitest';
import { chooseCap } from '../../toolkit/cap/choose/choose-cap.js';
import { steadyStateAtFrequency } from '../../toolkit/cap/setting/steady-state-at-frequency.js';
import type { PowerCurve } from '../../toolkit/power/power-curve.js';
import { plainCooler } from '../unit/cap/plain-cooler.js';
import { plainCurve } from '../unit/cap/plain-curve.js';

/**
 * Temperature and leakage feeding each other: T = Tₐ + R·(P_d + P₀·e^(b(T − T₀))) has the closed form with Lambert's W,
 * T = Tₐ + R·P_d − W(−b·R·P₀·e^(b(Tₐ + R·P_d − T₀)))/b. Values recomputed with SciPy 1.10.1's `lambertw`.
 */
const FREQUENCY = 3600;

/** A curve that draws P_d + P₀·e^(b(T − T₀)) at 3600 MHz: at its reference frequency voltage and frequency ratios are 1. */
function leaky(dynamicW: number, leakageW: number, perK: number, atC: number): PowerCurve {
  return plainCurve({
    form: 'electro-thermal',
    parameters: {
      referenceFrequencyMHz: FREQUENCY,
      frequencyExponent: 2.6,
      exponentGrowth: 1e-3,
      basePowerW: 12,
      leakagePowerW: leakageW,
      leakageScaleK: 1 / perK,
      referencePowerW: dynamicW + leakageW,
      referenceTemperatureC: atC,
    },
    covariance: {
      parameters: [
        'referenceFrequencyMHz',
        'frequencyExponent',
        'exponentGrowth',
        'basePowerW',
        'leakagePowerW',
        'leakageScaleK',
      ],
      matrix: Array.from({ length: 6 }, () => [0, 0, 0, 0, 0, 0]),
    },
  });
}

const atR = (thermalResistanceKPerW: number) =>
  plainCooler(
    { thermalResistanceKPerW, atPowerW: 100 },
    { testedRange: { powerW: [60, 200], temperatureC: [40, 110], durationS: 1500 } },
  );

describe('frequency and voltage held: leakage feeds back', () => {
  test.each([
    { resistance: 0.3, temperatureC: 59.46396254674 },
    { resistance: 0.5, temperatureC: 86.09278365022 },
  ])('R = $resistance K/W, air 25 °C, 100 W and 15 W of leakage at 60 °C: $temperatureC °C', (row) => {
    const state = steadyStateAtFrequency(atR(row.resistance), leaky(100, 15, 0.015, 60), {
      frequencyMHz: FREQUENCY,
      ambientC: 25,
    });
    expect(state.temperatureC.value!).toBeCloseTo(row.temperatureC, 8);
    const leakageW = 15 * Math.exp(0.015 * (row.temperatureC - 60));
    expect(state.powerW.value!).toBeCloseTo(100 + leakageW, 7);
    // Gain of the loop: R · b · P_leak.
    expect(state.loopGainRatio).toBeCloseTo(row.resistance * 0.015 * leakageW, 7);
  });

  test('where the closed form has no root there is no steady state: refused', () => {
    expect(() =>
      steadyStateAtFrequency(atR(0.6), leaky(90, 20, 0.02, 60), { frequencyMHz: FREQUENCY, ambientC: 40 }),
    ).toThrow(
      /^steadyStateAtFrequency: no steady state between temperature and leakage, with 3600 MHz held.*thermal runaway; set a cap that binds.*leave the thermal protection on$/,
    );
  });

  test('a steady state whose loop gain is 0.8 or more is refused, one below it is given', () => {
    // Gain R·b·P_leak of the first set reaches 1 at R = 0.8145314283 K/W; below it, between 0.78 and 0.81, it passes 0.8.
    const stateAt = (resistance: number) => () =>
      steadyStateAtFrequency(atR(resistance), leaky(100, 15, 0.015, 60), {
        frequencyMHz: FREQUENCY,
        ambientC: 25,
      });
    expect(stateAt(0.7)().loopGainRatio).toBeLessThan(0.8);
    expect(stateAt(0.8145)).toThrow(/a loop gain of 0\.9\d|no steady state/);
    expect(stateAt(0.816)).toThrow(/no steady state/);
  });

  test('a form that knows no temperature has no such loop', () => {
    const state = steadyStateAtFrequency(atR(0.5), plainCurve(), { frequencyMHz: 3600, ambientC: 25 });
    expect(state.powerW.value!).toBeCloseTo(90, 9);
    expect(state.temperatureC.value!).toBeCloseTo(70, 9);
    expect(state.loopGainRatio).toBe(0);
  });
});

describe('a cap that does not bind', () => {
  const curve = leaky(100, 15, 0.015, 60);
  const scenario = { limitC: 95, ambientC: 25, topFrequencyMHz: FREQUENCY, maxCapW: 180 };

  test('leaves power and temperature to the feedback of leakage', () => {
    const choice = chooseCap(atR(0.5), curve, scenario);
    // The root of the closed form for R = 0.5; the table of powers is good to 0.02 W.
    expect(Math.abs(choice.steadyTemperatureC.value! - 86.09278365022)).toBeLessThan(0.02);
    expect(Math.abs(choice.packagePowerW - 122.186)).toBeLessThan(0.03);
    expect(choice.powerCapW).toBe(180);
    expect(choice.bindingConstraint).toBe('max-cap');
    expect(choice.cautions.join('\n')).toMatch(/The cap hardly binds: at its top frequency of 3600 MHz/);
    expect(choice.frequencyMHz.value!).toBeCloseTo(FREQUENCY, 0);
  });

  test('binds again where the feedback would pass the limit', () => {
    const choice = chooseCap(atR(0.5), curve, { ...scenario, limitC: 80 });
    // At a held cap leakage costs frequency, not temperature: (80 − 25) / 0.5.
    expect(choice.unroundedCapW).toBeCloseTo(110, 9);
    expect(choice.bindingConstraint).toBe('temperature');
    expect(choice.frequencyMHz.value!).toBeLessThan(FREQUENCY);
  });

  test('near runaway is refused', () => {
    // T = 25 + 0.5·(100 + 10·e^(0.04 (T − 60))) = 96.2 °C with a gain of 0.85.
    expect(() => chooseCap(atR(0.5), leaky(100, 10, 0.04, 60), { ...scenario, limitC: 110 })).toThrow(
      /^chooseCap: a loop gain of 0\.8\d between temperature and leakage, 14\d\.\d W at 3600 MHz and 9\d\.\d °C/,
    );
  });
});
