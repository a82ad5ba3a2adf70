// Comparison of coolers against published two-sample statistics.
import { describe, expect, test } from 'vitest';
import { studentTQuantile } from '../../toolkit/numerics/distributions.js';
import { effectiveDegreesOfFreedom } from '../../toolkit/numerics/effective-degrees-of-freedom.js';
import { holmAdjustedPValues } from '../../toolkit/numerics/holm.js';
import { compareCoolers } from '../../toolkit/thermal/compare/compare-coolers.js';
import { mountsToTell } from '../../toolkit/thermal/compare/mounts-to-tell.js';
import type { ResistanceParts } from '../../toolkit/thermal/compare/resistance-parts.js';
import type { CoolerModel } from '../../toolkit/thermal/cooler-model.js';
import { modelWith } from '../unit/thermal/known-cooler.js';

describe('effective degrees of freedom', () => {
  test('GUM H.1.6, calibration of an end gauge: ν = 16.7', () => {
    // Contributions in nm and their degrees of freedom as printed (value from memory, recomputed).
    const degreesOfFreedom = effectiveDegreesOfFreedom([
      { variance: 25 ** 2, degreesOfFreedom: 18 },
      { variance: 9.7 ** 2, degreesOfFreedom: 25.6 },
      { variance: 2.9 ** 2, degreesOfFreedom: 50 },
      { variance: 16.6 ** 2, degreesOfFreedom: 2 },
    ]);
    // Printed 16.7; 16.75 from unrounded contributions (recomputed). The rounded ones here may move the last digit.
    expect(Math.abs(degreesOfFreedom - 16.75)).toBeLessThan(0.05);
  });
});

describe('difference of two means with unequal variances', () => {
  // Walpole et al., Probability and Statistics for Engineers and Scientists, example on orthophosphorus at two stations:
  // 15 samples, mean 3.84, s = 3.07; 12 samples, mean 1.49, s = 0.80; ν = 16.3, 95 % interval 0.60 to 4.10 (values from
  // memory, recomputed).
  const station = (label: string, mean: number, s: number, n: number): CoolerModel => {
    const model = modelWith([{ timeConstantS: 100, resistanceKPerW: mean }], {
      resistanceStandardErrorKPerW: s / Math.sqrt(n),
    });
    return { ...model, label, resistanceLaw: { ...model.resistanceLaw, degreesOfFreedom: n - 1 } };
  };
  const { pairs } = compareCoolers(
    [station('station 1', 3.84, 3.07, 15), station('station 2', 1.49, 0.8, 12)],
    {
      powerW: 80,
      mountAllowanceFraction: 0,
    },
  );
  const [pair] = pairs;

  test('has the printed interval 0.60 to 4.10', () => {
    if (pair.differenceKPerW.kind !== 'estimated') throw new Error('a difference is estimated');
    expect(pair.differenceKPerW.value).toBeCloseTo(2.35, 12);
    expect(pair.differenceKPerW.interval95[0]).toBeCloseTo(0.6, 2);
    expect(pair.differenceKPerW.interval95[1]).toBeCloseTo(4.1, 2);
  });

  test('stands on ν = 16.3 degrees of freedom', () => {
    if (pair.differenceKPerW.kind !== 'estimated') throw new Error('a difference is estimated');
    const factor = (pair.differenceKPerW.interval95[1] - 2.35) / pair.differenceKPerW.standardError;
    expect(factor).toBeGreaterThan(studentTQuantile(0.975, 16.4));
    expect(factor).toBeLessThan(studentTQuantile(0.975, 16.2));
    expect(pair.verdict).toBe('worse');
  });
});

describe('several tests at once', () => {
  test('Holm’s method on 0.01, 0.02, 0.03, 0.04, 0.05 gives 0.05, 0.08, 0.09, 0.09, 0.09 (recomputed)', () => {
    holmAdjustedPValues([0.01, 0.02, 0.03, 0.04, 0.05]).forEach((p, i) => {
      expect(p).toBeCloseTo([0.05, 0.08, 0.09, 0.09, 0.09][i], 15);
    });
  });

  test('never passes 1, keeps the order given, and refuses what is no probability', () => {
    expect(holmAdjustedPValues([0.9, 0.001, 0.8])).toEqual([1, 0.003, 1]);
    expect(() => holmAdjustedPValues([0.5, 1.2])).toThrow(/`pValues\[1\]` must be .* at most 1/);
  });
});

describe('number of samples that tell two means apart', () => {
  // Two-sided 5 %, power 80 %, n in each group for an effect of d standard deviations: 17 at d = 1, 12 at d = 1.2 (Cohen
  // 1988, table 2.4.1, from memory); 10 at d = 1.4 and 7 at d = 1.7 by the noncentral t of SciPy 1.17 (recomputed).
  test.each([
    [1, 17],
    [1.2, 12],
    [1.4, 10],
    [1.7, 7],
  ])('d = %d needs %d in each group', (effect, count) => {
    const spread = 0.01;
    // One mount each with no word on the spread but its own size: what n − 1 more mounts make of n.
    const parts = (resistanceKPerW: number): ResistanceParts => ({
      resistanceKPerW,
      extrapolated: false,
      powerExtrapolated: false,
      mounts: { mountCount: 1, usedFraction: spread, degreesOfFreedom: 1e-9 },
      exponent: { variance: 0, degreesOfFreedom: 100 },
      fan: { variance: 0, degreesOfFreedom: 100 },
      fit: { variance: 0, degreesOfFreedom: 100 },
      mounting: { variance: spread ** 2, degreesOfFreedom: 1e-9 },
    });
    expect(mountsToTell(parts(1), parts(1 + effect * spread), 0.05)).toBe(count - 1);
  });
});
