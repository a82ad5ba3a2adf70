import {
  ArgumentError,
  type KnownNames,
  requireKind,
  requireKnownNames,
  requireNumber,
} from '../../errors.js';
import type { VariancePart } from '../../numerics/effective-degrees-of-freedom.js';
import { propagate } from '../../numerics/propagation.js';
import type { CoolerModel } from '../cooler-model.js';
import type { FanCurve } from '../fan-curve.js';

/** How loud a cooler is at one fan speed, and how its resistance goes with the fan speed. */
export interface SoundReference {
  /** Sound level at `fanSpeedRpm`, dB: of all coolers in one room, at one distance. */
  readonly soundLevelDb: number;
  readonly fanSpeedRpm: number;
  /** Standard uncertainty of that level, dB. Default 1: a meter held by hand, away from walls. */
  readonly standardUncertaintyDb?: number;
  /**
   * Resistance against fan speed, from `fitFanCurve`. Default: the model's own, where its runs held several fan speeds; not
   * needed where the level sought is met at the speed at which the cooler was logged.
   */
  readonly fanCurve?: FanCurve;
}

const REFERENCE_NAMES: KnownNames<SoundReference> = {
  soundLevelDb: true,
  fanSpeedRpm: true,
  standardUncertaintyDb: true,
  fanCurve: true,
};

/** The sound level at which coolers are compared, and what is known of the sound of each. */
export interface EqualSound {
  readonly soundLevelDb: number;
  /** By the labels of the models. */
  readonly references: Readonly<Record<string, SoundReference>>;
}

const EQUAL_SOUND_NAMES: KnownNames<EqualSound> = { soundLevelDb: true, references: true };

/** One cooler at the level sought. */
export interface FanSetting {
  readonly fanSpeedRpm: number;
  /** Factor on the resistance at the fan speed that was logged. */
  readonly resistanceFactor: number;
  /** Relative variance of that factor: of the fan curve, and of the sound level by way of the speed. */
  readonly relative: VariancePart;
  /** Whether that speed lies beyond the tested ones. */
  readonly extrapolated: boolean;
}

/** Speeds nearer than this need no fan curve: the resistance changes by less than a mount does. */
const SAME_SPEED_RATIO = 1.02;

/** Decibels for ten times the speed: sound power goes with its fifth power (fan laws, from memory). */
const DECIBELS_PER_DECADE = 50;

/** From a meter held by hand, dB. */
const READING_UNCERTAINTY_DB = 1;

/**
 * Fan speed at which a fan has a sound level, by the fan laws: n = n₀ · 10^((L − L₀) / 50 dB), the inverse of
 * `soundLevelAtFanSpeed` (fan laws, from memory).
 *
 * Holds where the fan is what is heard: no pump, no coil, no rattling. A fan has a lowest and a highest speed of its
 * own, which are not known here.
 *
 * @param known - a level measured at one speed: soundLevelDb, fanSpeedRpm > 0
 * @param soundLevelDb - the level sought, dB
 * @returns revolutions per minute
 * @throws ArgumentError if a number is not in its domain
 * @example
 * fanSpeedAtSoundLevel({ soundLevelDb: 30, fanSpeedRpm: 1000 }, 45.0515); // => 2000 within 0.01
 */
export function fanSpeedAtSoundLevel(
  known: { readonly soundLevelDb: number; readonly fanSpeedRpm: number },
  soundLevelDb: number,
): number {
  const caller = 'fanSpeedAtSoundLevel';
  requireKnownNames(known, KNOWN_NAMES, { caller, argument: 'known' });
  requireNumber(known.soundLevelDb, { caller, argument: 'known.soundLevelDb' });
  requireNumber(known.fanSpeedRpm, { caller, argument: 'known.fanSpeedRpm' }, { above: 0 });
  requireNumber(soundLevelDb, { caller, argument: 'soundLevelDb' });
  return speedAt(known, soundLevelDb);
}

const KNOWN_NAMES: KnownNames<{ readonly soundLevelDb: number; readonly fanSpeedRpm: number }> = {
  soundLevelDb: true,
  fanSpeedRpm: true,
};

function speedAt(known: Pick<SoundReference, 'soundLevelDb' | 'fanSpeedRpm'>, soundLevelDb: number): number {
  return known.fanSpeedRpm * 10 ** ((soundLevelDb - known.soundLevelDb) / DECIBELS_PER_DECADE);
}

/** Refuses a request that is no request for equal sound. */
export function requireEqualSound(equalSound: EqualSound, caller: string): void {
  const argument = 'options.equalSound';
  requireKnownNames(equalSound, EQUAL_SOUND_NAMES, { caller, argument });
  requireNumber(equalSound.soundLevelDb, { caller, argument: `${argument}.soundLevelDb` });
  const { references } = equalSound;
  if (typeof references === 'object' && references !== null && !Array.isArray(references)) return;
  throw new ArgumentError({
    caller,
    argument: `${argument}.references`,
    expected: 'an object with a sound reference for the label of each model',
    received: references,
  });
}

/**
 * The fan speed of a cooler at the level sought and what that makes of its resistance: the ratio of the fan curve's
 * resistances there and at the logged speed, which is taken as the same at every power.
 */
export function fanSettingOf(model: CoolerModel, equalSound: EqualSound, caller: string): FanSetting {
  const { references, soundLevelDb } = equalSound;
  const argument = `options.equalSound.references[${JSON.stringify(model.label)}]`;
  const reference = requireReference(references, model, { caller, argument });
  const fanSpeedRpm = speedAt(reference, soundLevelDb);
  const loggedRpm = model.fanSpeedRpm;
  if (loggedRpm === undefined) {
    throw new ArgumentError({
      caller,
      argument: 'models',
      expected: 'models with the fan speed they were logged at',
      received: `"${model.label}" without one`,
      remedy: 'log the fan speed, or give it as conditions: { fanSpeedRpm: … }',
    });
  }
  const { fanCurve = model.fanCurve } = reference;
  if (fanCurve === undefined) {
    const ratio = fanSpeedRpm / loggedRpm;
    if (ratio < SAME_SPEED_RATIO && ratio > 1 / SAME_SPEED_RATIO)
      return { fanSpeedRpm, resistanceFactor: 1, relative: NO_VARIANCE, extrapolated: false };
    throw new ArgumentError({
      caller,
      argument: `${argument}.fanCurve`,
      expected: `the curve of the cooler, because it has ${soundLevelDb} dB at ${Math.round(fanSpeedRpm)} rpm and was logged at ${Math.round(loggedRpm)} rpm`,
      received: fanCurve,
      remedy: 'log it at two fan speeds or more and make one with fitFanCurve, or log it at that speed',
    });
  }
  requireKind(fanCurve, 'fan-curve', {
    caller,
    argument: `${argument}.fanCurve`,
    remedy: 'make one with fitFanCurve',
  });
  const ratioAt = (speed: number): ReturnType<typeof propagate> =>
    propagate(
      ([limit, convection, exponent]) => {
        const at = (rpm: number): number =>
          limit + convection * (rpm / fanCurve.referenceFanSpeedRpm) ** -exponent;
        return at(speed) / at(loggedRpm);
      },
      [fanCurve.limitKPerW, fanCurve.convectionKPerW, fanCurve.fanSpeedExponent],
      fanCurve.covariance.matrix,
    );
  const { value: resistanceFactor, standardError } = ratioAt(fanSpeedRpm);
  // A level that is off by its uncertainty is met at another speed.
  const { standardUncertaintyDb = READING_UNCERTAINTY_DB } = reference;
  const off = (sign: number): number =>
    ratioAt(speedAt(reference, soundLevelDb + sign * standardUncertaintyDb)).value;
  const fromLevel = (off(1) - off(-1)) / 2;
  const [low, high] = fanCurve.testedRange.fanSpeedRpm;
  return {
    fanSpeedRpm,
    resistanceFactor,
    relative: {
      variance: (standardError ** 2 + fromLevel ** 2) / resistanceFactor ** 2,
      degreesOfFreedom: fanCurve.degreesOfFreedom,
    },
    extrapolated: fanSpeedRpm < low / SAME_SPEED_RATIO || fanSpeedRpm > high * SAME_SPEED_RATIO,
  };
}

/** At the speed that was logged nothing is added. */
const NO_VARIANCE: VariancePart = { variance: 0, degreesOfFreedom: Number.POSITIVE_INFINITY };

function requireReference(
  references: EqualSound['references'],
  { label }: CoolerModel,
  where: { readonly caller: string; readonly argument: string },
): SoundReference {
  const reference = Object.hasOwn(references, label) ? references[label] : undefined;
  requireKnownNames(reference, REFERENCE_NAMES, {
    ...where,
    remedy: 'give the sound level of this cooler at one fan speed: { soundLevelDb, fanSpeedRpm, fanCurve }',
  });
  const known = reference as SoundReference;
  requireNumber(known.soundLevelDb, { ...where, argument: `${where.argument}.soundLevelDb` });
  requireNumber(known.fanSpeedRpm, { ...where, argument: `${where.argument}.fanSpeedRpm` }, { above: 0 });
  if (known.standardUncertaintyDb !== undefined) {
    requireNumber(
      known.standardUncertaintyDb,
      { ...where, argument: `${where.argument}.standardUncertaintyDb` },
      { atLeast: 0, atMost: 20 },
    );
  }
  return known;
}
