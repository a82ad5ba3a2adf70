import type { BlockMeans } from './block-means.js';

/**
 * Makes the samples that were kept so far into fewer, in place. Rows that `block` still waits for more of stay in it.
 *
 * @param columns - the values of each role in the order of the block's roles, the time first
 * @param lineNumbers - where each sample stands in the log
 * @param count - how many samples there are
 * @returns how many are left
 */
export function mergeNeighbours(
  columns: readonly Float64Array[],
  lineNumbers: Uint32Array,
  count: number,
  block: BlockMeans,
): number {
  const values = new Float64Array(columns.length);
  const means = new Float64Array(columns.length);
  let keptCount = 0;
  for (let i = 0; i < count; i++) {
    for (let k = 0; k < values.length; k++) values[k] = columns[k][i];
    if (block.isOver(values[0])) {
      const { line } = block;
      block.close(means);
      for (let k = 0; k < means.length; k++) columns[k][keptCount] = means[k];
      lineNumbers[keptCount] = line;
      keptCount++;
    }
    block.add(values, lineNumbers[i]);
  }
  return keptCount;
}
