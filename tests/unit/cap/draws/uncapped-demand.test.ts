import { expect, test } from 'vitest';
import {
  atOtherFanSpeed,
  drawSteady,
  type SteadyDraws,
  temperatureOf,
} from '../../../../toolkit/cap/draws/steady-draws.js';
import {
  demandAtFrequency,
  powerAtFrequency,
  type TabulatedPower,
} from '../../../../toolkit/cap/draws/uncapped-demand.js';
import { plainCooler } from '../plain-cooler.js';
import { workedCurve } from '../worked-curve.js';

const cooler = plainCooler({
  resistanceStandardErrorKPerW: 0.02,
  powerExponent: 0.08,
  exponentStandardError: 0.02,
  degreesOfFreedom: 6,
});
const [atOwnSpeed] = drawSteady(
  [cooler],
  {
    ambientC: { mean: 27, standardDeviation: 2 },
    enclosure: { riseK: { mean: 9, standardDeviation: 1 }, atPowerW: 80 },
    drawCount: 2048,
    seed: 1,
  },
  'test',
);
const law = powerAtFrequency(workedCurve(), 3300, { caller: 'test', argument: 'frequency' });

const SPACING_W = 0.05;

/** The first power of a fine grid at which the curve asks for no more than that; infinite where there is none to 160 °C. */
function firstByGrid(draws: SteadyDraws, index: number, { power }: TabulatedPower): number {
  for (let powerW = SPACING_W; ; powerW += SPACING_W) {
    const temperatureC = temperatureOf(draws, index, powerW);
    if (temperatureC > 160) return Number.POSITIVE_INFINITY;
    if (power(temperatureC) <= powerW) return powerW;
  }
}

// Slower fans bring some of the draws, then most of them, to thermal runaway.
const SPEEDS = [
  ['a faster fan', 0.8, 'none'],
  ['the speed of the runs', 1, 'some'],
  ['a slower fan', 1.25, 'most'],
] as const;

test.each(SPEEDS)(
  'demands at %s are the lowest roots that a fine grid of powers shows',
  (_, ratio, endless) => {
    const draws = atOtherFanSpeed(atOwnSpeed, ratio, 0.02);
    const { powersW, temperaturesC, rangeW } = demandAtFrequency(draws, law);
    let endlessCount = 0;
    for (let i = 0; i < draws.count; i++) {
      const powerW = powersW[i];
      if (powerW === Number.POSITIVE_INFINITY) {
        endlessCount++;
        expect(temperaturesC[i]).toBe(Number.POSITIVE_INFINITY);
        // Two roots closer together than the grid are missed by it, not the other way round.
        expect(firstByGrid(draws, i, law)).toBe(Number.POSITIVE_INFINITY);
        continue;
      }
      expect(Math.abs(temperatureOf(draws, i, powerW) - temperaturesC[i])).toBeLessThan(1e-7);
      expect(Math.abs(law.power(temperaturesC[i]) / powerW - 1)).toBeLessThan(1e-9);
      const shownW = firstByGrid(draws, i, law);
      if (shownW < Number.POSITIVE_INFINITY) {
        expect(powerW).toBeLessThanOrEqual(shownW + 1e-6);
        expect(powerW).toBeGreaterThan(shownW - SPACING_W - 1e-6);
      }
    }
    expect(rangeW).toEqual([Math.min(...powersW), Math.max(...powersW)]);
    const share = endlessCount / draws.count;
    expect(share === 0 ? 'none' : share < 0.5 ? 'some' : 'most').toBe(endless);
  },
);

test.each(SPEEDS)('what is told of demands at %s without working them out agrees with them', (_, ratio) => {
  const draws = atOtherFanSpeed(atOwnSpeed, ratio, 0.02);
  for (const mostW of [Number.POSITIVE_INFINITY, 78]) {
    const demand = demandAtFrequency(draws, law, mostW);
    const { powersW, rangeW } = demand;
    expect(demand.atLeastW).toBeLessThanOrEqual(rangeW[0]);
    expect(demand.atLeastW).toBeGreaterThan(0.9 * Math.min(rangeW[0], mostW));
    for (let i = 0; i < draws.count; i++)
      for (const powerW of [60, 75, 78, 80, 85, 95]) {
        const temperatureC = temperatureOf(draws, i, powerW);
        expect(demand.isAtMost(i, powerW, temperatureC)).toBe(powersW[i] <= powerW);
      }
  }
});
