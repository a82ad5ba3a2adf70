import { formatNumber } from '../numerics/format-estimate.js';

/** Ticks of a logarithmic axis, written out: 1, 10, 100 …, over fewer than three decades also 2 and 5. */
export function logTicks(range: readonly [number, number]): {
  readonly tickvals: readonly number[];
  readonly ticktext: readonly string[];
} {
  const steps = range[1] - range[0] < 3 ? [1, 2, 5] : [1];
  const tickvals: number[] = [];
  for (let decade = Math.floor(range[0]); decade <= Math.floor(range[1]); decade++) {
    for (const step of steps) {
      const value = Number((step * 10 ** decade).toPrecision(1));
      const log = Math.log10(value);
      if (log >= range[0] && log <= range[1]) tickvals.push(value);
    }
  }
  return { tickvals, ticktext: tickvals.map((value) => formatNumber(value)) };
}
