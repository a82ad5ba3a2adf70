import type { Estimate } from '../../numerics/estimate.js';
import type { Finding } from '../finding.js';

/**
 * - `loss`: less work per cycle than the reference, beyond noise and beyond what waiting for memory explains
 * - `no-loss`: no difference beyond noise
 * - `may-wait`: at a higher frequency than the reference more work, but less per cycle: either the work waits for memory
 *   or the run was slowed down
 * - `more-work`: more work per cycle than the reference could do: the reference may itself be slowed down
 */
export type SlowdownVerdict = 'loss' | 'no-loss' | 'may-wait' | 'more-work';

/** One run held against the reference. */
export interface RunSlowdown {
  readonly label: string;
  readonly verdict: SlowdownVerdict;
  /** Mean of the reported frequency under load. */
  readonly reportedMHz: number;
  /** Frequency at which the reference does the work of this run. */
  readonly effectiveMHz: number;
  readonly throughputPerS: number;
  /** Work that the reference would do at the reported frequency. */
  readonly expectedThroughputPerS: number;
  /** Share of that work which is missing; negative where more was done. */
  readonly lossFraction: Estimate;
  /** Loss that would just have been told from noise. */
  readonly detectableFraction: number;
  /** Chance of a difference at least this large where there is none, adjusted for the number of runs (Holm). */
  readonly adjustedPValue: number;
  /** The verdict in words. */
  readonly sentence: string;
}

/** Whether runs do the work that their reported frequency promises. Plain data: survives JSON. */
export interface SlowdownCheck {
  readonly kind: 'slowdown-check';
  /** The finding in one or a few sentences. */
  readonly summary: string;
  readonly reference: {
    readonly labels: readonly string[];
    readonly frequencyMHz: number;
    readonly throughputPerS: number;
    /**
     * Exponent with which the reference's work follows frequency; absent where its runs lie at one frequency: then work
     * is taken as proportional, and what lies between that and no dependence is not called a loss.
     */
    readonly throughputExponent?: number;
  };
  readonly runs: readonly RunSlowdown[];
  readonly runToRunFraction: number;
  readonly findings: readonly Finding[];
}
