/** A line ready to draw: `null` breaks it. */
export interface DrawnLine {
  readonly x: readonly number[];
  readonly y: readonly (number | null)[];
}

/**
 * A long series as a light line that looks the same: in each of many equal spans of `x` only the first, lowest,
 * highest and last points are kept, so that no peak is lost and the line between spans is unchanged. The line is broken
 * where samples are missing: at a step more than ten times the usual one.
 *
 * @param x - increasing positions
 * @param y - values; not finite: a break
 * @param mostPoints - about how many points to keep
 */
export function thinned(x: ArrayLike<number>, y: ArrayLike<number>, mostPoints = 4000): DrawnLine {
  const count = Math.min(x.length, y.length);
  const outX: number[] = [];
  const outY: (number | null)[] = [];
  if (count === 0) return { x: outX, y: outY };
  const breakAt = 10 * usualStep(x, count);
  const spanCount = count <= mostPoints ? count : Math.max(1, Math.floor(mostPoints / 4));
  const start = x[0];
  const length = x[count - 1] - start;
  const spanOf = (index: number): number =>
    count <= mostPoints
      ? index
      : Math.min(spanCount - 1, Math.floor(((x[index] - start) / length) * spanCount));

  let from = 0;
  while (from < count) {
    const span = spanOf(from);
    let lowest = from;
    let highest = from;
    let to = from;
    while (
      to + 1 < count &&
      spanOf(to + 1) === span &&
      x[to + 1] - x[to] <= breakAt &&
      Number.isFinite(y[to + 1]) === Number.isFinite(y[from])
    ) {
      to++;
      if (y[to] < y[lowest]) lowest = to;
      if (y[to] > y[highest]) highest = to;
    }
    let last = -1;
    for (const index of [from, lowest, highest, to].sort((a, b) => a - b)) {
      if (index === last) continue;
      last = index;
      outX.push(light(x[index]));
      outY.push(Number.isFinite(y[index]) ? light(y[index]) : null);
    }
    if (to + 1 < count && x[to + 1] - x[to] > breakAt) {
      outX.push(light((x[to] + x[to + 1]) / 2));
      outY.push(null);
    }
    from = to + 1;
  }
  return { x: outX, y: outY };
}

/** A number with no more digits than a picture can show, so that the file stays small. */
export function light(value: number): number {
  return Number(value.toPrecision(7));
}

/** Median step, from at most 2,001 of them spread over the whole series. */
function usualStep(x: ArrayLike<number>, count: number): number {
  if (count < 3) return Number.POSITIVE_INFINITY;
  const stride = Math.max(1, Math.floor((count - 1) / 2001));
  const steps: number[] = [];
  for (let i = 1; i < count; i += stride) steps.push(x[i] - x[i - 1]);
  steps.sort((a, b) => a - b);
  return steps[Math.floor(steps.length / 2)];
}
