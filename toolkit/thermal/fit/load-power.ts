import { quantileOf } from '../../numerics/order-statistic.js';
import type { Run } from '../../runs/run.js';

/** The power while under load: above half of the run's highest sustained power, W. */
function loadedPowersW(run: Run): Float64Array {
  const highest = quantileOf(run.powerW, 0.95);
  return run.powerW.filter((power) => power >= highest / 2);
}

/** Low and high level of the power while under load, W: a run of two load steps holds two powers. */
export function loadLevelsOf(run: Run): number[] {
  const loaded = loadedPowersW(run);
  return loaded.length === 0 ? [] : [quantileOf(loaded, 0.1), quantileOf(loaded, 0.9)];
}

/** Mean package power while the processor is under load, W. */
export function meanLoadPowerW(run: Run): number {
  const loaded = loadedPowersW(run);
  return loaded.reduce((sum, power) => sum + power, 0) / Math.max(1, loaded.length);
}

/** What counts as the tested power of a run, W: a bit above the middle of its load; spikes and idle are not tested. */
export function testedLoadW(run: Run): number {
  const loaded = loadedPowersW(run);
  return loaded.length === 0 ? 0 : quantileOf(loaded, 0.6);
}
