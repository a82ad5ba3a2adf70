import { meanWithAutocorrelation, slopeWithAutocorrelation } from '../../numerics/autocorrelation.js';
import { quantumOf } from '../quantum.js';
import type { Run } from '../run.js';
import { loadSegments } from '../segments/load-segments.js';

/** Load time left out at the start of each segment, while sensors and governor settle, s. */
const SETTLE_S = 5;

/** Samples a run must hold for its work per cycle to be known. */
const FEWEST_SAMPLES = 20;

/** A run's work and cycles under load. */
export interface WorkPerCycle {
  readonly label: string;
  readonly meanFrequencyMHz: number;
  readonly meanThroughputPerS: number;
  /** Standard error of their ratio, as a fraction of it, autocorrelation included. */
  readonly standardErrorFraction: number;
  readonly effectiveSampleCount: number;
  /** Change of the work per cycle from the beginning to the end of the load, and of the frequency, as fractions. */
  readonly driftFraction: number;
  readonly frequencyDriftFraction: number;
  /** Chance of such a drift of the work per cycle where there is none; 1 where the samples cannot tell. */
  readonly chanceWithoutDrift: number;
  /** Step in which the frequency comes, MHz; 0 where none shows. */
  readonly frequencyStepMHz: number;
}

/**
 * Mean work per core cycle of a run under load: the ratio of its mean throughput to its mean frequency over the load that
 * did not lack work (over all load where all of it did).
 *
 * The standard error is that of the mean of yᵢ/ȳ − fᵢ/f̄, to first order, for correlated samples
 * (`meanWithAutocorrelation`): slow changes that frequency and work share cancel.
 *
 * @returns undefined where the run has no column of frequency or throughput, or fewer than 20 samples of both
 */
export function workPerCycle(run: Run): WorkPerCycle | undefined {
  const { frequencyMHz, throughputPerS, timeS } = run;
  if (frequencyMHz === undefined || throughputPerS === undefined) return undefined;
  const loads = loadSegments(run).segments.filter((segment) => segment.kind === 'load');
  const busy = loads.filter(({ limitedBy }) => limitedBy !== 'demand');
  const frequencies: number[] = [];
  const throughputs: number[] = [];
  const times: number[] = [];
  for (const { startIndex, endIndex, startS } of busy.length > 0 ? busy : loads) {
    for (let i = startIndex; i < endIndex; i++) {
      if (timeS[i] < startS + SETTLE_S) continue;
      if (!(frequencyMHz[i] > 0) || !(throughputPerS[i] >= 0)) continue;
      frequencies.push(frequencyMHz[i]);
      throughputs.push(throughputPerS[i]);
      times.push(timeS[i]);
    }
  }
  const count = frequencies.length;
  if (count < FEWEST_SAMPLES) return undefined;
  const meanFrequencyMHz = frequencies.reduce((sum, value) => sum + value, 0) / count;
  const meanThroughputPerS = throughputs.reduce((sum, value) => sum + value, 0) / count;
  if (meanThroughputPerS === 0) return undefined;
  const departures = throughputs.map(
    (throughput, i) => throughput / meanThroughputPerS - frequencies[i] / meanFrequencyMHz,
  );
  const { standardError = 0, effectiveSampleCount } = meanWithAutocorrelation(departures);
  const durationS = times.at(-1)! - times[0];
  const drift = slopeWithAutocorrelation(times, departures);
  const ofFrequency = slopeWithAutocorrelation(times, frequencies);
  return {
    label: run.label,
    driftFraction: drift.slope * durationS,
    frequencyDriftFraction: (ofFrequency.slope * durationS) / meanFrequencyMHz,
    chanceWithoutDrift: drift.chanceWithoutDrift ?? 1,
    meanFrequencyMHz,
    meanThroughputPerS,
    standardErrorFraction: standardError,
    effectiveSampleCount,
    frequencyStepMHz: quantumOf(frequencyMHz) ?? 0,
  };
}
