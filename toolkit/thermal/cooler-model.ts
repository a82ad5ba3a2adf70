import type { Estimate } from '../numerics/estimate.js';
import type { Finding } from '../runs/finding.js';
import type { FanCurve } from './fan-law.js';

/** One term of the step response, in pole form: resistance · (1 − exp(−t / time constant)). */
export interface CoolerStage {
  readonly timeConstantS: Estimate;
  readonly resistanceKPerW: Estimate;
}

/** One rung of the equivalent ladder, from the die outward; the last resistance ends in the intake air. */
export interface LadderRung {
  readonly heatCapacityJPerK: number;
  readonly resistanceKPerW: number;
}

/** One candidate structure and how well it stands against the others. */
export interface OrderCandidate {
  readonly stageCount: number;
  readonly sensorLag: boolean;
  /** How many of the stages are shared with other coolers, in a joint fit of several. */
  readonly sharedStageCount?: number;
  readonly parameterCount: number;
  /** Root mean square of the residuals, K. */
  readonly residualRmsK: number;
  /** Corrected Akaike criterion, all candidates on one effective sample size; missing where too few samples. */
  readonly aicc?: number;
  /** Akaike weight among the candidates that are not rejected; these weights sum to 1. */
  readonly weight: number;
  readonly chosen: boolean;
  /** Why this candidate cannot be chosen, if so: poles merged, not converged … */
  readonly rejected?: string;
}

/**
 * Total thermal resistance, die to intake air, as a function of the heat flow rate:
 * R(P) = R · (P / atPowerW)^(−powerExponent).
 *
 * The exponent is 0 for a convection that does not depend on the temperature difference and grows with it
 * (R ∝ ΔT^−p gives powerExponent = p / (1 + p)).
 */
export interface ResistanceLaw {
  readonly thermalResistanceKPerW: number;
  readonly atPowerW: number;
  readonly powerExponent: number;
  /** `fitted` where several powers were logged; `assumed` where a stated prior spread is carried instead. */
  readonly exponentSource: 'fitted' | 'assumed';
  /** Standard uncertainty of the resistance at `atPowerW`, K/W. */
  readonly resistanceStandardErrorKPerW: number;
  readonly exponentStandardError: number;
  /** Correlation of the two. */
  readonly correlation: number;
  /** Degrees of freedom for Student's t; effective, after autocorrelation. */
  readonly degreesOfFreedom: number;
}

/** How one uninterrupted stretch of a run started, and the factor of its mount. */
export interface RunStart {
  readonly runLabel: string;
  /** Index of the stretch's first sample in its run. */
  readonly firstIndex: number;
  /** Earlier power in whose steady state it started, W: one for all stages, or one each after a gap. */
  readonly startPowerW: readonly number[];
  /** Intake air of this stretch as fitted, degrees Celsius, where the run did not know it. */
  readonly ambientC?: number;
  /** Factor of this run's mount on the temperature rise; 1 where there is one mount. */
  readonly mountFactor: number;
}

/** A cooler on a processor, as lumped heat capacities and resistances. Plain data: survives JSON. */
export interface CoolerModel {
  readonly kind: 'cooler-model';
  readonly label: string;
  readonly cooler?: string;
  readonly processor?: string;
  readonly enclosure?: string;
  /**
   * Mean fan speed of the runs, where it was logged or given, revolutions per minute; with a `fanCurve` its reference
   * speed, at which everything else in the model is stated.
   */
  readonly fanSpeedRpm?: number;
  /** How the resistance goes with the fan speed, where the runs hold several: part of the same fit. */
  readonly fanCurve?: FanCurve;
  /** Labels of the runs it was fitted from. */
  readonly runLabels: readonly string[];
  /** Where each run started: the earlier power in whose steady state it was, W; one a stage after a gap. */
  readonly starts: readonly RunStart[];
  /** From whole transients, or from averages only (then there are no stages). */
  readonly method: 'transient' | 'steady-points';
  /** Total resistance at `resistanceLaw.atPowerW`. */
  readonly thermalResistanceKPerW: Estimate;
  readonly resistanceLaw: ResistanceLaw;
  /**
   * The fitted poles as plain numbers, fastest first: what simulations use. Absent for `steady-points`, and where
   * stages and start could not be told apart.
   */
  readonly poles?: {
    readonly timeConstantsS: readonly number[];
    readonly resistancesKPerW: readonly number[];
    readonly sensorLagS?: number;
    /** How slowly a change of the air reaches the die, s. */
    readonly airTimeConstantS: number;
  };
  /** The same poles with their uncertainty; empty for `steady-points`. */
  readonly stages: readonly CoolerStage[];
  /** Ladder form, die first; empty where the stages are not identifiable. */
  readonly ladder: readonly LadderRung[];
  readonly sensorLagS?: Estimate;
  /** Air temperature used: the mean of the measured or given values, or the one identified, degrees Celsius. */
  readonly ambientC: Estimate;
  readonly noise: {
    /** Standard deviation of the residuals, K. */
    readonly standardDeviationK: number;
    /** Samples per independent sample (1 = white). */
    readonly samplesPerIndependentSample: number;
    readonly effectiveSampleCount: number;
    /** 95th percentile of (measured − model) near the end of the runs, K: what the peak adds to the mean. */
    readonly peakAboveMeanK: number;
  };
  readonly orders: readonly OrderCandidate[];
  readonly findings: readonly Finding[];
  /** Of the fitted parameters, in the order named, autocorrelation included. */
  readonly covariance: {
    readonly parameters: readonly string[];
    readonly matrix: readonly (readonly number[])[];
  };
  /** The other models of a joint fit, and how far their total resistances go up and down together with this one's. */
  readonly correlations?: readonly { readonly label: string; readonly correlation: number }[];
  readonly testedRange: {
    readonly powerW: readonly [low: number, high: number];
    readonly temperatureC: readonly [low: number, high: number];
    readonly durationS: number;
  };
  readonly termination: { readonly reason: string; readonly converged: boolean; readonly message: string };
  readonly evaluationCount: number;
}

/** An enclosure's effect: it warms the intake air by `riseK`; with `atPowerW` the rise scales with power from there. */
export interface EnclosureRise {
  readonly riseK: number;
  readonly atPowerW?: number;
}
