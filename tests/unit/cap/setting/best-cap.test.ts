import { describe, expect, test } from 'vitest';
import { bestCap } from '../../../../toolkit/cap/setting/best-cap.js';
import { settableOffsets } from '../../../../toolkit/cap/setting/settable-offsets.js';
import { plainCurve } from '../plain-curve.js';
import { workedCurve } from '../worked-curve.js';

const caps = { lowestW: 1, highestW: 118, stepW: 0.5 };

/** The first of the highest among all settable caps, asked one by one. */
function byTrying(scoreAt: (powerCapW: number) => number): number {
  let best = caps.lowestW;
  for (let capW = caps.lowestW; capW <= caps.highestW; capW += caps.stepW)
    if (scoreAt(capW) > scoreAt(best)) best = capW;
  return best;
}

describe('the best cap', () => {
  const hill = (topW: number) => (capW: number) => capW / (capW + topW) ** 2;
  const plateau = (fromW: number) => (capW: number) => Math.min(capW, fromW);

  test.each([
    ['a hill', hill(41.3)],
    ['a hill at the lower end', hill(0.4)],
    ['a slope up to the upper end', hill(400)],
    ['a slope up to a plateau', plateau(70)],
    ['nothing but a plateau', () => 1],
  ])('of %s is that of trying all, wherever it is looked for first', (_, scoreAt) => {
    const expected = byTrying(scoreAt);
    expect(bestCap(caps, scoreAt)).toBe(expected);
    for (const capW of [-20, 1, 30, 41, 70, 90.5, 118, 200])
      for (const peaks of ['one', 'several'] as const)
        expect(bestCap(caps, scoreAt, { capW, peaks })).toBe(expected);
  });

  test('of two peaks is the higher one, also where it is looked for at the other', () => {
    const scoreAt = (capW: number) => Math.max(10 - Math.abs(capW - 30), 14 - Math.abs(capW - 90));
    expect(bestCap(caps, scoreAt, { capW: 30, peaks: 'several' })).toBe(90);
  });

  test('near the likely one takes a few scores', () => {
    let asked = 0;
    const counted = (capW: number) => {
      asked++;
      return hill(41.3)(capW);
    };
    bestCap(caps, counted, { capW: 41, peaks: 'one' });
    expect(asked).toBeLessThanOrEqual(6);
  });
});

describe('the offsets worth a try', () => {
  const voltageOffset = { lowestMv: -40, highestMv: 0, stepMv: 10 };
  const losing = (losses: Readonly<Record<number, number>>) => {
    const curve = workedCurve();
    const offsetLosses = Object.entries(losses).map(([offsetMv, lossFraction]) => ({
      offsetMv: Number(offsetMv),
      lossFraction,
      standardErrorFraction: 0.001,
    }));
    return { ...curve, voltage: { ...curve.voltage!, offsetLosses } };
  };

  test('are the shallowest and the deepest where none loses work', () => {
    expect(settableOffsets({ voltageOffset }, [workedCurve()])).toEqual([0, -40]);
    expect(settableOffsets({ voltageOffset }, [workedCurve(), plainCurve()])).toEqual([0, -40]);
  });

  test('are also those that lose less than all deeper ones', () => {
    const curve = losing({ 0: 0, [-20]: 0, [-40]: 0.02 });
    expect(settableOffsets({ voltageOffset }, [curve])).toEqual([0, -20, -30, -40]);
  });

  test('are all where a top frequency may make them equal, and one where there is no choice', () => {
    expect(settableOffsets({ voltageOffset, topFrequencyMHz: 3500 }, [workedCurve()])).toEqual([
      0, -10, -20, -30, -40,
    ]);
    expect(settableOffsets({}, [workedCurve()])).toEqual([undefined]);
  });
});
