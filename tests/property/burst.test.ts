import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { requireValue } from '../../toolkit/numerics/estimates.js';
import { burstPower } from '../../toolkit/thermal/burst/burst-power.js';
import { burstSchedule } from '../../toolkit/thermal/burst/burst-schedule.js';
import { timeToLimit } from '../../toolkit/thermal/burst/time-to-limit.js';
import { modelWith } from '../unit/thermal/known-cooler.js';

/** Seeded, so that a failure can be had again; each asks about a thousand draws. */
const runs = { numRuns: 25, seed: 20252 };

const number = (min: number, max: number): fc.Arbitrary<number> =>
  fc.double({ min, max, noNaN: true, noDefaultInfinity: true });

/**
 * One to three stages, each at least 1.7 times slower than the one before, with and without lag and bend. No stage is a
 * small share of the whole: far above the fitted powers the bend would then outweigh the outermost one.
 */
const someCooler = fc
  .record({
    steps: fc.array(fc.record({ ratio: number(1.7, 12), resistanceKPerW: number(0.1, 0.4) }), {
      minLength: 1,
      maxLength: 3,
    }),
    lagS: fc.option(number(0.2, 4)),
    powerExponent: number(0, 0.12),
  })
  .map(({ steps, lagS, powerExponent }) => {
    let timeConstantS = 1;
    const poles = steps.map(({ ratio, resistanceKPerW }) => {
      timeConstantS *= ratio;
      return { timeConstantS, resistanceKPerW };
    });
    return modelWith(poles, {
      powerExponent,
      exponentStandardError: 0.02,
      ...(lagS === null ? {} : { sensorLagS: lagS }),
    });
  });

const air = { ambientC: 22 };

describe('bursts', () => {
  test('the time to the limit at the burst power for a duration is that duration, to 1e-6 of it', () => {
    fc.assert(
      fc.property(
        someCooler,
        number(2, 300),
        number(25, 60),
        number(0, 10),
        (model, durationS, riseK, startPowerW) => {
          const scenario = { ...air, limitC: 22 + riseK, startPowerW };
          const { powerW, sustainedPowerW, atConfidenceW } = burstPower(model, { ...scenario, durationS });
          const power = requireValue(powerW);
          expect(power).toBeGreaterThanOrEqual(requireValue(sustainedPowerW) * (1 - 1e-9));
          expect(atConfidenceW).toBeLessThanOrEqual(power);
          // Where the cooler has all but settled the time says nothing any more.
          fc.pre(power > 1.001 * requireValue(sustainedPowerW));
          const time = timeToLimit(model, { ...scenario, powerW: power });
          if (time.kind !== 'reached') throw new Error(time.kind);
          expect(Math.abs(requireValue(time.timeS) / durationS - 1)).toBeLessThan(1e-6);
          expect(time.soonestS).toBeLessThanOrEqual(requireValue(time.timeS));
        },
      ),
      runs,
    );
  });

  test('more power, a warmer room or a warmer start never lengthen the time', () => {
    fc.assert(
      fc.property(
        someCooler,
        number(60, 200),
        number(20, 60),
        number(1, 1.5),
        (model, powerW, riseK, more) => {
          const timeOf = (changes: object): number => {
            const time = timeToLimit(model, {
              ...air,
              powerW,
              limitC: 22 + riseK,
              startPowerW: 4,
              ...changes,
            });
            if (time.kind === 'already') return 0;
            return time.kind === 'never' ? Number.POSITIVE_INFINITY : requireValue(time.timeS);
          };
          const before = timeOf({}) * (1 + 1e-9);
          expect(timeOf({ powerW: more * powerW })).toBeLessThanOrEqual(before);
          expect(timeOf({ ambientC: 22 + 5 * (more - 1) })).toBeLessThanOrEqual(before);
          expect(timeOf({ startPowerW: 4 * more })).toBeLessThanOrEqual(before);
        },
      ),
      runs,
    );
  });

  test('a sustainable schedule spends no more than its sustained power on average, and a longer burst needs a longer pause', () => {
    fc.assert(
      fc.property(someCooler, number(5, 60), number(1.05, 2), (model, onS, longer) => {
        const limited = { ...air, limitC: 70 };
        const sustainedW = requireValue(burstPower(model, { ...limited, durationS: 1 }).sustainedPowerW);
        const bursts = { ...limited, powerW: 1.3 * sustainedW, idlePowerW: 0.1 * sustainedW };
        const schedule = burstSchedule(model, { ...bursts, onS });
        if (schedule.kind !== 'sustainable') return;
        expect(requireValue(schedule.meanPowerW)).toBeLessThanOrEqual(sustainedW * (1 + 1e-6));
        const next = burstSchedule(model, { ...bursts, onS: longer * onS });
        if (next.kind !== 'sustainable') {
          expect(next.kind).toBe('never');
          return;
        }
        expect(requireValue(next.offS)).toBeGreaterThan(requireValue(schedule.offS));
      }),
      runs,
    );
  });
});
