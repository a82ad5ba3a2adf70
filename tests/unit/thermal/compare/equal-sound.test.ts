import { describe, expect, test } from 'vitest';
import type { EstimatedNumber } from '../../../../toolkit/numerics/estimate.js';
import { compareCoolers } from '../../../../toolkit/thermal/compare/compare-coolers.js';
import {
  fanSpeedAtSoundLevel,
  type SoundReference,
} from '../../../../toolkit/thermal/compare/equal-sound.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import type { CoolerModel } from '../../../../toolkit/thermal/cooler-model.js';
import { type FanCurve, fitFanCurve, soundLevelAtFanSpeed } from '../../../../toolkit/thermal/fan-curve.js';

/** A cooler with R = limit + convection · (n / 1000)^−0.6 K/W at 80 W. */
function coolerAt(label: string, fanSpeedRpm: number, limit: number, convection: number): CoolerModel {
  const resistance = limit + convection * (fanSpeedRpm / 1000) ** -0.6;
  return coolerFromSteadyPoints([{ powerW: 80, temperatureC: 24 + 80 * resistance, ambientC: 24 }], {
    label,
    fanSpeedRpm,
    temperatureUncertaintyK: 0.05,
  });
}

function curveOf(limit: number, convection: number): FanCurve {
  return fitFanCurve([700, 1000, 1500, 2200].map((rpm) => coolerAt('any', rpm, limit, convection)));
}

const estimatedOf = (estimate: { readonly kind: string }): EstimatedNumber => {
  if (estimate.kind !== 'estimated') throw new Error('expected an estimated number');
  return estimate as EstimatedNumber;
};

/** Small and fast: quiet only when slow. Large and slow: quiet as logged. */
const flat = coolerAt('flat 58 mm', 2200, 0.2, 0.36);
const tower = coolerAt('tower 88 mm', 1000, 0.22, 0.24);
const flatReference: SoundReference = { soundLevelDb: 40, fanSpeedRpm: 2000, fanCurve: curveOf(0.2, 0.36) };
const towerReference: SoundReference = { soundLevelDb: 30, fanSpeedRpm: 1000, fanCurve: curveOf(0.22, 0.24) };
const references = { 'flat 58 mm': flatReference, 'tower 88 mm': towerReference };

describe('fanSpeedAtSoundLevel', () => {
  test('is the inverse of the fan law: 50 dB for ten times the speed (fan laws, value from memory)', () => {
    expect(fanSpeedAtSoundLevel({ soundLevelDb: 30, fanSpeedRpm: 800 }, 30)).toBe(800);
    expect(fanSpeedAtSoundLevel({ soundLevelDb: 30, fanSpeedRpm: 300 }, 80)).toBeCloseTo(3000, 9);
    const known = { soundLevelDb: 33, fanSpeedRpm: 1350 };
    expect(fanSpeedAtSoundLevel(known, soundLevelAtFanSpeed(known, 1777))).toBeCloseTo(1777, 9);
  });

  test('refuses what is no speed, no level or no known name', () => {
    expect(() => fanSpeedAtSoundLevel({ soundLevelDb: 30, fanSpeedRpm: 0 }, 30)).toThrow(
      'fanSpeedAtSoundLevel: `known.fanSpeedRpm` must be a finite number above 0 (received 0)',
    );
    expect(() => fanSpeedAtSoundLevel({ soundLevelDb: 30, fanSpeedRpm: 1000 }, Number.NaN)).toThrow(
      /`soundLevelDb` must be a finite number \(received NaN\)/,
    );
    expect(() => fanSpeedAtSoundLevel({ soundLevelDb: 30, fanSpeedRPM: 1000 } as never, 30)).toThrow(
      /fanSpeedRPM.*fanSpeedRpm/s,
    );
  });
});

describe('a comparison at equal sound level', () => {
  test('takes each cooler at its own fan speed there, and can turn the ranking round', () => {
    const asLogged = compareCoolers([flat, tower], { powerW: 80, mountAllowanceFraction: 0.01 });
    expect(asLogged.ranking[0]).toContain('flat 58 mm');
    expect(asLogged.findings.map(({ code }) => code)).toContain('sound-level-not-compared');

    const atLevel = compareCoolers([flat, tower], {
      powerW: 80,
      mountAllowanceFraction: 0.01,
      equalSound: { soundLevelDb: 30, references },
    });
    expect(atLevel).toMatchObject({ soundLevelDb: 30, ranking: [['tower 88 mm'], ['flat 58 mm']] });
    expect(atLevel.summary).toBe("At 80 W and 30 dB 'tower 88 mm' is better than 'flat 58 mm'.");
    const [first, second] = atLevel.coolers;
    expect(first.fanSpeedRpm).toBeCloseTo(1000, 9);
    // 10 dB less: 2000 rpm · 10^(−0.2).
    expect(second.fanSpeedRpm).toBeCloseTo(1261.9, 1);
    expect(estimatedOf(second.thermalResistanceKPerW).value).toBeCloseTo(0.2 + 0.36 * 1.2619 ** -0.6, 3);
    expect(atLevel.findings.map(({ code }) => code)).toContain('sound-level-by-fan-laws');
    expect(atLevel.findings.map(({ code }) => code)).not.toContain('sound-level-not-compared');
  });

  test('carries what the level leaves open: 1 dB is 4.7 % of the speed, b · a / R times as much of the resistance', () => {
    const errorWith = (standardUncertaintyDb: number): number => {
      const { coolers } = compareCoolers([flat, tower], {
        powerW: 80,
        mountAllowanceFraction: 0,
        equalSound: {
          soundLevelDb: 30,
          references: { ...references, 'tower 88 mm': { ...towerReference, standardUncertaintyDb } },
        },
      });
      return estimatedOf(coolers[0].thermalResistanceKPerW).standardError;
    };
    const known = errorWith(0);
    // dR = b a (n / 1000)^−b · ln 10 / 50 per dB, at 1000 rpm.
    const perDb = 0.6 * 0.24 * (Math.LN10 / 50);
    expect(Math.sqrt(errorWith(1) ** 2 - known ** 2)).toBeCloseTo(perDb, 3);
    expect(Math.sqrt(errorWith(2) ** 2 - known ** 2)).toBeCloseTo(2 * perDb, 3);
    // Without a word about it the level counts as read by hand.
    const { standardUncertaintyDb: _, ...unstated } = { ...towerReference, standardUncertaintyDb: 0 };
    const { coolers } = compareCoolers([flat, tower], {
      powerW: 80,
      mountAllowanceFraction: 0,
      equalSound: { soundLevelDb: 30, references: { ...references, 'tower 88 mm': unstated } },
    });
    expect(estimatedOf(coolers[0].thermalResistanceKPerW).standardError).toBeCloseTo(errorWith(1), 12);
  });

  test('needs no fan curve of a cooler that has the level at the speed it was logged with', () => {
    const { fanCurve: _, ...withoutCurve } = towerReference;
    const { coolers } = compareCoolers([flat, tower], {
      powerW: 80,
      equalSound: { soundLevelDb: 30, references: { ...references, 'tower 88 mm': withoutCurve } },
    });
    expect(estimatedOf(coolers[0].thermalResistanceKPerW).value).toBeCloseTo(0.46, 9);
    expect(() =>
      compareCoolers([flat, tower], {
        powerW: 80,
        equalSound: { soundLevelDb: 34, references: { ...references, 'tower 88 mm': withoutCurve } },
      }),
    ).toThrow(
      'compareCoolers: `options.equalSound.references["tower 88 mm"].fanCurve` must be the curve of the cooler, because it ' +
        'has 34 dB at 1202 rpm and was logged at 1000 rpm (received undefined); log it at two fan speeds or more and make ' +
        'one with fitFanCurve, or log it at that speed',
    );
  });

  test('takes the fan curve of the model itself where its fit has one', () => {
    const { fanCurve, ...withoutCurve } = towerReference;
    const resistanceOf = (model: CoolerModel, reference: SoundReference): EstimatedNumber => {
      const { coolers } = compareCoolers([flat, model], {
        powerW: 80,
        equalSound: { soundLevelDb: 34, references: { ...references, 'tower 88 mm': reference } },
      });
      return estimatedOf(coolers[0].thermalResistanceKPerW);
    };
    if (fanCurve === undefined) throw new Error('expected a fan curve');
    expect(resistanceOf({ ...tower, fanCurve }, withoutCurve)).toEqual(resistanceOf(tower, towerReference));
  });

  test('says where the speed lies beyond those logged, and marks the answer', () => {
    const { coolers, findings } = compareCoolers([flat, tower], {
      powerW: 80,
      equalSound: { soundLevelDb: 50, references },
    });
    expect(
      coolers.every(({ thermalResistanceKPerW }) => estimatedOf(thermalResistanceKPerW).extrapolated),
    ).toBe(true);
    const beyond = findings.find(({ code }) => code === 'fan-speed-not-logged');
    expect(beyond?.message).toMatch(/"flat 58 mm" and "tower 88 mm" at 3[\d ]+ rpm, 2[\d ]+ rpm/);
    expect(findings.map(({ code }) => code)).not.toContain('power-not-logged');
  });

  test.each([
    [{ soundLevelDb: 30, references: { 'flat 58 mm': flatReference } }, /references\["tower 88 mm"\]/],
    [{ soundLevelDb: Number.NaN, references }, /`options\.equalSound\.soundLevelDb` must be a finite number/],
    [{ soundLevelDb: 30 }, /`options\.equalSound\.references` must be an object with a sound reference/],
    [{ soundLevelDB: 30, references }, /soundLevelDB/],
    [
      {
        soundLevelDb: 30,
        references: { ...references, 'tower 88 mm': { ...towerReference, fanSpeedRpm: -1 } },
      },
      /references\["tower 88 mm"\]\.fanSpeedRpm` must be a finite number above 0/,
    ],
    [
      {
        soundLevelDb: 30,
        references: { ...references, 'tower 88 mm': { ...towerReference, fanCurve: tower } },
      },
      /references\["tower 88 mm"\]\.fanCurve` must be .*make one with fitFanCurve/,
    ],
    [
      {
        soundLevelDb: 30,
        references: { ...references, 'tower 88 mm': { ...towerReference, standardUncertaintyDb: -1 } },
      },
      /standardUncertaintyDb` must be a finite number at least 0 and at most 20/,
    ],
  ])('refuses %#', (equalSound, message) => {
    expect(() => compareCoolers([flat, tower], { powerW: 80, equalSound: equalSound as never })).toThrow(
      message,
    );
  });

  test('refuses a model whose fan speed is not known', () => {
    const { fanSpeedRpm: _, ...silent } = tower;
    expect(() =>
      compareCoolers([flat, silent], { powerW: 80, equalSound: { soundLevelDb: 30, references } }),
    ).toThrow(
      /`models` must be models with the fan speed they were logged at .*tower 88 mm.* without one.*log the fan speed, or give it as conditions: \{ fanSpeedRpm: … \}/,
    );
  });
});
