// How often is a verdict wrong? Coolers that are equal but for their mounts, drawn anew in each trial; seeds fixed. Bounds
// are the 99.9 % quantile of a binomial around the stated rate, so that a sound procedure does not fail by chance.
import { describe, expect, test } from 'vitest';
import type { RandomStream } from '../../toolkit/numerics/random.js';
import { seededRandom } from '../../toolkit/numerics/random.js';
import { compareCoolers } from '../../toolkit/thermal/compare/compare-coolers.js';
import type { CoolerModel } from '../../toolkit/thermal/cooler-model.js';
import {
  MOUNT_ALLOWANCE_FRACTION,
  mountSpread,
  nextMountVarianceFraction,
} from '../../toolkit/thermal/mount-spread.js';
import { modelWith } from '../unit/thermal/known-cooler.js';

const TRIALS = 1000;
const FIT_STANDARD_ERROR_KPERW = 0.003;

/** What a fit of some mounts of a cooler would state: the middle of what was logged, and its spread. */
function loggedCooler(
  label: string,
  trueResistanceKPerW: number,
  mountCount: number,
  spreadFraction: number,
  random: RandomStream,
): CoolerModel {
  const logs = Array.from({ length: mountCount }, () => spreadFraction * random.normal());
  const middle = logs.reduce((sum, log) => sum + log, 0) / mountCount;
  const resistanceKPerW = trueResistanceKPerW * Math.exp(middle) + FIT_STANDARD_ERROR_KPERW * random.normal();
  const logFactors = logs.map((log) => log - middle);
  const nextMount = nextMountVarianceFraction(mountSpread(logFactors, mountCount, MOUNT_ALLOWANCE_FRACTION));
  const model = modelWith([{ timeConstantS: 100, resistanceKPerW }], {
    resistanceStandardErrorKPerW: Math.hypot(
      FIT_STANDARD_ERROR_KPERW,
      resistanceKPerW * Math.sqrt(nextMount),
    ),
  });
  return {
    ...model,
    label,
    starts: logs.map((log) => ({
      runLabel: label,
      firstIndex: 0,
      startPowerW: [0],
      mountFactor: Math.exp(log - middle),
    })),
  };
}

/** Share of trials in which any pair of equal coolers is told apart. */
function wrongShare(coolerCount: number, mountCount: number, spreadFraction: number, seed: number): number {
  const random = seededRandom(seed);
  let wrong = 0;
  for (let trial = 0; trial < TRIALS; trial++) {
    const models = Array.from({ length: coolerCount }, (_, i) =>
      loggedCooler(`cooler ${i}`, 0.5, mountCount, spreadFraction, random),
    );
    const { pairs } = compareCoolers(models, { powerW: 80 });
    if (pairs.some(({ verdict }) => verdict !== 'not told apart')) wrong++;
  }
  return wrong / TRIALS;
}

/** 5 % and what chance adds to it in 2,000 trials: 3.09 standard deviations. */
const HIGHEST_SHARE = 0.05 + 3.09 * Math.sqrt((0.05 * 0.95) / TRIALS);

describe('of equal coolers, at most one comparison in twenty tells any apart', () => {
  test.each([
    { coolers: 2, mounts: 1, spread: 0.025, seed: 9101 },
    { coolers: 2, mounts: 2, spread: 0.025, seed: 9102 },
    { coolers: 2, mounts: 3, spread: 0.025, seed: 9103 },
    { coolers: 2, mounts: 6, spread: 0.025, seed: 9104 },
    { coolers: 2, mounts: 3, spread: 0.01, seed: 9105 },
    { coolers: 4, mounts: 1, spread: 0.025, seed: 9106 },
    { coolers: 4, mounts: 2, spread: 0.025, seed: 9107 },
  ])('$coolers coolers, $mounts mounts each, spread $spread', ({ coolers, mounts, spread, seed }) => {
    expect(wrongShare(coolers, mounts, spread, seed)).toBeLessThan(HIGHEST_SHARE);
  });

  test('also where mounts spread twice as much as allowed, once six were logged', () => {
    // From few mounts a spread that is larger than assumed cannot be seen reliably; 2 % more is what it may cost.
    expect(wrongShare(2, 6, 0.05, 9108)).toBeLessThan(HIGHEST_SHARE + 0.02);
  });
});

describe('of coolers that differ', () => {
  test('by 20 % most are told apart from one mount each, and hardly ever the wrong way', () => {
    const random = seededRandom(9201);
    let right = 0;
    let reversed = 0;
    for (let trial = 0; trial < TRIALS; trial++) {
      const { verdict } = compareCoolers(
        [loggedCooler('a', 0.4, 1, 0.025, random), loggedCooler('b', 0.5, 1, 0.025, random)],
        { powerW: 80 },
      ).pairs[0];
      if (verdict === 'better') right++;
      if (verdict === 'worse') reversed++;
    }
    expect(right / TRIALS).toBeGreaterThan(0.95);
    expect(reversed).toBe(0);
  });

  test('the interval of the difference holds the truth in at least 95 % of pairs', () => {
    const random = seededRandom(9301);
    let held = 0;
    for (let trial = 0; trial < TRIALS; trial++) {
      const { differenceKPerW } = compareCoolers(
        [loggedCooler('a', 0.45, 2, 0.025, random), loggedCooler('b', 0.5, 3, 0.025, random)],
        { powerW: 80 },
      ).pairs[0];
      if (differenceKPerW.kind !== 'estimated') throw new Error('a difference is estimated');
      const [low, high] = differenceKPerW.interval95;
      if (low <= -0.05 && -0.05 <= high) held++;
    }
    expect(held / TRIALS).toBeGreaterThan(1 - HIGHEST_SHARE);
  });
});
