import { describe, expect, test } from 'vitest';
import { chooseCap } from '../../../../toolkit/cap/choose/choose-cap.js';
import { createWhatIf } from '../../../../toolkit/cap/choose/what-if.js';
import type { CapScenario } from '../../../../toolkit/cap/scenario/cap-scenario.js';
import type { CoolerModel } from '../../../../toolkit/thermal/cooler-model.js';
import { plainCooler } from '../plain-cooler.js';
import { plainCurve } from '../plain-curve.js';
import { plainFanCurve, workedCurve } from '../worked-curve.js';

const cooler = plainCooler(
  { resistanceStandardErrorKPerW: 0.01, degreesOfFreedom: 20 },
  { fanSpeedRpm: 1500, cooler: 'flat 58 mm', processor: 'twelve cores' },
);
const room: CapScenario = { limitC: 80, ambientC: 24, enclosure: { riseK: 6 }, maxCapW: 118 };
const ask =
  (change: object, under: CoolerModel = cooler, curve = workedCurve()) =>
  () =>
    chooseCap(under, curve, { ...room, ...change } as CapScenario);

describe('models inside a scenario', () => {
  test.each<[string, object, RegExp]>([
    [
      'a load with something else as its cooler',
      { cooler: {} },
      /`scenario\.workloads\[0\]\.cooler` must be a cooler-model.*make one with fitCooler/,
    ],
    [
      'a load with null as its cooler',
      { cooler: null },
      /`scenario\.workloads\[0\]\.cooler` must be a cooler-model/,
    ],
    [
      'a load with something else as its curve',
      { curve: 5 },
      /`scenario\.workloads\[0\]\.curve` must be a power-curve.*leave it out for the curve of the call/,
    ],
  ])('%s is refused by its place', (_, load, message) => {
    expect(ask({ workloads: [{ label: 'lights', ...load }] })).toThrow(message);
  });

  test('two loads of one name are refused', () => {
    expect(ask({ workloads: [{ label: 'lights' }, { label: 'lights' }] })).toThrow(
      /`scenario\.workloads\[1\]\.label` must be a name that no other load has \(received "lights"\)/,
    );
  });

  test('loads of different processors or coolers come with a caution that names them', () => {
    const other = { ...cooler, processor: 'eight cores', cooler: 'tower 88 mm' };
    const { cautions } = ask({ workloads: [{ label: 'lights' }, { label: 'sound', cooler: other }] })();
    expect(cautions.join('\n')).toMatch(/different processors, 'twelve cores', 'eight cores'/);
    expect(cautions.join('\n')).toMatch(/different coolers, 'flat 58 mm', 'tower 88 mm'/);
    const same = ask({ workloads: [{ label: 'lights' }, { label: 'sound' }] })().cautions.join('\n');
    expect(same).not.toMatch(/different (processors|coolers)/);
  });

  test('a damaged fan curve is refused by the number at fault', () => {
    expect(ask({ fan: { curve: plainFanCurve({ limitKPerW: Number.NaN }) } })).toThrow(
      /chooseCap: `scenario\.fan\.curve\.limitKPerW` must be a finite number.*fitFanCurve/,
    );
  });

  test('a damaged power curve is refused by the number at fault', () => {
    const sound = workedCurve();
    const name = Object.keys(sound.parameters)[0];
    const damaged = { ...sound, parameters: { ...sound.parameters, [name]: Number.NaN } };
    expect(ask({}, cooler, damaged)).toThrow(
      `chooseCap: \`curve.parameters.${name}\` must be a finite number`,
    );
    const { parameters: _, ...without } = sound;
    expect(ask({}, cooler, without as never)).toThrow(
      /`curve\.parameters` must be the parameters of the form/,
    );
  });

  test('a damaged measured enclosure is refused', () => {
    expect(ask({ enclosure: { kind: 'measured-enclosure' } })).toThrow(
      /`scenario\.enclosure\.scenario` must be an object with riseK, atPowerW.*enclosureBetween/,
    );
  });

  test('a limit for peaks needs the peaks of the cooler', () => {
    const damaged = { ...cooler, noise: { ...cooler.noise, peakAboveMeanK: Number.NaN } };
    expect(ask({ limitAppliesTo: 'peak' }, damaged)).toThrow(
      /`cooler\.noise\.peakAboveMeanK` must be a finite number.*limitAppliesTo: 'mean'/,
    );
    expect(ask({}, damaged)).not.toThrow();
  });

  test('a cycle and a short stretch need a cooler with stages', () => {
    const message =
      /`cooler` must be a cooler with stages, where the scenario gives `dutyCycle` or `shortTerm`/;
    expect(ask({ dutyCycle: [{ durationS: 60 }, { durationS: 60, demandW: 10 }] })).toThrow(message);
    expect(ask({ shortTerm: { windowS: 20 } })).toThrow(message);
  });
});

describe('numbers in another unit', () => {
  test('a temperature as an enclosure rise is refused', () => {
    expect(ask({ enclosure: { riseK: 300 } })).toThrow(
      /`scenario\.enclosure\.riseK` must be a rise of at most 100 K \(received 300\); give the difference/,
    );
    expect(ask({ enclosure: { riseK: { low: 2, high: 281 } } })).toThrow(/at most 100 K \(received 281\)/);
  });

  test('an offset in volts is refused with the number in millivolts', () => {
    expect(ask({ voltageOffset: { lowestMv: -0.05 } })).toThrow(/-0\.05 V are -50 mV/);
  });

  test('a limit or a room that may be in °F is pointed at', () => {
    // (140 − 32) / 1.8 = 60; (55 − 32) / 1.8 = 12.8.
    expect(ask({ limitC: 140 })().cautions.join('\n')).toMatch(
      /limit of 140 °C is unusually high.*give 60\.0 °C/,
    );
    expect(ask({ ambientC: 55 })().cautions.join('\n')).toMatch(
      /room air of 55 °C is unusually high.*give 12\.8 °C/,
    );
    expect(ask({})().cautions.join('\n')).not.toMatch(/Check the unit/);
  });

  test('a sound level below 0 dB is refused', () => {
    const sound = { soundLevelDb: 32, fanSpeedRpm: 1500 };
    expect(ask({ fan: { curve: plainFanCurve(), sound }, maxSoundLevelDb: -20 })).toThrow(
      /`scenario\.maxSoundLevelDb` must be a finite number at least 0/,
    );
  });
});

describe('a voltage offset', () => {
  test('needs a curve that knows voltages, of every load', () => {
    expect(ask({ voltageOffset: { lowestMv: -40 } }, cooler, plainCurve())).toThrow(
      /chooseCap: `scenario\.voltageOffset` must be left out where the power curve knows no core voltage.*log the core voltage/,
    );
    expect(() => chooseCap(cooler, undefined, { ...room, voltageOffset: { lowestMv: -40 } })).toThrow(
      /`scenario\.voltageOffset` must be left out.*received "no curve"/,
    );
  });

  test('deeper than the voltages carry is refused before any is tried', () => {
    expect(ask({ voltageOffset: { lowestMv: -400 } })).toThrow(
      /chooseCap: `scenario\.voltageOffset\.lowestMv` must be .*\(received -400\); give the deepest offset that was shown/,
    );
  });

  test('is tried at 200 places at most', () => {
    expect(ask({ voltageOffset: { lowestMv: -100, stepMv: 0.01 } })).toThrow(
      /`scenario\.voltageOffset\.stepMv` must be .*at least 1 .*at most 200 offsets are tried/,
    );
    // Steps that do not add up exactly still reach the end: −1.1 · 30 is −33.
    expect(ask({ voltageOffset: { lowestMv: -33, stepMv: 1.1 } })().voltageOffsetMv).toBe(-33);
  });
});

test('a fan faster than its curve was fitted from is marked extrapolated', () => {
  const slow = { curve: plainFanCurve(), lowestRpm: 600, highestRpm: 2200 };
  const choice = ask({ limitC: 70, fan: { ...slow, highestRpm: 6000 } })();
  expect(choice.extrapolated).toBe(true);
  expect(choice.cautions.join('\n')).toMatch(
    /the fan curve was fitted from 600 to 2200 rpm, the answer is for 6000 rpm/,
  );
  expect(ask({ limitC: 70, fan: slow })().cautions.join('\n')).not.toMatch(/the fan curve was fitted/);
});

test('air at the intake that alone passes the limit says by how much', () => {
  // 24 + 6 = 30 °C against a limit of 27.5 °C.
  expect(ask({ limitC: 27.5 })).toThrow(/the air at the intake alone exceeds the limit, by 2\.5 K/);
  expect(ask({ limitC: 30 })).toThrow(/the air at the intake alone reaches the limit/);
});

test.each([Number.NaN, -5, 0, '80'])('a what-if at a cap of %s is refused', (powerCapW) => {
  expect(() => createWhatIf(cooler, workedCurve(), room).at(powerCapW as number)).toThrow(
    /at: `powerCapW` must be a finite number above 0/,
  );
});

test('a what-if far beyond the powers logged is an answer that says so', () => {
  const answer = createWhatIf(cooler, workedCurve(), room).at(1e6);
  expect(answer.kind === 'not-feasible' && answer.message).toMatch(/more than four times the 60 to 120 W/);
});
