import type { Estimate } from '../numerics/estimate.js';
import type { Finding } from '../runs/finding.js';

/** Shape of a power-frequency relation. */
export type PowerCurveForm = 'electro-thermal' | 'power-law' | 'polynomial';

/** One candidate form and how well it stands against the others, on one criterion and one set of points. */
export interface CurveCandidate {
  readonly form: PowerCurveForm;
  readonly parameterCount: number;
  /** Root mean square of the residuals in frequency, MHz. */
  readonly residualRmsMHz: number;
  readonly aicc: number;
  readonly weight: number;
  readonly chosen: boolean;
  readonly rejected?: string;
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
  /** Parameters of the chosen form by name, each with its unit in the name. */
  readonly parameters: Readonly<Record<string, number>>;
  readonly covariance: {
    readonly parameters: readonly string[];
    readonly matrix: readonly (readonly number[])[];
  };
  readonly degreesOfFreedom: number;
  /** Around the middle of the tested range: what one watt and one kelvin change. */
  readonly frequencyPerPowerMHzPerW: Estimate;
  readonly frequencyPerTemperatureMHzPerK: Estimate;
  /** Work per second and megahertz, where throughput was logged and is proportional to frequency. */
  readonly throughputPerMHz?: Estimate;
  readonly candidates: readonly CurveCandidate[];
  readonly findings: readonly Finding[];
  readonly testedRange: {
    readonly powerW: readonly [low: number, high: number];
    readonly frequencyMHz: readonly [low: number, high: number];
    readonly temperatureC: readonly [low: number, high: number];
  };
  /** The steady points behind it, for pictures: one per load segment. */
  readonly points: readonly {
    readonly label: string;
    readonly powerW: number;
    readonly temperatureC: number;
    readonly frequencyMHz: number;
    readonly limitedBy: 'cap' | 'temperature' | 'frequency' | 'demand' | 'unknown';
  }[];
}
