/** How work per second follows frequency. */
export type ThroughputForm = 'proportional' | 'saturating';

/** One candidate and how well it stands against the other, on one criterion and one set of points. */
export interface ThroughputCandidate {
  readonly form: ThroughputForm;
  readonly parameterCount: number;
  /** Root mean square of the residuals, as a fraction of the throughput. */
  readonly residualRmsFraction: number;
  /** Akaike weight; the weights of all usable candidates sum to 1. */
  readonly weight: number;
  readonly chosen: boolean;
  /** Why this candidate cannot be ranked, if so. */
  readonly rejected?: string;
}

/** Mean throughput and frequency of one load segment, for pictures. */
export interface ThroughputPoint {
  readonly label: string;
  readonly frequencyMHz: number;
  readonly throughputPerS: number;
}

/**
 * Throughput against frequency: every unit of work takes `megacycleCount` million core cycles and waits `waitS` seconds
 * for something that does not follow the core clock, memory for the most part, so that throughput is
 * 1/(waitS + megacycleCount/f). Without a wait it is proportional to frequency; with one it saturates at 1/waitS.
 * Plain data: survives JSON.
 */
export interface ThroughputRelation {
  readonly form: ThroughputForm;
  /** 0 where the relation is proportional. */
  readonly waitS: number;
  /** Million core cycles per unit of work, MHz·s. */
  readonly megacycleCount: number;
  /** Of `waitS` and `megacycleCount`, in this order. */
  readonly covariance: {
    readonly parameters: readonly string[];
    readonly matrix: readonly (readonly number[])[];
  };
  readonly degreesOfFreedom: number;
  readonly candidates: readonly ThroughputCandidate[];
  /** Frequencies it was fitted to, MHz; where a run was slowed down, the effective ones. */
  readonly testedFrequencyMHz: readonly [low: number, high: number];
  readonly points: readonly ThroughputPoint[];
}

/** Work per second at a frequency, MHz. */
export function throughputOf({ waitS, megacycleCount }: ThroughputRelation, frequencyMHz: number): number {
  return frequencyMHz / (megacycleCount + waitS * frequencyMHz);
}

/** Derivatives of the throughput: with respect to frequency, and to `waitS` and `megacycleCount`. */
export function throughputGradient(
  { waitS, megacycleCount }: ThroughputRelation,
  frequencyMHz: number,
): { readonly perMHz: number; readonly perParameter: readonly [number, number] } {
  const divisor = (megacycleCount + waitS * frequencyMHz) ** 2;
  return {
    perMHz: megacycleCount / divisor,
    perParameter: [-(frequencyMHz * frequencyMHz) / divisor, -frequencyMHz / divisor],
  };
}
