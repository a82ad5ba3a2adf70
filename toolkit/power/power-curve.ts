import type { Estimate } from '../numerics/estimate.js';
import type { Finding } from '../runs/finding.js';
import type { CurveVoltage } from './curve-voltage.js';
import type { ThroughputRelation } from './fit/throughput-relation.js';

/** Shape of a power-frequency relation. */
export type PowerCurveForm = 'electro-thermal' | 'power-law' | 'polynomial';

/** One candidate form and how well it stands against the others, on one criterion and one set of points. */
export interface CurveCandidate {
  readonly form: PowerCurveForm;
  /** Free parameters of the form. */
  readonly parameterCount: number;
  /** Of these, how many the data determine; the rest is carried by the stated assumptions. */
  readonly effectiveParameterCount: number;
  /** Root mean square of the residuals in frequency, MHz. */
  readonly residualRmsMHz: number;
  /** Corrected Akaike criterion; 0 where it is undefined (then `rejected` says so). */
  readonly aicc: number;
  /** Akaike weight; the weights of all usable candidates sum to 1. */
  readonly weight: number;
  readonly chosen: boolean;
  /** Why this candidate cannot be ranked, if so. */
  readonly rejected?: string;
}

/** What limited the processor while a point was logged. */
export type PointLimit = 'cap' | 'temperature' | 'frequency' | 'demand' | 'unknown';

/** Averages over one load segment, or one line of a person's notebook. */
export interface CurvePoint {
  readonly label: string;
  readonly powerW: number;
  readonly temperatureC: number;
  /** Where the run was slowed down at the curve's own voltage, the effective one. */
  readonly frequencyMHz: number;
  readonly throughputPerS?: number;
  /** Voltage offset in force, mV; absent for none. */
  readonly voltageOffsetMv?: number;
  readonly limitedBy: PointLimit;
}

/**
 * What the form of the curve does not know: no averaging of logs makes an approximate form exact.
 *
 * The electro-thermal form carries it as a smooth correction to its voltage curve, whose values at knots are among
 * the parameters (`correction`). A form without correction carries it as a spread about the curve, which grows outside
 * the tested range.
 */
export interface CurveDiscrepancy {
  /** Standard deviation of the frequency, MHz; with a correction, what that would be without any data. */
  readonly standardDeviationMHz: number;
  /** Ratio of powers, as a natural logarithm, over which it changes. */
  readonly powerScaleRatio: number;
  /** Temperature difference over which it changes, K. */
  readonly temperatureScaleK: number;
  readonly correction?: {
    /** Frequencies at which the correction is a parameter, ascending. */
    readonly knotsMHz: readonly number[];
    /** Prior standard deviation of the correction, as a logarithm of squared voltage. */
    readonly standardDeviationRatio: number;
  };
}

/** A run that did less work per cycle than the others: its reported frequency is not what it works like. */
export interface SlowedRun {
  readonly label: string;
  /** Voltage offset stated for the run, mV; 0 for none. */
  readonly voltageOffsetMv: number;
  readonly reportedMHz: number;
  readonly effectiveMHz: number;
  readonly lossFraction: Estimate;
}

/** Power against frequency (and temperature) of a processor under its governor. Plain data: survives JSON. */
export interface PowerCurve {
  readonly kind: 'power-curve';
  readonly label: string;
  readonly processor?: string;
  readonly workload?: string;
  readonly runLabels: readonly string[];
  readonly method: 'runs' | 'steady-points';
  readonly form: PowerCurveForm;
  /** Parameters of the chosen form by name, with their units; the fixed reference point is among them. */
  readonly parameters: Readonly<Record<string, number>>;
  /** Of the fitted parameters, in the order named; autocorrelation and discrepancy included. */
  readonly covariance: {
    readonly parameters: readonly string[];
    readonly matrix: readonly (readonly number[])[];
  };
  /** Degrees of freedom for Student's t; effective, of the discrepancy's spread. */
  readonly degreesOfFreedom: number;
  readonly discrepancy: CurveDiscrepancy;
  /**
   * What one watt changes: mean slope over ±10 % of power about the centre of the points, in the middle of the tested
   * temperatures.
   */
  readonly frequencyPerPowerMHzPerW: Estimate;
  /** What one kelvin changes at held power: mean slope over the middle half of the tested temperatures, at the centre. */
  readonly frequencyPerTemperatureMHzPerK: Estimate;
  /** Work per second and megahertz, where throughput was logged and is proportional to frequency. */
  readonly throughputPerMHz?: Estimate;
  /** Work per second against frequency, where throughput was logged. */
  readonly throughput?: ThroughputRelation;
  /** Voltage against frequency and the offset the curve holds for, where voltage was logged. */
  readonly voltage?: CurveVoltage;
  /** Runs slowed down behind their reported frequency, where throughput was logged. */
  readonly slowedRuns?: readonly SlowedRun[];
  readonly candidates: readonly CurveCandidate[];
  readonly findings: readonly Finding[];
  readonly testedRange: {
    readonly powerW: readonly [low: number, high: number];
    readonly frequencyMHz: readonly [low: number, high: number];
    readonly temperatureC: readonly [low: number, high: number];
  };
  /** The steady points behind it, for pictures: one per load segment. */
  readonly points: readonly CurvePoint[];
  readonly termination: { readonly reason: string; readonly converged: boolean; readonly message: string };
  readonly evaluationCount: number;
}
