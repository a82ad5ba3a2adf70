import { describe, expect, it } from 'vitest';
import { chooseCap } from '../../toolkit/cap/choose/choose-cap.js';
import { capFrontier } from '../../toolkit/cap/frontier/cap-frontier.js';
import { requireValue } from '../../toolkit/numerics/estimates.js';
import { seededRandom } from '../../toolkit/numerics/random.js';
import { plainCooler } from '../unit/cap/plain-cooler.js';
import { workedCurve } from '../unit/cap/worked-curve.js';

const SCENARIO_COUNT = 60;

describe('a frontier over random scenarios', () => {
  const random = seededRandom(4117);
  const between = (low: number, high: number): number => low + (high - low) * random.uniform();
  const cases = Array.from({ length: SCENARIO_COUNT }, () => ({
    cooler: plainCooler({
      thermalResistanceKPerW: between(0.35, 0.75),
      resistanceStandardErrorKPerW: between(0.001, 0.02),
      powerExponent: between(0, 0.1),
      exponentStandardError: between(0, 0.03),
      correlation: between(-0.6, 0.6),
      degreesOfFreedom: between(4, 200),
    }),
    scenario: {
      limitC: between(72, 95),
      ambientC: { low: between(15, 22), high: between(22, 32) },
      ...(random.uniform() < 0.5
        ? { enclosure: { riseK: { mean: between(4, 12), standardDeviation: 1 }, atPowerW: 90 } }
        : {}),
      ...(random.uniform() < 0.3
        ? { supply: { budgetW: between(120, 180), restOfMachineW: 40, efficiencyFraction: 0.9 } }
        : {}),
      confidence: between(0.8, 0.99),
      maxCapW: 118,
      minCapW: 20,
      seed: Math.floor(between(1, 1000)),
    },
  }));

  it('has its highest allowed cap where chooseCap sets the cap, with the same answers there', () => {
    for (const { cooler, scenario } of cases) {
      const frontier = capFrontier(cooler, workedCurve(), scenario);
      const choice = chooseCap(cooler, workedCurve(), scenario);
      expect(frontier.highestAllowedW).toBe(choice.powerCapW);
      const at = frontier.points.find(({ powerCapW }) => powerCapW === choice.powerCapW)!;
      expect(at.throughputPerS).toEqual(choice.throughputPerS);
      expect(at.workPerWh).toEqual(choice.workPerWh);
      expect(at.chanceOfPassingLimit).toBeLessThanOrEqual(1 - scenario.confidence + 1e-9);
    }
  });

  it('grows hotter and likelier to pass the limit with every watt; a cap is dominated where a lower one does the work', () => {
    let dominatedCount = 0;
    for (const { cooler, scenario } of cases.slice(0, 20)) {
      const { points, summary } = capFrontier(cooler, workedCurve(), { ...scenario, supply: {} });
      let most = 0;
      points.forEach((point, i) => {
        const work = requireValue(point.throughputPerS);
        // Far up, leakage of the hotter die eats more than the further watt brings.
        expect(point.dominated).toBe(work <= most);
        if (point.dominated) dominatedCount++;
        most = Math.max(most, work);
        const before = points[i - 1];
        if (before === undefined) return;
        expect(requireValue(point.temperatureC)).toBeGreaterThan(requireValue(before.temperatureC));
        expect(point.chanceOfPassingLimit).toBeGreaterThanOrEqual(before.chanceOfPassingLimit);
        // Once forbidden, always forbidden.
        if (!before.allowed) expect(point.allowed).toBe(false);
      });
      expect(summary.includes('more power does no more work')).toBe(points.at(-1)!.dominated);
    }
    expect(dominatedCount).toBeGreaterThan(0);
  });
});
