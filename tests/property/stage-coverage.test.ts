// Whether the 95 % intervals of stages and total hold the truth where the model is exact: a linear plant of two stages
// whose fan is fixed, logged at one power or at two. Seeds fixed; bounds are those of a binomial, so that a true 90 %
// passes and 75 % does not.
import { describe, expect, test } from 'vitest';
import type { Estimate } from '../../toolkit/numerics/estimate.js';
import { seededRandom } from '../../toolkit/numerics/random.js';
import { fitCooler } from '../../toolkit/thermal/fit/fit-cooler.js';
import { everyS, knownRun } from '../unit/thermal/known-cooler.js';

const poles = [
  { timeConstantS: 5, resistanceKPerW: 0.05 },
  { timeConstantS: 150, resistanceKPerW: 0.3 },
];
const TRIALS = 40;

const holds = (estimate: Estimate, truth: number): boolean =>
  estimate.kind === 'estimated' && estimate.interval95[0] <= truth && truth <= estimate.interval95[1];

function heldOf(
  powersW: readonly number[],
  firstSeed: number,
): { total: number; slow: number; resistance: number } {
  const held = { total: 0, slow: 0, resistance: 0 };
  for (let trial = 0; trial < TRIALS; trial++) {
    const random = seededRandom(firstSeed + trial);
    const runs = powersW.map((powerW) =>
      knownRun({
        timeS: everyS(1, 1500),
        poles,
        startPowerW: 12,
        powerSteps: [{ atS: 60, powerW }],
        noiseK: () => 0.2 * random.normal(),
        label: `${powerW} W`,
      }),
    );
    const model = fitCooler(runs);
    const slowest = model.stages[model.stages.length - 1];
    if (holds(model.thermalResistanceKPerW, 0.35)) held.total++;
    if (holds(slowest.timeConstantS, 150)) held.slow++;
    if (holds(slowest.resistanceKPerW, 0.3)) held.resistance++;
  }
  return held;
}

describe('intervals of a linear two-stage plant', () => {
  test.each([
    ['logged at one power, its exponent assumed', [95], 31000],
    ['logged at two powers, its exponent fitted', [95, 65], 32000],
  ])('%s', (_, powersW, seed) => {
    const held = heldOf(powersW, seed);
    // 31 of 40: a true 90 % passes with 99 %.
    expect(held.total).toBeGreaterThanOrEqual(31);
    expect(held.slow).toBeGreaterThanOrEqual(31);
    expect(held.resistance).toBeGreaterThanOrEqual(31);
  });
});
