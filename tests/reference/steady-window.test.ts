import { describe, expect, it } from 'vitest';
import { makeRun } from '../../toolkit/runs/make-run.js';
import { type SteadyWindow, steadyWindow } from '../../toolkit/runs/segments/steady-window.js';
import { seededNormal } from '../unit/runs/synthetic-run.js';

const WINDOW_COUNT = 120;
const TRIAL_COUNT = 300;

/** The steady window of ten minutes at 1 Hz whose temperature is 60 °C + drift + noise of this correlation. */
function trial(
  seed: number,
  {
    driftKPerMin = 0,
    noiseK = 0.2,
    correlation = 0,
  }: { driftKPerMin?: number; noiseK?: number; correlation?: number },
): { readonly end: SteadyWindow; readonly window: readonly number[] } {
  const noise = seededNormal(seed);
  let level = noise();
  const timeS = Array.from({ length: 600 }, (_, i) => i);
  const temperatureC = timeS.map((t) => {
    level = correlation * level + Math.sqrt(1 - correlation ** 2) * noise();
    return 60 + (driftKPerMin / 60) * t + noiseK * level;
  });
  const run = makeRun(
    { timeS, temperatureC, powerW: timeS.map(() => 80) },
    { label: 'trial', conditions: { powerCapW: 80 } },
  );
  const end = steadyWindow(run);
  return { end, window: temperatureC.slice(end.startIndex, end.endIndex) };
}

const trials = (options: Parameters<typeof trial>[1]) =>
  Array.from({ length: TRIAL_COUNT }, (_, k) => trial(1000 + 7919 * k, options));

const share = <T>(items: readonly T[], holds: (item: T) => boolean): number =>
  items.filter(holds).length / items.length;

/**
 * Ratio of the mean square successive difference to the variance (von Neumann 1941): for independent normal
 * samples its mean is 2n/(n − 1) and its variance 4n²(n − 2)/((n + 1)(n − 1)³) (recomputed by simulation).
 */
function vonNeumannRatio(x: readonly number[]): number {
  const n = x.length;
  const mean = x.reduce((sum, value) => sum + value, 0) / n;
  const successive = x.slice(1).reduce((sum, value, i) => sum + (value - x[i]) ** 2, 0) / (n - 1);
  return successive / (x.reduce((sum, value) => sum + (value - mean) ** 2, 0) / n);
}

const n = WINDOW_COUNT;
const RATIO_MEAN = (2 * n) / (n - 1);
const RATIO_DEVIATION = Math.sqrt((4 * n ** 2 * (n - 2)) / ((n + 1) * (n - 1) ** 3));
const ratioSeesDrift = (x: readonly number[]) => vonNeumannRatio(x) < RATIO_MEAN - 1.645 * RATIO_DEVIATION;

/**
 * R-statistic of Cao and Rhinehart (1995), filter factors 0.2, 0.1, 0.1: the ratio of two filtered estimates of
 * variance, 1 at steady state. Its 99 % quantile there is 1.729 (recomputed by simulation; recursion from memory).
 */
function rStatistic(x: readonly number[]): number {
  let filtered = x[0];
  let aboutFilter = 0.04;
  let successive = 0.08;
  for (let i = 1; i < x.length; i++) {
    aboutFilter = 0.1 * (x[i] - filtered) ** 2 + 0.9 * aboutFilter;
    filtered = 0.2 * x[i] + 0.8 * filtered;
    successive = 0.1 * (x[i] - x[i - 1]) ** 2 + 0.9 * successive;
  }
  return ((2 - 0.2) * aboutFilter) / successive;
}

describe('steadyWindow against independent tests for steady state', () => {
  it('raises false alarms as seldom as its 95 % interval promises', () => {
    const settled = trials({});
    // At most 5 % by construction; the limit on the size of the drift makes it fewer. 300 trials: 5 % ± 2.5 %.
    expect(share(settled, ({ end }) => end.verdict === 'drifting')).toBeLessThan(0.075);
    expect(share(settled, ({ end }) => end.verdict === 'steady')).toBeGreaterThan(0.9);
  });

  it('agrees with the von Neumann ratio on clear cases, settled or drifting', () => {
    expect(share(trials({}), ({ window }) => ratioSeesDrift(window))).toBeLessThan(0.09);
    const drifting = trials({ driftKPerMin: 0.6 });
    expect(share(drifting, ({ window }) => ratioSeesDrift(window))).toBeGreaterThan(0.95);
    expect(share(drifting, ({ end }) => end.verdict === 'drifting')).toBeGreaterThan(0.95);
  });

  it('sees drifts that the filtered R-statistic cannot see yet', () => {
    const drifting = trials({ driftKPerMin: 0.3 });
    expect(share(drifting, ({ window }) => rStatistic(window) > 1.729)).toBeLessThan(0.2);
    expect(share(drifting, ({ end }) => end.verdict === 'drifting')).toBeGreaterThan(0.9);
  });

  it('holds the true drift in its interval about 95 times in 100, correlated noise or not', () => {
    for (const correlation of [0, 0.6]) {
      const holds = share(trials({ driftKPerMin: 0.3, correlation }), ({ end: { driftKPerMin: drift } }) => {
        if (drift.kind !== 'estimated') return false;
        return drift.interval95[0] <= 0.3 && 0.3 <= drift.interval95[1];
      });
      // 300 trials: the share is known to 0.025 (95 %); the house standard for intervals is 0.90 to 0.98.
      expect(holds).toBeGreaterThan(0.9);
      expect(holds).toBeLessThan(0.99);
    }
  });

  it('gives the mean of correlated samples the standard error of the closed form', () => {
    // Var = σ²/n [(1 + ρ)/(1 − ρ) − 2ρ(1 − ρⁿ)/(n(1 − ρ)²)] for a first-order process (recomputed).
    for (const correlation of [0, 0.6]) {
      const closed =
        (0.2 ** 2 / n) *
        ((1 + correlation) / (1 - correlation) -
          (2 * correlation * (1 - correlation ** n)) / (n * (1 - correlation) ** 2));
      const ends = trials({ correlation }).map(({ end }) => end.temperatureC);
      const variances = ends.map(({ standardError }) => standardError! ** 2).sort((a, b) => a - b);
      const median = variances[variances.length >> 1];
      expect(median / closed).toBeGreaterThan(0.8);
      expect(median / closed).toBeLessThan(1.35);
    }
  });
});
