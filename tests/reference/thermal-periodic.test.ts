// Periodic square power. One node: max = P R (1 − e^(−on/τ)) / (1 − e^(−period/τ)), min = max e^(−off/τ), mean = P R
// on/period, the elementary periodic solution; two nodes by superposition. Values recomputed with SciPy 1.10.
import { describe, expect, test } from 'vitest';
import { ladderFromPoles, type Pole } from '../../toolkit/thermal/ladder.js';
import { simulateTemperature } from '../../toolkit/thermal/simulate.js';
import { simulateLadder } from '../../toolkit/thermal/simulate-ladder.js';
import { modelWith } from '../unit/thermal/known-cooler.js';

interface SquarePower {
  readonly powerW: number;
  readonly periodS: number;
  readonly onS: number;
}

/** Instants of interest in each of many periods; each power is the mean over the interval before its instant. */
function drive({ powerW, periodS, onS }: SquarePower, periodCount: number, withinS: readonly number[]) {
  const timeS = [0];
  const powers = [0];
  for (let n = 0; n < periodCount; n++) {
    for (const t of withinS) {
      timeS.push(n * periodS + t);
      powers.push(t <= onS ? powerW : 0);
    }
  }
  return { timeS, powerW: powers, ambientC: 0 };
}

/** The rises of the last period, through the pole form and through the ladder. */
function lastPeriod(poles: readonly Pole[], square: SquarePower, withinS: readonly number[]): Float64Array[] {
  const slowestS = Math.max(...poles.map((pole) => pole.timeConstantS));
  const periodCount = Math.ceil((40 * slowestS) / square.periodS);
  const driven = drive(square, periodCount, withinS);
  return [
    simulateTemperature(modelWith(poles), driven),
    simulateLadder(ladderFromPoles(poles), driven)[0],
  ].map((risesK) => risesK.slice(-withinS.length));
}

describe('one node under square power, after many periods', () => {
  test.each([
    {
      square: { powerW: 100, periodS: 120, onS: 60 },
      pole: { resistanceKPerW: 0.5, timeConstantS: 60 },
      max: 36.55292893150024,
      min: 13.447071068499755,
      mean: 25,
    },
    {
      square: { powerW: 65, periodS: 2, onS: 0.6 },
      pole: { resistanceKPerW: 0.8, timeConstantS: 10 },
      max: 16.705780517319706,
      min: 14.52330787149681,
      mean: 15.6,
    },
    {
      square: { powerW: 150, periodS: 600, onS: 150 },
      pole: { resistanceKPerW: 0.25, timeConstantS: 90 },
      max: 30.455924132092974,
      min: 0.2052104026102105,
      mean: 9.375,
    },
  ])(
    '$square.powerW W for $square.onS of $square.periodS s swings as the closed form says, to 1e-9 K',
    ({ square, pole, max, min, mean }) => {
      for (const [high, low] of lastPeriod([pole], square, [square.onS, square.periodS])) {
        expect(high).toBeCloseTo(max, 9);
        expect(low).toBeCloseTo(min, 9);
      }
      // The mean over a period, by the trapezoidal rule on 2,000 instants a period.
      const count = 2000;
      const within = Array.from({ length: count }, (_, i) => (square.periodS * (i + 1)) / count);
      for (const rises of lastPeriod([pole], square, within)) {
        expect(rises.reduce((sum, rise) => sum + rise, 0) / count).toBeCloseTo(mean, 4);
      }
    },
  );

  test('at half on and half off, highest and lowest add up to P R', () => {
    const pole = { resistanceKPerW: 0.42, timeConstantS: 37 };
    const [[high, low]] = lastPeriod([pole], { powerW: 90, periodS: 50, onS: 25 }, [25, 50]);
    expect(high + low).toBeCloseTo(90 * 0.42, 9);
  });
});

test('two nodes under square power of 120 W, 9 of every 30 s, at six times of the period, to 1e-9 K', () => {
  const poles = [
    { resistanceKPerW: 0.1, timeConstantS: 2 },
    { resistanceKPerW: 0.4, timeConstantS: 100 },
  ];
  const expected = [
    23.279808210450057, 27.80648556672731, 22.978701089975587, 15.602336784726257, 12.920869339736722,
  ];
  for (const rises of lastPeriod(poles, { powerW: 120, periodS: 30, onS: 9 }, [3, 9, 10, 15, 30])) {
    rises.forEach((rise, i) => {
      expect(rise).toBeCloseTo(expected[i], 9);
    });
  }
});
