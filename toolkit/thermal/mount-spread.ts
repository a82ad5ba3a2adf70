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
  const mountCount = Math.max(factors.length, named, 1);
  if (mountCount === 1) {
    return { mountCount, usedFraction: allowanceFraction, degreesOfFreedom: ALLOWANCE_DEGREES_OF_FREEDOM };
  }
  // The log factors of a model's mounts sum to 0.
  const loggedVariance = factors.reduce((sum, factor) => sum + Math.log(factor) ** 2, 0) / (mountCount - 1);
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
