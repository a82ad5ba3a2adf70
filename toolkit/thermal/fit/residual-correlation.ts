import type { FitRecord } from './fit-record.js';

/** What the residuals of a fit say about the noise. */
export interface ResidualNoise {
  /** Root mean square of each run's residuals, K. */
  readonly runRmsK: readonly number[];
  /**
   * By how much correlation between neighbours inflates variances: samples per independent sample, ≥ 1.
   * Computed about zero, not about each run's mean, so that a run that sits off the joint fit counts as well.
   */
  readonly samplesPerIndependentSample: number;
}

/** Longer records are averaged in blocks to about this many points, so that the cost stays linear in samples. */
const MOST_POINTS = 4000;

/**
 * Residuals below this are rounding of the log, not noise of the sensor, K. What is left of a model that fits to
 * rounding is smooth, but it is no reason to take a whole record for one sample.
 */
export const LEAST_NOISE_K: number = 1e-3;

/** Below this the empirical autocorrelation is taken as noise and the sum ends. */
const NEGLIGIBLE_CORRELATION = 0.05;

/**
 * Integrated autocorrelation of standardised residuals, pooled over the pieces of the record: 1 + 2 Σ ρ(l) up to
 * the first negligible lag (initial positive sequence [Geyer1992]).
 *
 * @param record - where each piece begins and which run it belongs to
 * @param residualsK - of all pieces, K
 * @param mask - 0 for samples to leave out, 1 otherwise
 */
export function residualNoise(
  record: FitRecord,
  residualsK: Float64Array,
  mask: Float64Array,
): ResidualNoise {
  const squares = new Float64Array(record.runs.length);
  const counts = new Float64Array(record.runs.length);
  for (const { runIndex, offset, stepS } of record.pieces) {
    for (let i = offset; i < offset + stepS.length; i++) {
      squares[runIndex] += mask[i] * residualsK[i] * residualsK[i];
      counts[runIndex] += mask[i];
    }
  }
  const runRmsK = Array.from(squares, (sum, j) => Math.sqrt(sum / Math.max(1, counts[j])));
  const scalesK = runRmsK.map((rmsK) => Math.hypot(rmsK, LEAST_NOISE_K));
  const blockLength = Math.ceil(record.sampleCount / MOST_POINTS);
  const roundingShare = (runIndex: number): number => (LEAST_NOISE_K / scalesK[runIndex]) ** 2;
  const blocks = record.pieces.map(({ runIndex, offset, stepS }) =>
    blockMeans(residualsK, mask, offset, stepS.length, blockLength, scalesK[runIndex]),
  );

  const points = blocks.reduce((sum, block) => sum + block.length, 0);
  // Rounding is white noise of its own, a small share of the variance unless there is nothing else.
  const rounding =
    blocks.reduce((sum, block, p) => sum + block.length * roundingShare(record.pieces[p].runIndex), 0) /
    (points * blockLength);
  const variance = lagProduct(blocks, 0) / points + rounding;
  const longest = Math.max(...blocks.map((block) => block.length));
  let integrated = 1;
  for (let lag = 1; lag < longest / 2; lag++) {
    const correlation = lagProduct(blocks, lag) / points / variance;
    if (correlation < NEGLIGIBLE_CORRELATION) break;
    integrated += 2 * correlation;
  }
  return { runRmsK, samplesPerIndependentSample: Math.max(1, blockLength * variance * integrated) };
}

/** Means of consecutive blocks in units of the run's noise; what is masked out counts as 0. */
function blockMeans(
  values: Float64Array,
  mask: Float64Array,
  offset: number,
  length: number,
  blockLength: number,
  scale: number,
): Float64Array {
  const means = new Float64Array(Math.max(1, Math.floor(length / blockLength)));
  for (let b = 0; b < means.length; b++) {
    const begin = offset + b * blockLength;
    const end = Math.min(offset + length, begin + blockLength);
    let sum = 0;
    for (let i = begin; i < end; i++) sum += mask[i] * values[i];
    means[b] = sum / Math.max(1, end - begin) / scale;
  }
  return means;
}

function lagProduct(blocks: readonly Float64Array[], lag: number): number {
  let sum = 0;
  for (const block of blocks) {
    for (let i = lag; i < block.length; i++) sum += block[i] * block[i - lag];
  }
  return sum;
}
