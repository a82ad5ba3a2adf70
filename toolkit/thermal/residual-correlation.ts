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

/** Below this the empirical autocorrelation is taken as noise and the sum ends. */
const NEGLIGIBLE_CORRELATION = 0.05;

/**
 * Integrated autocorrelation of standardised residuals, pooled over stretches: 1 + 2 Σ ρ(l) up to the first
 * negligible lag (initial positive sequence [Geyer1992]).
 *
 * @param stretches - residuals of each uninterrupted stretch, K, with the index of its run
 * @param runCount - number of runs
 */
export function residualNoise(
  stretches: readonly { readonly runIndex: number; readonly residualsK: Float64Array }[],
  runCount: number,
): ResidualNoise {
  const squares = new Float64Array(runCount);
  const counts = new Float64Array(runCount);
  for (const { runIndex, residualsK } of stretches) {
    for (const residual of residualsK) squares[runIndex] += residual * residual;
    counts[runIndex] += residualsK.length;
  }
  const runRmsK = Array.from(squares, (sum, j) => Math.sqrt(sum / Math.max(1, counts[j])));
  const sampleCount = counts.reduce((sum, count) => sum + count, 0);
  const blockLength = Math.ceil(sampleCount / MOST_POINTS);
  const blocks = stretches.map(({ runIndex, residualsK }) =>
    blockMeans(residualsK, blockLength, runRmsK[runIndex] || 1),
  );

  const points = blocks.reduce((sum, block) => sum + block.length, 0);
  const variance = lagProduct(blocks, 0) / points;
  if (!(variance > 0)) return { runRmsK, samplesPerIndependentSample: 1 };
  const longest = Math.max(...blocks.map((block) => block.length));
  let integrated = 1;
  for (let lag = 1; lag < longest / 2; lag++) {
    const correlation = lagProduct(blocks, lag) / points / variance;
    if (correlation < NEGLIGIBLE_CORRELATION) break;
    integrated += 2 * correlation;
  }
  return { runRmsK, samplesPerIndependentSample: Math.max(1, blockLength * variance * integrated) };
}

function blockMeans(values: Float64Array, blockLength: number, scale: number): Float64Array {
  const means = new Float64Array(Math.max(1, Math.floor(values.length / blockLength)));
  for (let b = 0; b < means.length; b++) {
    let sum = 0;
    const end = Math.min(values.length, (b + 1) * blockLength);
    for (let i = b * blockLength; i < end; i++) sum += values[i];
    means[b] = sum / Math.max(1, end - b * blockLength) / scale;
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
