import { expect, test } from 'vitest';
import { limitCap, limitRank } from '../../../../toolkit/cap/draws/limit-cap.js';
import {
  passingByTemperature,
  type TemperatureDraws,
} from '../../../../toolkit/cap/draws/temperature-draws.js';
import { seededRandom } from '../../../../toolkit/numerics/random.js';

const LIMIT_C = 80;

/** Draws that reach the limit at given powers, half a kelvin per watt. */
function drawsReaching(powersW: Float64Array): TemperatureDraws {
  const count = powersW.length;
  const temperatureOf = (index: number, powerW: number): number =>
    powersW[index] === Number.POSITIVE_INFINITY ? 40 : LIMIT_C + 0.5 * (powerW - powersW[index]);
  const temperaturesAt: TemperatureDraws['temperaturesAt'] = (powerW, temperaturesC, first = count) => {
    for (let i = 0; i < first; i++) temperaturesC[i] = temperatureOf(i, powerW);
  };
  return {
    count,
    restingC: powersW.map((_, i) => temperatureOf(i, 0)),
    temperaturesAt,
    powerAtLimit: (index) => powersW[index],
    passingDraws: (limitC, powerW, places) =>
      passingByTemperature({ count, temperaturesAt }, limitC, powerW, places),
    meanTemperatureC: () => Number.NaN,
    leastMeanC: () => Number.NaN,
    slopeAt: () => 0.5,
  };
}

/** The same place by sorting. */
const bySorting = (values: Float64Array, confidence: number): number =>
  values.toSorted()[limitRank(values.length, confidence)];

test.each([
  ['few', 300],
  ['the default number of', 4096],
  ['many', 10_007],
])('the largest cap among %s draws is the power that sorting puts at its rank', (_, count) => {
  const { uniform } = seededRandom(4711 + count);
  const spread = Float64Array.from({ length: count }, () => 80 + 20 * uniform());
  const inOrder = spread.toSorted();
  const backwards = inOrder.toReversed();
  const alike = new Float64Array(count).fill(77);
  const withoutLimit = spread.map((value, i) => (i % 2 === 0 ? value : Number.POSITIVE_INFINITY));
  const passedAtRest = spread.map((value, i) => (i % 3 === 0 ? 0 : value));
  // The sample sees none of the low ones: the rank lies below all that it shows; or none of the high ones.
  const hiddenLow = spread.map((value, i) => (i % 700 > 600 ? value - 60 : value));
  const hiddenHigh = spread.map((value, i) => (i < 600 ? value - 60 : value));
  for (const values of [spread, inOrder, backwards, alike, withoutLimit, passedAtRest, hiddenLow, hiddenHigh])
    for (const confidence of [0.5, 0.9, 0.95, 0.99]) {
      const { powerW, solvedW, solvedToW } = limitCap(drawsReaching(values), LIMIT_C, confidence);
      expect(powerW).toBe(bySorting(values, confidence));
      // All draws that are at the limit up to there are among those solved.
      const upTo = (powersW: Float64Array) =>
        powersW.filter((value) => value <= solvedToW && Number.isFinite(value)).toSorted();
      expect(upTo(solvedW)).toEqual(upTo(values));
    }
});
