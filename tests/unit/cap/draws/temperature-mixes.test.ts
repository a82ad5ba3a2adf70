import { expect, test } from 'vitest';
import { limitCap } from '../../../../toolkit/cap/draws/limit-cap.js';
import { drawSteady } from '../../../../toolkit/cap/draws/steady-draws.js';
import {
  passingByTemperature,
  steadyTemperatures,
  type TemperatureDraws,
} from '../../../../toolkit/cap/draws/temperature-draws.js';
import { hottestOf, upToPower } from '../../../../toolkit/cap/draws/temperature-mixes.js';
import { orderStatistic } from '../../../../toolkit/numerics/order-statistic.js';
import { plainCooler } from '../plain-cooler.js';

const law = { resistanceStandardErrorKPerW: 0.03, powerExponent: 0.05, exponentStandardError: 0.02 };
const [wide, dense] = drawSteady(
  [plainCooler(law), plainCooler({ ...law, thermalResistanceKPerW: 0.52, powerExponent: 0.1 })],
  {
    ambientC: { low: 20, high: 28 },
    enclosure: { riseK: { mean: 8, standardDeviation: 2 }, atPowerW: 90 },
    drawCount: 4096,
    seed: 3,
  },
  'test',
).map(steadyTemperatures) as [TemperatureDraws, TemperatureDraws];

const temperaturesOf = (draws: TemperatureDraws, powerW: number): Float64Array => {
  const temperaturesC = new Float64Array(draws.count);
  draws.temperaturesAt(powerW, temperaturesC);
  return temperaturesC;
};
const meanOf = (values: Float64Array): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

test('a load that draws no more than a power of its own is from there on as it is at that power', () => {
  const held = upToPower(wide, 70);
  for (const powerW of [30, 70, 71, 110]) {
    const expectedC = temperaturesOf(wide, Math.min(powerW, 70));
    expect(temperaturesOf(held, powerW)).toEqual(expectedC);
    // The series of the mean is good to 2e-11 of the rise.
    expect(held.meanTemperatureC(powerW)).toBeCloseTo(meanOf(expectedC), 8);
    expect(held.leastMeanC(powerW)).toBeLessThanOrEqual(held.meanTemperatureC(powerW));
  }
  expect(held.slopeAt(0, 71, temperaturesOf(held, 71)[0])).toBe(0);
});

test.each([
  ['that all take what the cap allows', [wide, dense]],
  ['of which one draws less', [wide, upToPower(dense, 85)]],
  ['that all draw less', [upToPower(wide, 95), upToPower(dense, 85)]],
])('of several loads %s the hottest counts in each draw', (_, members) => {
  const mix = hottestOf(members);
  for (const powerW of [50, 84, 90, 120]) {
    const each = members.map((member) => temperaturesOf(member, powerW));
    const expectedC = each[0].map((value, i) => Math.max(value, each[1][i]));
    expect(temperaturesOf(mix, powerW)).toEqual(expectedC);
    expect(mix.meanTemperatureC(powerW)).toBeCloseTo(meanOf(expectedC), 8);
    for (const limitC of [68, 75, 82]) {
      const places = new Uint32Array(mix.count);
      const found = new Set(places.subarray(0, mix.passingDraws(limitC, powerW, places)));
      const all = places.slice(0, passingByTemperature(mix, limitC, powerW, places));
      expect(all.filter((place) => !found.has(place))).toEqual(new Uint32Array(0));
    }
  }
});

test('at the largest cap of a mix just the share of the draws that is allowed to passes the limit', () => {
  const mix = hottestOf([wide, upToPower(dense, 85)]);
  const { powerW } = limitCap(mix, 76, 0.9);
  const temperaturesC = temperaturesOf(mix, powerW);
  const rank = mix.count - 1 - Math.floor(0.1 * mix.count);
  expect(orderStatistic(temperaturesC, rank)).toBeCloseTo(76, 9);
});

test('of loads that are one and the same there is nothing to compare', () => {
  expect(hottestOf([wide])).toBe(wide);
});
