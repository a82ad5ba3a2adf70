import { orderStatistic } from '../../numerics/order-statistic.js';
import { quantumOf } from '../../runs/quantum.js';
import type { FitRecord } from './fit-record.js';

/** Residuals farther than this many robust standard deviations from their neighbours' median are spikes. */
const SPIKE_LIMIT = 8;
/** Neighbours on each side that a sample is held against. */
const NEIGHBOURS = 4;
/** Factor from the median absolute deviation to the standard deviation of a normal distribution. */
const MAD_TO_STANDARD_DEVIATION = 1.4826;

/**
 * Samples that a reading error, not the cooler, explains: isolated departures of a first fit's residuals from
 * their neighbours (Hampel identifier [Hampel1974]). They get no weight in the fit; the run keeps them.
 *
 * @returns for each sample of the record 1, or 0 where it is a spike
 */
export function spikeMask(record: FitRecord, residualsK: Float64Array): Float64Array {
  const mask = new Float64Array(residualsK.length).fill(1);
  // Where a coarse sensor rests on one step most changes are 0, and a reading of the next step is no spike.
  const roundingK = record.runs.map((run) => (quantumOf(run.temperatureC) ?? 0) / Math.sqrt(12));
  for (const { runIndex, offset, stepS } of record.pieces) {
    const residuals = residualsK.subarray(offset, offset + stepS.length);
    const changes = new Float64Array(residuals.length - 1);
    for (let i = 0; i < changes.length; i++) changes[i] = Math.abs(residuals[i + 1] - residuals[i]);
    const scaleK = (MAD_TO_STANDARD_DEVIATION * orderStatistic(changes, changes.length >> 1)) / Math.SQRT2;
    const limitK = SPIKE_LIMIT * Math.max(scaleK, roundingK[runIndex], LEAST_SCALE_K);
    for (let i = 0; i < residuals.length; i++) {
      // Most samples are near their predecessor: the median is computed only where one is not.
      const before = i > 0 ? Math.abs(residuals[i] - residuals[i - 1]) : 0;
      const after = i + 1 < residuals.length ? Math.abs(residuals[i] - residuals[i + 1]) : 0;
      if (before <= limitK / 2 && after <= limitK / 2 && mask[offset + Math.max(0, i - 1)] === 1) continue;
      const near = residuals.slice(Math.max(0, i - NEIGHBOURS), i + NEIGHBOURS + 1).sort();
      if (Math.abs(residuals[i] - near[near.length >> 1]) > limitK) mask[offset + i] = 0;
    }
  }
  return mask;
}

/** Noise is never taken as less than this, K. */
const LEAST_SCALE_K = 0.1;
