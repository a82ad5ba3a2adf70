import type { Estimate } from '../../numerics/estimate.js';
import type { Finding } from '../../runs/finding.js';

/** One cooler among those compared, as the middle of its mounts. */
export interface ComparedCooler {
  readonly label: string;
  /** At the power of the comparison; the interval holds the spread between mounts. */
  readonly thermalResistanceKPerW: Estimate;
  /** Steady temperature of the die above the intake air at that power. */
  readonly steadyRiseK: Estimate;
  /** The rise on top of the air given, degrees Celsius; missing where none was given. */
  readonly steadyTemperatureC?: Estimate;
  /** Fan speed at the sound level of the comparison; missing where each was taken as logged. */
  readonly fanSpeedRpm?: number;
  /** Mounts the runs hold. */
  readonly mountCount: number;
  /** Standard deviation of one mount, as a fraction of the resistance: what was used. */
  readonly mountSpreadFraction: number;
  /** Where that spread comes from: the allowance alone, or several logged mounts steadied by it. */
  readonly mountSpreadSource: 'allowed' | 'logged';
  /** Best and worst place it can have, 1 for the coolest: every cooler told apart from it counts. */
  readonly places: readonly [best: number, worst: number];
}

/** Two coolers against each other, in the order in which they were given. */
export interface CoolerPair {
  readonly first: string;
  readonly second: string;
  /** First minus second: below 0 where the first is the cooler one. The interval is that of this pair alone. */
  readonly differenceKPerW: Estimate;
  /** The same as a difference of the steady rise. */
  readonly riseDifferenceK: Estimate;
  /** What can be said of the first against the second with the confidence asked for, all pairs together. */
  readonly verdict: 'better' | 'worse' | 'not told apart';
  /** Chance of a difference at least as large between equal coolers; of this pair alone. */
  readonly pValue: number;
  /** The same after Holm's adjustment for all pairs: the verdict goes by it. */
  readonly adjustedPValue: number;
  /**
   * Further mounts of each, with a run each, that would tell them apart with a chance of 80 % if they differ by as
   * much as they now seem to; 0 where they are told apart.
   */
  readonly moreMountsOfEachCount: number | 'no reasonable number';
  /** The pair in a plain sentence or two. */
  readonly summary: string;
}

/** Coolers compared at equal power and equal air, and where asked for at equal sound level. Plain data: survives JSON. */
export interface CoolerComparison {
  readonly kind: 'cooler-comparison';
  readonly powerW: number;
  readonly ambientC?: number;
  /** Sound level at which all were compared, dB; missing where each was taken at the fan speed it was logged with. */
  readonly soundLevelDb?: number;
  readonly confidence: number;
  /** Standard deviation allowed for mounting where one mount was logged, as a fraction of the resistance. */
  readonly mountAllowanceFraction: number;
  /** The comparison in a sentence or two. */
  readonly summary: string;
  /** Lowest resistance first. */
  readonly coolers: readonly ComparedCooler[];
  /** Every pair, in the order of the models given. */
  readonly pairs: readonly CoolerPair[];
  /**
   * The ranking: groups of labels, best first, in which no two coolers are told apart. One cooler can stand in
   * several groups: not told apart from one nor from another that are told apart themselves.
   */
  readonly ranking: readonly (readonly string[])[];
  readonly findings: readonly Finding[];
}
