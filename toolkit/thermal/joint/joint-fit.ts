import type { Estimate } from '../../numerics/estimate.js';
import type { Finding } from '../../runs/finding.js';
import type { CoolerModel } from '../cooler-model.js';
import type { MeasuredEnclosure } from '../enclosure-between.js';

/** One way to share stages between coolers, and how well it stands against the others. */
export interface SharingCandidate {
  /** Rungs of the ladder that all coolers have in common, from the die; 0: none. */
  readonly sharedStageCount: number;
  readonly sensorLag: boolean;
  readonly parameterCount: number;
  /** Corrected Akaike criterion, all candidates on one effective sample size. */
  readonly aicc?: number;
  /** Akaike weight among the candidates that are not rejected; these weights sum to 1. */
  readonly weight: number;
  readonly chosen: boolean;
  readonly rejected?: string;
}

/** A rung of the ladder that all coolers have in common. */
export interface SharedRung {
  readonly heatCapacityJPerK: Estimate;
  readonly resistanceKPerW: Estimate;
}

/** Several coolers on one processor, on the bench and in enclosures, fitted together. Plain data: survives JSON. */
export interface JointFit {
  readonly kind: 'joint-fit';
  /** One model for each cooler, in the order of the runs; of the bench, where there are enclosures. */
  readonly models: readonly CoolerModel[];
  /** What the coolers have in common: the first rungs of each model's ladder, from the die outward, and the sensor's lag. */
  readonly shared: {
    readonly rungs: readonly SharedRung[];
    readonly sensorLagS?: Estimate;
  };
  /** What each enclosure adds to the coolers' intake air. */
  readonly enclosures: readonly MeasuredEnclosure[];
  /** Whether the data bear sharing: candidates with none, one, two … stages in common. */
  readonly candidates: readonly SharingCandidate[];
  /** Of all parameters of the chosen candidate, in the order named, autocorrelation included; empty without a joint fit. */
  readonly covariance: {
    readonly parameters: readonly string[];
    readonly matrix: readonly (readonly number[])[];
  };
  readonly findings: readonly Finding[];
}
