/** Quantiles of the quality checks come from at most this many values, spread evenly over the run. */
const SPREAD_SAMPLE_COUNT = 8192;

/**
 * At most 8192 of the values `at(0) … at(count - 1)`, spread evenly over the run and sorted. A quantile of these
 * is off by about 0.5 % in rank at most, which no check here is sensitive to, and a log of a million lines stays
 * cheap to check.
 */
export function spreadSample(count: number, at: (index: number) => number): Float64Array {
  const size = Math.min(Math.max(count, 0), SPREAD_SAMPLE_COUNT);
  const sample = new Float64Array(size);
  for (let k = 0; k < size; k++) sample[k] = at(Math.floor((k * count) / size));
  return sample.sort();
}

/** The value at this rank, 0 to 1, of sorted values; the nearest one, not interpolated. */
export function atRank(sorted: Float64Array, rank: number): number {
  return sorted[Math.min(sorted.length - 1, Math.floor(rank * sorted.length))] ?? Number.NaN;
}
