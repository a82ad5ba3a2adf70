import { expect, test } from 'vitest';
import type { CapScenario } from '../../../../toolkit/cap/choose/cap-choice.js';
import { chooseCap } from '../../../../toolkit/cap/choose/choose-cap.js';
import { CAP_DEFAULTS } from '../../../../toolkit/cap/scenario/settle-scenario.js';
import { ArgumentError } from '../../../../toolkit/errors.js';
import { plainCooler } from '../plain-cooler.js';
import { plainCurve } from '../plain-curve.js';

const good: CapScenario = { limitC: 85, ambientC: 25 };

function messageFor(change: Record<string, unknown>): string {
  try {
    chooseCap(plainCooler(), plainCurve(), { ...good, ...change } as CapScenario);
  } catch (failure) {
    expect(failure).toBeInstanceOf(ArgumentError);
    return (failure as ArgumentError).message;
  }
  throw new Error('accepted');
}

test.each<[string, Record<string, unknown>, RegExp]>([
  ['a limit in °F', { limitC: 185 }, /`scenario\.limitC` must be in degrees Celsius.*185 °F are 85\.0 °C/],
  ['a limit in kelvin', { limitC: 358 }, /`scenario\.limitC`.*358 looks like kelvin: 358 K are 84\.9 °C/],
  ['a limit in no unit', { limitC: 9000 }, /at most 150 \(received 9000\)$/],
  ['a limit that is no number', { limitC: '85' }, /`scenario\.limitC` must be a finite number/],
  [
    'a limit below the room air',
    { limitC: 20 },
    /`scenario\.limitC` must be above the room air of 25 °C \(received 20\); nothing cools below/,
  ],
  [
    'no room air',
    { ambientC: undefined },
    /`scenario\.ambientC` must be a number.*air temperature of the room/,
  ],
  ['room air in °F', { ambientC: 77 }, /`scenario\.ambientC`.*77 °F are 25\.0 °C/],
  ['room air in kelvin', { ambientC: { mean: 298, standardDeviation: 2 } }, /298 K are 24\.9 °C/],
  [
    'a reversed range',
    { ambientC: { low: 30, high: 20 } },
    /`scenario\.ambientC` must be a range whose `low` is not above its `high` \(received "low 30, high 20"\)/,
  ],
  [
    'a negative spread',
    { ambientC: { mean: 25, standardDeviation: -1 } },
    /`scenario\.ambientC\.standardDeviation` must be a finite number at least 0/,
  ],
  [
    'half a range',
    { ambientC: { low: 20 } },
    /\{ low, high \} or \{ mean, standardDeviation \} \(received "\{ low \}"\)/,
  ],
  ['a mixed form', { ambientC: { low: 20, high: 30, mean: 25 } }, /received "\{ low, high, mean \}"/],
  [
    'a negative confidence',
    { confidence: -0.5 },
    /`scenario\.confidence`.*above 0 and below 1 \(received -0\.5\)/,
  ],
  ['confidence 0', { confidence: 0 }, /`scenario\.confidence`.*\(received 0\)/],
  ['confidence 1', { confidence: 1 }, /\(received 1\).*certainty \(1\) has no cap/],
  ['confidence in percent', { confidence: 95 }, /write 95 % as 0\.95/],
  ['a confidence nobody can claim', { confidence: 1 - 1e-9 }, /no uncertainty is known well enough/],
  ['a step of 0', { stepW: 0 }, /`scenario\.stepW` must be a finite number above 0 \(received 0\)/],
  ['a cap of 0', { maxCapW: 0 }, /`scenario\.maxCapW` must be a finite number above 0/],
  [
    'a lowest above the highest cap',
    { minCapW: 90, maxCapW: 80 },
    /`scenario\.minCapW` must be at most `maxCapW`, 80 W \(received 90\)/,
  ],
  [
    'a lowest above the default cap',
    { minCapW: 120, defaultCapW: 118 },
    /`scenario\.minCapW` must be at most `defaultCapW`, 118 W.*give `maxCapW`/,
  ],
  [
    'an enclosure that cools',
    { enclosure: { riseK: -3 } },
    /`scenario\.enclosure\.riseK`.*warms the intake air/,
  ],
  [
    'an enclosure as a bare number',
    { enclosure: 9 },
    /`scenario\.enclosure` must be an object with riseK, atPowerW .*open bench/,
  ],
  [
    'a rise at no power',
    { enclosure: { riseK: 9, atPowerW: 0 } },
    /`scenario\.enclosure\.atPowerW`.*above 0/,
  ],
  ['another kind of limit', { limitAppliesTo: 'max' }, /`scenario\.limitAppliesTo` must be 'mean' or 'peak'/],
  [
    'too few draws',
    { drawCount: 100 },
    /`scenario\.drawCount` must be a whole number from 200 .*\(received 100\)/,
  ],
  ['a broken seed', { seed: 1.5 }, /`scenario\.seed` must be a whole number, 0 or more/],
  ['a misspelt option', { confidance: 0.5 }, /`scenario\.confidance` must be one of limitC, /],
])('%s is refused by name', (_, change, expected) => {
  expect(messageFor(change)).toMatch(expected);
});

test('something else in place of the models is refused with what makes one', () => {
  const notACooler = plainCurve() as unknown as Parameters<typeof chooseCap>[0];
  expect(() => chooseCap(notACooler, plainCurve(), good)).toThrow(
    /`cooler` must be a cooler-model \(received "power-curve"\); make one with fitCooler/,
  );
  const notACurve = null as unknown as ReturnType<typeof plainCurve>;
  expect(() => chooseCap(plainCooler(), notACurve, good)).toThrow(
    /`curve` must be a power-curve.*fitPowerCurve/,
  );
  const noScenario = undefined as unknown as CapScenario;
  expect(() => chooseCap(plainCooler(), plainCurve(), noScenario)).toThrow(
    /`scenario` must be an object with limitC, /,
  );
});

test('the defaults are the documented ones and are filled in', () => {
  expect(chooseCap(plainCooler(), plainCurve(), good).scenario).toEqual({
    ...good,
    ...CAP_DEFAULTS,
    objective: 'frequency',
  });
  expect(CAP_DEFAULTS).toEqual({
    limitAppliesTo: 'mean',
    confidence: 0.95,
    stepW: 1,
    drawCount: 4096,
    seed: 1,
  });
});

test('a higher confidence draws more, so that 20 draws lie beyond it', () => {
  const choice = chooseCap(plainCooler(), plainCurve(), { ...good, confidence: 0.999 });
  expect(choice.scenario.drawCount).toBe(32_768);
});
