import fc from 'fast-check';
import { expect, test } from 'vitest';
import { chooseCap } from '../../toolkit/cap/choose/choose-cap.js';
import type {
  CapScenario,
  EnclosureOfScenario,
  UncertainInput,
} from '../../toolkit/cap/scenario/cap-scenario.js';
import type { ResistanceLaw } from '../../toolkit/thermal/cooler-model.js';
import { plainCooler } from '../unit/cap/plain-cooler.js';
import { plainCurve } from '../unit/cap/plain-curve.js';

/** A plain generator of this test's own (mulberry32), so that nothing is shared with the code under test. */
function plainRandom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return (((t ^ (t >>> 14)) >>> 0) + 0.5) / 4294967296;
  };
}

/**
 * Chance that the steady temperature passes the limit at a cap, by plain simulation: normal deviates by Box and
 * Muller, a joint Student t by dividing two correlated normal deviates by one root of chi-square over its degrees
 * of freedom (a sum of squares of normal deviates).
 */
function chanceOfPassing(
  law: ResistanceLaw,
  scenario: CapScenario,
  powerCapW: number,
  draws: number,
): number {
  const random = plainRandom(20_231);
  const normal = () => Math.sqrt(-2 * Math.log(random())) * Math.cos(2 * Math.PI * random());
  const value = (input: UncertainInput) => {
    if (typeof input === 'number') return input;
    if ('mean' in input) return input.mean + input.standardDeviation * normal();
    return input.low + (input.high - input.low) * random();
  };
  let passing = 0;
  let valid = 0;
  while (valid < draws) {
    let chiSquare = 0;
    for (let k = 0; k < law.degreesOfFreedom; k++) chiSquare += normal() ** 2;
    const scale = Math.sqrt(law.degreesOfFreedom / chiSquare);
    const first = normal() * scale;
    const other = normal() * scale;
    const resistance = law.thermalResistanceKPerW + law.resistanceStandardErrorKPerW * first;
    if (resistance <= 0) continue;
    const exponent = Math.min(
      0.25,
      Math.max(
        0,
        law.powerExponent +
          law.exponentStandardError * (law.correlation * first + Math.sqrt(1 - law.correlation ** 2) * other),
      ),
    );
    valid++;
    const { riseK, atPowerW } = scenario.enclosure as EnclosureOfScenario;
    const rise = Math.max(0, value(riseK));
    const temperature =
      value(scenario.ambientC) +
      (atPowerW === undefined ? rise : (rise * powerCapW) / atPowerW) +
      resistance * (powerCapW / law.atPowerW) ** -exponent * powerCapW;
    if (temperature > scenario.limitC) passing++;
  }
  return passing / draws;
}

const uncertain = (low: number, high: number, spread: number): fc.Arbitrary<UncertainInput> =>
  fc
    .double({ min: low, max: high, noNaN: true })
    .chain((centre) =>
      fc.constantFrom<UncertainInput>(
        centre,
        { low: centre - 1.7 * spread, high: centre + 1.7 * spread },
        { mean: centre, standardDeviation: spread },
      ),
    );

const laws: fc.Arbitrary<ResistanceLaw> = fc.record({
  thermalResistanceKPerW: fc.double({ min: 0.3, max: 0.8, noNaN: true }),
  atPowerW: fc.double({ min: 50, max: 140, noNaN: true }),
  powerExponent: fc.double({ min: 0, max: 0.2, noNaN: true }),
  exponentSource: fc.constant('fitted' as const),
  resistanceStandardErrorKPerW: fc.double({ min: 0.002, max: 0.03, noNaN: true }),
  exponentStandardError: fc.double({ min: 0, max: 0.05, noNaN: true }),
  correlation: fc.double({ min: -0.9, max: 0.9, noNaN: true }),
  degreesOfFreedom: fc.integer({ min: 3, max: 20 }),
});

const scenarios: fc.Arbitrary<CapScenario> = fc.record({
  limitC: fc.double({ min: 75, max: 100, noNaN: true }),
  ambientC: uncertain(15, 32, 2),
  enclosure: fc.oneof(
    fc.record({ riseK: uncertain(4, 15, 1.5) }),
    fc.record({ riseK: uncertain(4, 15, 1.5), atPowerW: fc.constant(100) }),
  ),
  confidence: fc.constantFrom(0.5, 0.8, 0.9, 0.95, 0.99),
  stepW: fc.constant(0.01),
  maxCapW: fc.constant(1000), // the temperature alone decides
});

test('a plain simulation of 200,000 draws agrees with the confidence at the cap, and so never finds it broken', () => {
  const draws = 200_000;
  fc.assert(
    fc.property(laws, scenarios, (law, scenario) => {
      const choice = chooseCap(plainCooler(law), plainCurve(), scenario);
      const stated = 1 - scenario.confidence!;
      const chance = chanceOfPassing(law, scenario, choice.powerCapW, draws);
      // Four standard deviations of the plain simulation, and as much as 4096 quasi-random draws leave open: their
      // place errs by about a tenth of what plain draws would, and the step of 0.01 W moves the chance less.
      const simulation = 4 * Math.sqrt((stated * (1 - stated)) / draws);
      const quasiRandom = 0.4 * Math.sqrt((stated * (1 - stated)) / 4096);
      expect(Math.abs(chance - stated)).toBeLessThan(simulation + quasiRandom + 0.0005);
    }),
    { seed: 3, numRuns: 12 },
  );
});

test('the next settable step never holds: the cap is the largest one', () => {
  fc.assert(
    fc.property(laws, scenarios, fc.constantFrom(0.5, 1, 5), (law, scenario, stepW) => {
      const choice = chooseCap(plainCooler(law), plainCurve(), { ...scenario, stepW });
      const [, , at, next] = choice.neighbours;
      expect(at.powerCapW).toBe(choice.powerCapW);
      expect(at.chanceOfPassingLimit).toBeLessThanOrEqual(1 - scenario.confidence!);
      expect(next.chanceOfPassingLimit).toBeGreaterThan(1 - scenario.confidence! - 1e-9);
      expect(choice.unroundedCapW - choice.powerCapW).toBeGreaterThanOrEqual(-1e-9);
      expect(choice.unroundedCapW - choice.powerCapW).toBeLessThan(stepW);
    }),
    { seed: 5, numRuns: 60 },
  );
});

test('a higher limit, cooler air and less confidence never lower the cap', () => {
  fc.assert(
    fc.property(laws, scenarios, (law, scenario) => {
      const cap = (change: Partial<CapScenario>) =>
        chooseCap(plainCooler(law), plainCurve(), { ...scenario, ...change }).unroundedCapW;
      const base = cap({});
      expect(cap({ limitC: scenario.limitC + 1 })).toBeGreaterThan(base);
      expect(cap({ confidence: scenario.confidence! - 0.2 })).toBeGreaterThan(base);
      expect(cap({ enclosure: { riseK: 0 } })).toBeGreaterThan(base);
    }),
    { seed: 7, numRuns: 40 },
  );
});
