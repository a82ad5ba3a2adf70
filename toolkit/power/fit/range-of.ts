/** Smallest and largest of a non-empty list. */
export function rangeOf(values: readonly number[]): readonly [low: number, high: number] {
  return [Math.min(...values), Math.max(...values)];
}
