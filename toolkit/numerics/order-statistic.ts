import { createWorkspace } from './workspace.js';

/**
 * The value that would stand at place `rank` (0-based) if the values from place `from` to before `to` were sorted.
 *
 * Quickselect with the median of three as pivot: O(n) on average. The values are reordered in place, smaller ones
 * before the place and larger ones behind it: a further place needs only the part it lies in.
 */
export function orderStatistic(
  values: Float64Array,
  rank: number,
  from: number = 0,
  to: number = values.length,
): number {
  let left = from;
  let right = to - 1;
  while (left < right) {
    const middle = (left + right) >>> 1;
    const a = values[left];
    const b = values[middle];
    const c = values[right];
    const pivot = Math.max(Math.min(a, b), Math.min(Math.max(a, b), c)); // median of the three
    let i = left;
    let j = right;
    while (i <= j) {
      while (values[i] < pivot) i++;
      while (values[j] > pivot) j--;
      if (i <= j) {
        const held = values[i];
        values[i++] = values[j];
        values[j--] = held;
      }
    }
    if (rank <= j) right = j;
    else if (rank >= i) left = i;
    else break;
  }
  return values[rank];
}

const workspace = createWorkspace();

/** Quantile of values that are left as they are: the one at rank `share` of the way from the lowest to the highest. */
export function quantileOf(values: ArrayLike<number>, share: number): number {
  const copy = workspace.take(values.length);
  copy.set(values);
  workspace.release();
  return orderStatistic(copy, Math.round(share * (copy.length - 1)));
}
