import type { CoolerModel } from './cooler-model.js';

/** How much a cooler's resistance varies from one mount to the next. */
export interface MountSpread {
  /** Mounts the model was fitted from; 1 where none was named. */
  readonly mountCount: number;
  /** Standard deviation between the logged mounts, as a fraction of the resistance; missing where there is one. */
  readonly loggedFraction?: number;
  /** Standard deviation of one mount that is used, as a fraction of the resistance. */
  readonly usedFraction: number;
  /** Behind `usedFraction`. */
  readonly degreesOfFreedom: number;
}

/**
 * Degrees of freedom an allowance for mounting is worth: it is taken to be good to about 35 %, and a standard
 * uncertainty known to Δu/u has ν = (Δu/u)^−2 / 2 [JCGM100, G.4.2].
 */
export const ALLOWANCE_DEGREES_OF_FREEDOM: number = 4;

/** One standard deviation between mounts where none, or few, were logged, as a fraction of the resistance. */
export const MOUNT_ALLOWANCE_FRACTION: number = 0.025;

/**
 * Variance that the next mount adds to the middle of several, as a fraction of the resistance squared: its own spread
 * and that of the middle. 0 where one mount was logged: a model of one mount speaks of that mount.
 */
export function nextMountVarianceFraction({ mountCount, usedFraction }: MountSpread): number {
  return mountCount < 2 ? 0 : usedFraction ** 2 * (1 + 1 / mountCount);
}

/**
 * Spread between the mounts of one cooler: the allowance alone from one mount; from several the logged standard
 * deviation pooled with the allowance by degrees of freedom, but never less than was logged.
 *
 * Two or three mounts can agree by luck, and their spread alone would then claim too much; the allowance steadies it.
 * It never talks down a spread that was seen.
 */
export function mountSpreadOf(model: CoolerModel, allowanceFraction: number): MountSpread {
  const factors = [...new Set(model.starts.map((start) => start.mountFactor))];
  const named = model.findings.find((finding) => finding.code === 'several-mounts')?.count ?? 1;
  return mountSpread(factors.map(Math.log), Math.max(factors.length, named, 1), allowanceFraction);
}

/** The same from the log factors of the mounts, which sum to 0. */
export function mountSpread(
  logFactors: readonly number[],
  mountCount: number,
  allowanceFraction: number,
): MountSpread {
  if (mountCount === 1) {
    return { mountCount, usedFraction: allowanceFraction, degreesOfFreedom: ALLOWANCE_DEGREES_OF_FREEDOM };
  }
  const loggedVariance = logFactors.reduce((sum, factor) => sum + factor ** 2, 0) / (mountCount - 1);
  const degreesOfFreedom = ALLOWANCE_DEGREES_OF_FREEDOM + mountCount - 1;
  const pooledVariance =
    (ALLOWANCE_DEGREES_OF_FREEDOM * allowanceFraction ** 2 + (mountCount - 1) * loggedVariance) /
    degreesOfFreedom;
  return {
    mountCount,
    loggedFraction: Math.sqrt(loggedVariance),
    usedFraction: Math.sqrt(Math.max(pooledVariance, loggedVariance)),
    degreesOfFreedom,
  };
}
