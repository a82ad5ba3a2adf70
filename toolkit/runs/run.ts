import type { Finding } from './finding.js';

/** What a log cannot say about itself. Everything is optional; what is needed later is asked for by name. */
export interface Conditions {
  /** Air temperature at the cooler's intake, degrees Celsius, if it is not a column of the log. */
  readonly ambientC?: number;
  readonly cooler?: string;
  readonly processor?: string;
  /** Name of the enclosure, or `open bench`. */
  readonly enclosure?: string;
  /** Which mounting of the cooler this was: `first`, `remounted` … */
  readonly mount?: string;
  /** Fan speed where it was fixed, revolutions per minute. */
  readonly fanSpeedRpm?: number;
  /** Power cap in force during the run, W. */
  readonly powerCapW?: number;
  /** The maker's default power cap of this processor, W. */
  readonly defaultCapW?: number;
  /** Offset of the core voltage set by hand during the run, mV against the maker's voltages: −60 for 60 mV less. */
  readonly voltageOffsetMv?: number;
  readonly workload?: string;
}

/**
 * What a power sample means: the mean over the interval before its time stamp (what an energy counter gives),
 * or the power at that instant, held until the next sample.
 */
export type PowerSample = 'interval-mean' | 'instant';

/** The sampled quantities of a run; all arrays have one length. */
export interface RunSamples {
  /** Time since the first sample, s, strictly increasing. */
  readonly timeS: Float64Array;
  /** Die or package temperature, degrees Celsius. */
  readonly temperatureC: Float64Array;
  /** Package power, W. */
  readonly powerW: Float64Array;
  readonly frequencyMHz?: Float64Array;
  /** Work done per second, in the unit of the log. */
  readonly throughputPerS?: Float64Array;
  /** Air temperature at the cooler's intake, degrees Celsius. */
  readonly ambientC?: Float64Array;
  readonly fanSpeedRpm?: Float64Array;
  readonly voltageV?: Float64Array;
}

/** One logged load run: samples, what is known about it, and what was found in it. */
export interface Run extends RunSamples {
  readonly label: string;
  readonly conditions: Conditions;
  readonly powerSample: PowerSample;
  readonly findings: readonly Finding[];
}
