import { ArgumentError } from '../../errors.js';
import { effectiveDegreesOfFreedom, type VariancePart } from '../../numerics/effective-degrees-of-freedom.js';
import type { CoolerModel } from '../cooler-model.js';
import {
  MOUNT_ALLOWANCE_FRACTION,
  type MountSpread,
  mountSpreadOf,
  nextMountVarianceFraction,
} from '../mount-spread.js';
import { resistanceAt } from '../steady-temperature.js';
import type { FanSetting } from './equal-sound.js';

/** A cooler's resistance at one power as the middle of its mounts, with its variance by source. */
export interface ResistanceParts {
  readonly resistanceKPerW: number;
  /** Beyond the powers logged, or the fan speeds. */
  readonly extrapolated: boolean;
  readonly powerExtrapolated: boolean;
  readonly mounts: MountSpread;
  /** How the resistance changes between the logged power and the one asked for: no remount makes it smaller. */
  readonly exponent: VariancePart;
  /** What the fan speed of equal sound leaves open; none at the speed that was logged. No remount makes it smaller. */
  readonly fan: VariancePart;
  /** Noise, structure and air of the runs: drawn anew in each further run. */
  readonly fit: VariancePart;
  /** Of the middle of the mounts logged. */
  readonly mounting: VariancePart;
}

/**
 * Splits a model's uncertainty by source. A model of several mounts speaks of the next mount, so its standard error
 * holds the whole spread between them; the middle of m mounts is known to spread / √m.
 */
export function resistancePartsOf(
  model: CoolerModel,
  options: {
    readonly powerW: number;
    readonly allowanceFraction: number;
    readonly fan?: FanSetting;
    readonly caller: string;
  },
): ResistanceParts {
  const { powerW, allowanceFraction, caller } = options;
  const resistance = resistanceAt(model, powerW);
  if (resistance.kind === 'unavailable') {
    throw new ArgumentError({
      caller,
      argument: 'models',
      expected: 'models whose total resistance is known',
      received: `"${model.label}" without one`,
      remedy: 'see the findings of that model for what its runs lack',
    });
  }
  const law = model.resistanceLaw;
  const factor = options.fan?.resistanceFactor ?? 1;
  const value = factor * resistance.value;
  const mounts = mountSpreadOf(model, allowanceFraction);
  const atLoggedPower = ((value / law.thermalResistanceKPerW) * law.resistanceStandardErrorKPerW) ** 2;
  const nextMount = value ** 2 * nextMountVarianceFraction(mountSpreadOf(model, MOUNT_ALLOWANCE_FRACTION));
  const { degreesOfFreedom } = law;
  return {
    resistanceKPerW: value,
    extrapolated: resistance.extrapolated === true || options.fan?.extrapolated === true,
    powerExtrapolated: resistance.extrapolated === true,
    mounts,
    exponent: {
      variance: Math.max(0, (factor * resistance.standardError) ** 2 - atLoggedPower),
      degreesOfFreedom,
    },
    fan:
      options.fan === undefined
        ? { variance: 0, degreesOfFreedom }
        : { ...options.fan.relative, variance: value ** 2 * options.fan.relative.variance },
    fit: { variance: Math.max(0, atLoggedPower - nextMount), degreesOfFreedom },
    mounting: {
      variance: (value * mounts.usedFraction) ** 2 / mounts.mountCount,
      degreesOfFreedom: mounts.degreesOfFreedom,
    },
  };
}

/**
 * Two coolers' parts without what one joint fit says they have in common, u_a u_b r, which cancels in their difference.
 * Models that were fitted apart state nothing in common.
 */
export function withoutCommon(
  [first, second]: readonly [ResistanceParts, ResistanceParts],
  [a, b]: readonly [CoolerModel, CoolerModel],
): [ResistanceParts, ResistanceParts] {
  const correlation = a.correlations?.find(({ label }) => label === b.label)?.correlation ?? 0;
  const errorOf = ({ resistanceLaw }: CoolerModel, { resistanceKPerW }: ResistanceParts): number =>
    (resistanceKPerW / resistanceLaw.thermalResistanceKPerW) * resistanceLaw.resistanceStandardErrorKPerW;
  const common = correlation * errorOf(a, first) * errorOf(b, second);
  const less = (parts: ResistanceParts): ResistanceParts => ({
    ...parts,
    fit: { ...parts.fit, variance: Math.max(0, parts.fit.variance - common) },
  });
  return [less(first), less(second)];
}

/** The parts as they are after some more mounts, each logged with a run of its own. */
export function partsAfter(parts: ResistanceParts, moreMountCount: number): readonly VariancePart[] {
  const { exponent, fan, fit, mounting, mounts } = parts;
  const left = mounts.mountCount / (mounts.mountCount + moreMountCount);
  return [
    exponent,
    fan,
    { variance: fit.variance * left, degreesOfFreedom: fit.degreesOfFreedom },
    {
      variance: mounting.variance * left,
      degreesOfFreedom: mounting.degreesOfFreedom + moreMountCount,
    },
  ];
}

/** Standard error of a sum or difference of independent parts, and the degrees of freedom behind it. */
export function combinedError(parts: readonly VariancePart[]): {
  readonly standardError: number;
  readonly degreesOfFreedom: number;
} {
  return {
    standardError: Math.sqrt(parts.reduce((sum, { variance }) => sum + variance, 0)),
    degreesOfFreedom: effectiveDegreesOfFreedom(parts),
  };
}
