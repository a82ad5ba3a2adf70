import { describe, expect, test } from 'vitest';
import type { CapScenario } from '../../toolkit/cap/choose/cap-choice.js';
import { chooseCap } from '../../toolkit/cap/choose/choose-cap.js';
import { plainCooler } from '../unit/cap/plain-cooler.js';
import { plainCurve } from '../unit/cap/plain-curve.js';

/**
 * The quantile of the cap against models whose answer is known in closed form. The quasi-random quantile is an
 * order statistic: with 2^16 draws its place is known to 1.5e-5, so 0.003 standard deviations of the cap are
 * allowed (at 95 % one place is 1.5e-4 of them) for one uncertain input and 0.01 for two.
 */
const drawCount = 2 ** 16;
const Z95 = 1.6448536269514722; // normal quantile at 0.95
const Z975 = 1.959963984540054;

function unroundedCap(cooler: ReturnType<typeof plainCooler>, scenario: CapScenario): number {
  return chooseCap(cooler, plainCurve(), { drawCount, ...scenario }).unroundedCapW;
}

describe('additive models of JCGM 101:2008, 9.2', () => {
  test('normal room air alone: cap = (limit − mean − z·σ) / R', () => {
    const cap = unroundedCap(plainCooler(), { limitC: 85, ambientC: { mean: 25, standardDeviation: 3 } });
    expect(Math.abs(cap - (85 - 25 - Z95 * 3) / 0.5)).toBeLessThan(0.003 * 6);
  });

  test('the sum of four standard normal inputs ends at 3.92 with 97.5 % (9.2.2, published)', () => {
    // Two inputs of standard deviation √2 are four of 1: cap·R = 85 − 35 − 3.92.
    const cap = unroundedCap(plainCooler(), {
      limitC: 85,
      ambientC: { mean: 25, standardDeviation: Math.SQRT2 },
      enclosure: { riseK: { mean: 10, standardDeviation: Math.SQRT2 } },
      confidence: 0.975,
    });
    expect(Math.abs(85 - 35 - 0.5 * cap - 3.919928)).toBeLessThan(0.01 * 2);
  });

  test('two equal rectangular inputs give the triangular distribution, of standard deviation half-width/√6', () => {
    // GUM 4.3.9: a triangular distribution of half-width a has variance a²/6; its 95 % point is a(1 − √0.1).
    const scenario: CapScenario = {
      limitC: 85,
      ambientC: { low: 22, high: 28 },
      enclosure: { riseK: { low: 7, high: 13 } },
    };
    const cap = unroundedCap(plainCooler(), scenario);
    expect(Math.abs(85 - 35 - 0.5 * cap - 6 * (1 - Math.sqrt(0.1)))).toBeLessThan(0.01 * 2.45);
    const held = chooseCap(plainCooler(), plainCurve(), { ...scenario, drawCount }).steadyTemperatureC;
    expect(held).toMatchObject({ kind: 'estimated' });
    if (held.kind === 'estimated') {
      expect(Math.abs(held.standardError - 6 / Math.sqrt(6))).toBeLessThan(0.003);
      const half = 6 * (1 - Math.sqrt(0.05));
      expect(Math.abs(held.interval95[0] - (held.value - half))).toBeLessThan(0.02);
      expect(Math.abs(held.interval95[1] - (held.value + half))).toBeLessThan(0.02);
    }
  });

  test('two unequal rectangular inputs give the trapezoid', () => {
    // Half-widths 6 and 2: the upper tail beyond 6 + 2 − d holds d²/(2·12·4); 5 % is d = √4.8.
    const cap = unroundedCap(plainCooler(), {
      limitC: 85,
      ambientC: { low: 19, high: 31 },
      enclosure: { riseK: { low: 8, high: 12 } },
    });
    expect(Math.abs(85 - 35 - 0.5 * cap - (8 - Math.sqrt(4.8)))).toBeLessThan(0.01 * 3.7);
  });
});

describe('Student’s t of the resistance', () => {
  test('a resistance of 9 degrees of freedom: cap = ΔT / (R + t·u) with t = 1.8331 (GUM table G.2, 90 % two-sided)', () => {
    const cooler = plainCooler({ resistanceStandardErrorKPerW: 0.02, degreesOfFreedom: 9 });
    const cap = unroundedCap(cooler, { limitC: 85, ambientC: 25 });
    expect(Math.abs(cap - 60 / (0.5 + 1.8331129 * 0.02))).toBeLessThan(0.02);
  });
});

describe('inverse prediction with Fieller’s limits', () => {
  test('room and resistance both normal: the cap solves the quadratic of Fieller’s theorem', () => {
    // P(ΔT − c·R < 0) = Φ(−(μ − c·R)/√(σ² + c²u²)), so the 5 % point c has μ − c·R = z·√(σ² + c²u²).
    const [mu, sigma, r, u] = [55, 2.5, 0.5, 0.02];
    const a = r * r - (Z95 * u) ** 2;
    const c = (mu * r - Math.sqrt((mu * r) ** 2 - a * (mu * mu - (Z95 * sigma) ** 2))) / a;
    const cooler = plainCooler({ resistanceStandardErrorKPerW: u });
    const cap = unroundedCap(cooler, { limitC: 85, ambientC: { mean: 30, standardDeviation: sigma } });
    expect(Math.abs(cap - c)).toBeLessThan(0.01 * 6.4);
  });

  test('Eurachem/CITAC QUAM, example A5: the 95 % Fieller limits of the calibration line (recomputed)', () => {
    // Absorbance against concentration, 15 points: slope 0.2410, s = 0.0054856, mean x 0.5, Sxx 1.2, mean y
    // 0.1292; two readings of mean 0.0714. About the centre, x̄ − x₀ = (ȳ − y₀)/b with independent parts of one s,
    // so the limits with t(13) = 2.160369 are those of normal parts widened by t/z. In thousandths of both units:
    // "temperature" drop 57.8, "resistance" 0.241, "power" 1000·(x̄ − x₀).
    const s = 0.00548564560396566;
    const widening = 2.1603686564610127 / Z975;
    const cooler = plainCooler(
      {
        thermalResistanceKPerW: 0.241,
        resistanceStandardErrorKPerW: (s / Math.sqrt(1.2)) * widening,
        atPowerW: 240,
      },
      { testedRange: { powerW: [100, 900], temperatureC: [28, 230], durationS: 1 } },
    );
    const y = [28, 29, 29, 84, 83, 81, 135, 131, 133, 180, 181, 183, 215, 230, 216];
    const dropK = y.reduce((sum, value) => sum + value, 0) / 15 - 71.4;
    const spreadK = 1000 * s * Math.sqrt(1 / 2 + 1 / 15) * widening;
    const limits = [0.975, 0.025].map((confidence) =>
      unroundedCap(cooler, {
        limitC: 10 + dropK,
        ambientC: { mean: 10, standardDeviation: spreadK },
        confidence,
      }),
    );
    // 0.01 of the standard uncertainty of x₀, 0.0178.
    expect(Math.abs(0.5 - limits[0] / 1000 - 0.29827459)).toBeLessThan(0.0002);
    expect(Math.abs(0.5 - limits[1] / 1000 - 0.22108883)).toBeLessThan(0.0002);
  });
});
