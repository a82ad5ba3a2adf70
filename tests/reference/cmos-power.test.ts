import { describe, expect, test } from 'vitest';
import { curveFromSteadyPoints } from '../../toolkit/power/fit/curve-from-steady-points.js';
import { fitPowerCurve } from '../../toolkit/power/fit/fit-power-curve.js';
import { electroThermal } from '../../toolkit/power/forms/electro-thermal.js';
import { frequencyAt, powerAt } from '../../toolkit/power/predict/frequency-at.js';
import { undervolt } from '../../toolkit/power/predict/undervolt.js';
import { makeRun } from '../../toolkit/runs/make-run.js';

/** Base power and leakage so small that only switching power is left. */
const SWITCHING_ONLY = {
  basePowerFraction: { low: 0.8e-4, high: 1.2e-4 },
  leakagePowerFraction: { low: 0.8e-4, high: 1.2e-4 },
};

describe('P = a·C·V²·f: the datapaths of Chandrakasan, Sheng, Brodersen (1992), values from memory', () => {
  // Parallel datapath: half the clock, 0.58 of the voltage, 2.15 times the capacitance: 0.36 of the power.
  // Parallel and pipelined: half the clock, 0.40 of the voltage, 2.5 times the capacitance: 0.20 of the power.
  test.each([
    { voltageRatio: 2.9 / 5, capacitanceRatio: 2.15, published: 0.36, recomputed: 0.3616 },
    { voltageRatio: 2 / 5, capacitanceRatio: 2.5, published: 0.2, recomputed: 0.2 },
  ])('half the clock at $voltageRatio of the voltage', ({ voltageRatio, capacitanceRatio, ...expected }) => {
    // V² ∝ f^(m − 1) through both points; growth, leakage and base vanish.
    const exponent = 1 + Math.log(voltageRatio ** 2) / Math.log(0.5);
    const bound = electroThermal([]).bind([4000, exponent, 1e-9, 1e-12, 1e-12, 30], {
      powerW: 100,
      temperatureC: 60,
    });
    const ratio = (capacitanceRatio * bound.powerW(2000, 60)) / 100;
    expect(Math.abs(ratio - expected.recomputed)).toBeLessThan(5e-5);
    expect(Math.abs(ratio - expected.published)).toBeLessThan(5e-3);
  });
});

describe('alpha-power law of Sakurai and Newton (1990), from memory: f ∝ (V − V_t)^α / V', () => {
  const [thresholdV, alpha] = [0.35, 1.3];
  const speed = (voltageV: number): number => (voltageV - thresholdV) ** alpha / voltageV;
  const top = { voltageV: 1.2, frequencyMHz: 4200, powerW: 120 };
  const pointAt = (voltageV: number) => {
    const frequencyMHz = (top.frequencyMHz * speed(voltageV)) / speed(top.voltageV);
    const powerW = (top.powerW * voltageV ** 2 * frequencyMHz) / (top.voltageV ** 2 * top.frequencyMHz);
    return { powerW, frequencyMHz, temperatureC: 60 };
  };
  const curve = curveFromSteadyPoints([1.2, 1.1, 1.0, 0.9].map(pointAt), {
    assumptions: SWITCHING_ONLY,
    frequencyStandardErrorMHz: 1,
    powerStandardErrorW: 0,
    temperatureStandardErrorK: 0,
  });

  test('1.2 V is 1.32079 times as fast as 0.9 V (recomputed), and takes (1.2/0.9)² times that in power', () => {
    const ratio = pointAt(1.2).frequencyMHz / pointAt(0.9).frequencyMHz;
    expect(Math.abs(ratio - 1.32079)).toBeLessThan(5e-6);
    const high = powerAt(curve, { frequencyMHz: pointAt(1.2).frequencyMHz, temperatureC: 60 });
    const low = powerAt(curve, { frequencyMHz: pointAt(0.9).frequencyMHz, temperatureC: 60 });
    // The fit holds points given to 1 MHz within about that: 0.2 % of power.
    expect(Math.abs(high.value! / low.value! / (1.32079 * (1.2 / 0.9) ** 2) - 1)).toBeLessThan(2e-3);
  });

  test('frequencies between the points lie within their interval and within 5 MHz', () => {
    for (const voltageV of [1.15, 1.05, 0.95]) {
      const { frequencyMHz, powerW } = pointAt(voltageV);
      const answer = frequencyAt(curve, { powerW, temperatureC: 60 });
      if (answer.kind !== 'estimated') throw new Error('not estimated');
      expect(Math.abs(answer.value - frequencyMHz)).toBeLessThan(5);
      expect(frequencyMHz).toBeGreaterThan(answer.interval95[0]);
      expect(frequencyMHz).toBeLessThan(answer.interval95[1]);
    }
  });

  test('what a watt gives follows the elasticity α·V/(V − V_t) − 1: d ln f/d ln P = 1/(1 + 2/elasticity)', () => {
    const voltageV = 1.05;
    const { powerW, frequencyMHz } = pointAt(voltageV);
    const elasticity = (alpha * voltageV) / (voltageV - thresholdV) - 1;
    const step = 0.05 * powerW;
    const f = (at: number): number => frequencyAt(curve, { powerW: at, temperatureC: 60 }).value!;
    const slope = ((f(powerW + step) - f(powerW - step)) / (2 * step)) * (powerW / frequencyMHz);
    // Points 1 MHz exact over steps of some 150 MHz: 2 %.
    expect(Math.abs(slope * (1 + 2 / elasticity) - 1)).toBeLessThan(0.02);
  });
});

describe('alpha-power law with voltages set by hand: power is P_base + P_leak·V·e^((T − T₀)/θ) + k·f·V²', () => {
  const [thresholdV, alpha, topV, topMHz] = [0.35, 1.3, 1.2, 4200];
  const speed = (voltageV: number): number => (voltageV - thresholdV) ** alpha / voltageV;
  const frequencyOf = (voltageV: number): number => (topMHz * speed(voltageV)) / speed(topV);
  const powerOf = (frequencyMHz: number, voltageV: number, temperatureC: number): number =>
    8 +
    14 * (voltageV / topV) * Math.exp((temperatureC - 60) / 32) +
    (98 * (voltageV / topV) ** 2 * frequencyMHz) / topMHz;
  /** Increasing function turned round by bisection. */
  const inverse = (f: (x: number) => number, y: number, low: number, high: number): number => {
    let [a, b] = [low, high];
    for (let i = 0; i < 60; i++) {
      const middle = (a + b) / 2;
      if (f(middle) > y) b = middle;
      else a = middle;
    }
    return a;
  };
  const points = [1.2, 1.1, 1.0, 0.9].flatMap((voltageV) =>
    [45, 80].map((temperatureC) => {
      const frequencyMHz = frequencyOf(voltageV);
      return { frequencyMHz, voltageV, temperatureC, powerW: powerOf(frequencyMHz, voltageV, temperatureC) };
    }),
  );
  const exact = {
    frequencyStandardErrorMHz: 1,
    powerStandardErrorW: 0.05,
    temperatureStandardErrorK: 0.05,
    voltageStandardErrorV: 0.0005,
  };
  const curve = curveFromSteadyPoints(points, exact);

  test('base power, leakage and its scale come back', () => {
    const { basePowerW, leakagePowerW, leakageScaleK, referenceVoltageV } = curve.parameters as Record<
      string,
      number
    >;
    // Eight exact points, 0.05 W each: base power within 1 W, leakage at the reference voltage within 5 %.
    expect(Math.abs(basePowerW - 8)).toBeLessThan(1);
    expect(Math.abs(leakagePowerW / ((14 * referenceVoltageV) / topV) - 1)).toBeLessThan(0.05);
    expect(Math.abs(leakageScaleK - 32)).toBeLessThan(2);
  });

  test.each([0, -50, -100])(
    'at an offset of %i mV the frequency at 90 W and 60 °C is that of the law',
    (offsetMv) => {
      const voltageOf = (frequencyMHz: number): number => inverse(frequencyOf, frequencyMHz, 0.36, 2);
      const truth = inverse((f) => powerOf(f, voltageOf(f) + offsetMv / 1000, 60), 90, 1500, 6000);
      const answer = frequencyAt(undervolt(curve, { offsetMv }), { powerW: 90, temperatureC: 60 });
      if (answer.kind !== 'estimated') throw new Error('not estimated');
      // The offset's effect itself is exact here; what is left is the curve's, some 0.1 %.
      expect(Math.abs(answer.value / truth - 1)).toBeLessThan(2e-3);
      expect(truth).toBeGreaterThan(answer.interval95[0]);
      expect(truth).toBeLessThan(answer.interval95[1]);
    },
  );

  test('2.9 V instead of 5 V at a threshold of 0.7 V costs a factor of 1.81220 (alpha 1.7) or 2.21574 (2), recomputed', () => {
    for (const [exponent, ratio] of [
      [1.7, 1.8122],
      [2, 2.21574],
    ] as const) {
      const law = (voltageV: number): number => (voltageV - 0.7) ** exponent / voltageV;
      const wide = [5, 4.4, 3.8, 3.3, 2.9].map((voltageV) => {
        const frequencyMHz = (1000 * law(voltageV)) / law(5);
        return {
          frequencyMHz,
          temperatureC: 60,
          voltageV: voltageV / 5,
          powerW: (100 * (voltageV / 5) ** 2 * frequencyMHz) / 1000,
        };
      });
      const fitted = curveFromSteadyPoints(wide, { ...exact, assumptions: SWITCHING_ONLY });
      const at = (powerW: number): number => frequencyAt(fitted, { powerW, temperatureC: 60 }).value!;
      // Points of 1 MHz in 450 and 0.05 W in 15: half a per cent.
      expect(Math.abs(at(wide[0].powerW) / at(wide[4].powerW) / ratio - 1)).toBeLessThan(5e-3);
    }
  });
});

describe('leakage that doubles every ΔT has the scale ΔT/ln 2', () => {
  // b = ln 2/ΔT: 10 K 0.0693147, 20 K 0.0346574 per kelvin (recomputed).
  test.each([
    { doublingK: 10, ratePerK: 0.0693147 },
    { doublingK: 20, ratePerK: 0.0346574 },
  ])('$doublingK K, from runs that warm up at two caps', ({ doublingK, ratePerK }) => {
    const exponent = 2.8;
    const runAt = (powerCapW: number, finalC: number) => {
      const timeS = Array.from({ length: 900 }, (_, i) => i);
      const temperatureC = timeS.map((t) => finalC - (finalC - 30) * Math.exp(-t / 120));
      const frequencyMHz = timeS.map((_, i) => frequencyOf(powerCapW, temperatureC[i]));
      return makeRun(
        { timeS, temperatureC, powerW: timeS.map(() => powerCapW), frequencyMHz },
        { label: `${powerCapW} W`, conditions: { powerCapW } },
      );
    };
    // P = 10 + 16·v·2^((T − 60)/ΔT) + 74·x·v², v² = x^(m − 1), solved for x by bisection.
    const frequencyOf = (powerW: number, temperatureC: number): number => {
      let [low, high] = [0.3, 2];
      for (let i = 0; i < 60; i++) {
        const x = (low + high) / 2;
        const taken =
          10 + 16 * x ** ((exponent - 1) / 2) * 2 ** ((temperatureC - 60) / doublingK) + 74 * x ** exponent;
        if (taken > powerW) high = x;
        else low = x;
      }
      return 3700 * low;
    };
    const curve = fitPowerCurve([runAt(110, 92), runAt(80, 75)]);
    const rate = 1 / curve.parameters['leakageScaleK'];
    // Noise-free logs, but an exponent and a base power that are only weakly known.
    expect(Math.abs(rate / ratePerK - 1)).toBeLessThan(0.05);
  });
});
