/** Where a curve that rises ever more slowly bends most. */
export interface Knee {
  /** Index of the point farthest above the chord. */
  readonly index: number;
  /** Its height above the chord, both axes scaled to 0 … 1. */
  readonly heightFraction: number;
  /** First and last point whose height is at least nine tenths of that: as good a place for the knee. */
  readonly flatIndices: readonly [first: number, last: number];
}

/** A curve that rises above its chord by less is as good as straight. */
const STRAIGHT_FRACTION = 0.02;
const AS_HIGH = 0.9;

/**
 * The knee of a curve: the point farthest above the straight line between its ends, both axes scaled to their range
 * [Satopaa2011, without its smoothing and its sensitivity]. It depends on the range: other ends, another knee.
 *
 * @param x - increasing; length n >= 3
 * @param y - length n
 * @returns `undefined` where the curve does not rise, or is as good as straight
 */
export function kneeOf(x: ArrayLike<number>, y: ArrayLike<number>): Knee | undefined {
  const last = x.length - 1;
  if (last < 2 || !(y[last] > y[0])) return undefined;
  const heights = Array.from({ length: x.length }, (_, i) => {
    return (y[i] - y[0]) / (y[last] - y[0]) - (x[i] - x[0]) / (x[last] - x[0]);
  });
  const heightFraction = Math.max(...heights);
  if (heightFraction < STRAIGHT_FRACTION) return undefined;
  const isHigh = (height: number): boolean => height >= AS_HIGH * heightFraction;
  return {
    index: heights.indexOf(heightFraction),
    heightFraction,
    flatIndices: [heights.findIndex(isHigh), heights.findLastIndex(isHigh)],
  };
}
