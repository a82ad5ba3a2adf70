/** A cycle, or half of one, between two reversals of a series. */
export interface RainflowCycle {
  /** Index of the reversal it begins at. */
  readonly startIndex: number;
  /** Index of the reversal its first half ends at. */
  readonly endIndex: number;
  /** 1, or 0.5 for a range that the series never closed. */
  readonly count: 0.5 | 1;
}

/**
 * Indices where a series turns: its first and last sample and every peak and valley between; of equal neighbours the
 * first. A series that never changes has one.
 */
function reversalsOf(values: ArrayLike<number>): number[] {
  const reversals: number[] = [];
  if (values.length === 0) return reversals;
  let direction = 0;
  let last = 0; // first sample of the latest level
  for (let i = 1; i < values.length; i++) {
    const change = Math.sign(values[i] - values[last]);
    if (change === 0) continue;
    if (change !== direction) reversals.push(last);
    direction = change;
    last = i;
  }
  reversals.push(last);
  return reversals;
}

/**
 * Rainflow counting of a series that happens once [ASTME1049, 5.4.4]: the range before the latest one is a cycle
 * once the latest is at least as large, half a cycle where it holds the start of the series; what is left at the end
 * are half cycles.
 */
export function rainflow(values: ArrayLike<number>): RainflowCycle[] {
  const cycles: RainflowCycle[] = [];
  const open: number[] = [];
  for (const reversal of reversalsOf(values)) {
    open.push(reversal);
    while (open.length >= 3) {
      const [a, b, c] = lastThree(open);
      if (Math.abs(values[c] - values[b]) < Math.abs(values[b] - values[a])) break;
      if (open.length === 3) {
        cycles.push({ startIndex: a, endIndex: b, count: 0.5 });
        open.shift();
      } else {
        cycles.push({ startIndex: a, endIndex: b, count: 1 });
        closeRange(open);
      }
    }
  }
  for (let i = 1; i < open.length; i++)
    cycles.push({ startIndex: open[i - 1], endIndex: open[i], count: 0.5 });
  return cycles;
}

/**
 * The same for a series that repeats without end [ASTME1049, 5.4.5]: read from its highest sample round to it again,
 * every range closes, so that all cycles are whole.
 */
export function repeatingRainflow(values: ArrayLike<number>): RainflowCycle[] {
  const length = values.length;
  let highest = 0;
  for (let i = 1; i < length; i++) if (values[i] > values[highest]) highest = i;
  const around = new Float64Array(length + 1);
  for (let i = 0; i <= length; i++) around[i] = values[(highest + i) % length];
  const cycles: RainflowCycle[] = [];
  const open: number[] = [];
  for (const reversal of reversalsOf(around)) {
    open.push(reversal);
    while (open.length >= 3) {
      const [a, b, c] = lastThree(open);
      if (Math.abs(around[c] - around[b]) < Math.abs(around[b] - around[a])) break;
      cycles.push({
        startIndex: (highest + a) % length,
        endIndex: (highest + b) % length,
        count: 1,
      });
      closeRange(open);
    }
  }
  return cycles;
}

function lastThree(open: readonly number[]): readonly [number, number, number] {
  return [open[open.length - 3], open[open.length - 2], open[open.length - 1]];
}

/** Takes the reversals of a counted range out from before the latest one. */
function closeRange(open: number[]): void {
  const latest = open[open.length - 1];
  open.length -= 2;
  open[open.length - 1] = latest;
}
