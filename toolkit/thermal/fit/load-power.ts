import { quantileOf } from '../../numerics/order-statistic.js';
import type { Run } from '../../runs/run.js';

/** Low and high level of the power while under load, W: a run of two load steps holds two powers. */
export function loadLevelsOf(run: Run): number[] {
  const highest = quantileOf(run.powerW, 0.95);
  const loaded = run.powerW.filter((power) => power >= highest / 2);
  return loaded.length === 0 ? [] : [quantileOf(loaded, 0.1), quantileOf(loaded, 0.9)];
}

/** Mean package power while the processor is under load: above half of the run's highest sustained power, W. */
export function meanLoadPowerW(run: Run): number {
  const highest = quantileOf(run.powerW, 0.95);
  let sum = 0;
  let count = 0;
  for (const power of run.powerW) {
    if (power < highest / 2) continue;
    sum += power;
    count++;
  }
  return sum / Math.max(1, count);
}
