import { describe, expect, test } from 'vitest';
import type { CurveForm } from '../../../toolkit/power/forms/curve-form.js';
import { electroThermal } from '../../../toolkit/power/forms/electro-thermal.js';
import { polynomial, powerLaw } from '../../../toolkit/power/forms/plain-forms.js';

const reference = { powerW: 90, temperatureC: 60 };
const cases: readonly { form: CurveForm; parameters: readonly number[] }[] = [
  {
    form: electroThermal([3300, 3450, 3600, 3750, 3900]),
    parameters: [3650, 3.1, 6.1, 9, 15.5, 26, 0.01, 0.02, 0.015, -0.01, -0.02],
  },
  { form: electroThermal([]), parameters: [3650, 2.8, 3, 9, 12, 30] },
  { form: powerLaw, parameters: [3650, 0.31] },
  { form: polynomial, parameters: [3650, 11, -0.06] },
];
const places = [
  [55, 45],
  [90, 60],
  [95, 82],
  [130, 95],
] as const;

describe.each(cases)('$form.form with $parameters.length parameters', ({ form, parameters }) => {
  const bound = form.bind(parameters, reference);

  test('its gradient agrees with central differences', () => {
    // Differences with a relative step of 1e-5 are good to about 1e-6 of the largest entry here.
    for (const [powerW, temperatureC] of places) {
      const gradient = new Float64Array(parameters.length);
      bound.gradient(powerW, temperatureC, gradient);
      parameters.forEach((value, j) => {
        const step = 1e-5 * Math.max(Math.abs(value), 0.01);
        const shifted = (by: number): number =>
          form
            .bind(
              parameters.map((other, k) => (k === j ? other + by : other)),
              reference,
            )
            .frequencyMHz(powerW, temperatureC);
        const difference = (shifted(step) - shifted(-step)) / (2 * step);
        expect(Math.abs(gradient[j] - difference)).toBeLessThan(1e-5 * Math.abs(difference) + 2e-4);
      });
    }
  });

  test('power is the inverse of frequency', () => {
    for (const [powerW, temperatureC] of places) {
      const frequencyMHz = bound.frequencyMHz(powerW, temperatureC);
      expect(bound.powerW(frequencyMHz, temperatureC)).toBeCloseTo(powerW, 7);
    }
  });

  test('the reference point has the reference frequency', () => {
    expect(bound.frequencyMHz(90, 60)).toBeCloseTo(3650, 8);
  });
});

describe('with voltage, at an offset of −70 mV', () => {
  const form = electroThermal([3300, 3600, 3900], true);
  const parameters = [3650, 3.1, 6.1, 9, 15.5, 26, 1.08, 0.9, 0.01, -0.02, 0.015];
  const offsetV = -0.07;
  const bind = (p: readonly number[]) => form.bind(p, reference, offsetV);
  const bound = bind(parameters);
  const voltage = bound.voltage!;

  /** Central differences with a relative step of 1e-5, good to about 1e-6 of the largest entry here. */
  const differences = (of: (p: readonly number[]) => number): number[] =>
    parameters.map((value, j) => {
      const step = 1e-5 * Math.max(Math.abs(value), 0.01);
      const moved = (by: number): number => of(parameters.map((other, k) => (k === j ? other + by : other)));
      return (moved(step) - moved(-step)) / (2 * step);
    });
  const expectAgree = (gradient: Float64Array, expected: readonly number[]): void => {
    expected.forEach((difference, j) => {
      expect(Math.abs(gradient[j] - difference)).toBeLessThan(1e-5 * Math.abs(difference) + 2e-4);
    });
  };

  test('the gradients of frequency, voltage and frequency at a set voltage agree with differences', () => {
    const gradient = new Float64Array(parameters.length);
    for (const [powerW, temperatureC] of places) {
      bound.gradient(powerW, temperatureC, gradient);
      expectAgree(
        gradient,
        differences((p) => bind(p).frequencyMHz(powerW, temperatureC)),
      );
      voltage.gradientAt(powerW, temperatureC, 1.02, gradient);
      expectAgree(
        gradient,
        differences((p) => bind(p).voltage!.frequencyAtMHz(powerW, temperatureC, 1.02)),
      );
    }
    for (const frequencyMHz of [3000, 3650, 4100]) {
      voltage.gradient(frequencyMHz, gradient);
      expectAgree(
        gradient,
        differences((p) => bind(p).voltage!.voltageV(frequencyMHz)),
      );
      const slope = voltage.voltageV(frequencyMHz + 0.5) - voltage.voltageV(frequencyMHz - 0.5);
      expect(voltage.slopeVPerMHz(frequencyMHz)).toBeCloseTo(slope, 9);
    }
  });

  test('the voltage is that of the relation less the share of the offset', () => {
    const without = form.bind(parameters, reference).voltage!;
    expect(without.voltageV(3650)).toBeCloseTo(1.08, 12);
    expect(voltage.voltageV(3800)).toBeCloseTo(without.voltageV(3800) + 0.9 * offsetV, 12);
  });

  test('power balances at the frequency and voltage found', () => {
    const frequencyMHz = bound.frequencyMHz(95, 70);
    expect(bound.powerW(frequencyMHz, 70)).toBeCloseTo(95, 7);
    expect(voltage.frequencyAtMHz(95, 70, voltage.voltageV(frequencyMHz))).toBeCloseTo(frequencyMHz, 6);
  });
});

test('without growth and correction the electro-thermal form is base + leakage + k·f^m', () => {
  // Leakage follows the voltage, which goes as f^((m − 1)/2).
  const [f0, m, base, leak, scale] = [3650, 2.8, 9, 12, 30] as const;
  const bound = electroThermal([]).bind([f0, m, 1e-9, base, leak, scale], reference);
  const k = (90 - base - leak) / f0 ** m;
  for (const [frequencyMHz, temperatureC] of [
    [3000, 40],
    [3650, 60],
    [4000, 95],
  ] as const) {
    const voltageRatio = (frequencyMHz / f0) ** ((m - 1) / 2);
    const expected =
      base + leak * voltageRatio * Math.exp((temperatureC - 60) / scale) + k * frequencyMHz ** m;
    expect(bound.powerW(frequencyMHz, temperatureC)).toBeCloseTo(expected, 5);
  }
});

test('power too small for base and leakage gives a low frequency, not a failure', () => {
  const bound = electroThermal([]).bind([3650, 2.8, 3, 20, 15, 25], reference);
  const frequencyMHz = bound.frequencyMHz(15, 90);
  expect(frequencyMHz).toBeGreaterThan(0);
  expect(frequencyMHz).toBeLessThan(400);
});
