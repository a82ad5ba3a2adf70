/** Means over consecutive blocks of nearly equal sample counts; block k covers samples edges[k] … edges[k + 1] − 1. */
export interface Blocks {
  readonly edges: Int32Array;
  readonly count: number;
}

/** Divides the samples startIndex … endIndex − 1 into at most `wantedCount` blocks, each of at least one sample. */
export function blocksOf(startIndex: number, endIndex: number, wantedCount: number): Blocks {
  const sampleCount = endIndex - startIndex;
  const count = Math.max(1, Math.min(Math.floor(wantedCount), sampleCount));
  const edges = new Int32Array(count + 1);
  for (let k = 0; k <= count; k++) edges[k] = startIndex + Math.floor((k * sampleCount) / count);
  return { edges, count };
}

/** Mean of each block. */
export function blockMeans(values: ArrayLike<number>, { edges, count }: Blocks): Float64Array {
  const means = new Float64Array(count);
  for (let k = 0; k < count; k++) means[k] = meanOf(values, edges[k], edges[k + 1]);
  return means;
}

/** Mean of the samples startIndex … endIndex − 1, of which there is at least one. */
export function meanOf(values: ArrayLike<number>, startIndex: number, endIndex: number): number {
  let sum = 0;
  for (let i = startIndex; i < endIndex; i++) sum += values[i];
  return sum / (endIndex - startIndex);
}

/** Smallest and largest of a non-empty list. */
export function rangeOf(values: ArrayLike<number>): { readonly low: number; readonly high: number } {
  let low = values[0];
  let high = low;
  for (let i = 1; i < values.length; i++) {
    if (values[i] < low) low = values[i];
    if (values[i] > high) high = values[i];
  }
  return { low, high };
}
