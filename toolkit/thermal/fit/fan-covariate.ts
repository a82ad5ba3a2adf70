import { quantileOf } from '../../numerics/order-statistic.js';
import type { Run } from '../../runs/run.js';
import { DISTINCT_SPEED_RATIO } from '../fan-law.js';

/** Fan speeds of some runs. */
export interface FanSpeeds {
  /** Whether every run knows its own, and none is ever at rest. */
  readonly known: boolean;
  /** Lowest and highest, without outliers; missing where none is known. */
  readonly range?: readonly [low: number, high: number];
  /** Whether the range holds more than one speed. */
  readonly varies: boolean;
  /** Geometric mean over the runs. */
  readonly referenceFanSpeedRpm: number;
  /** Speeds that differ by more than noise and were held for some share of the time. */
  readonly distinctCount: number;
}

/** A speed counts as held where at least this share of a run's samples stand within one step of it. */
const HELD_SHARE = 0.02;

/** What the runs hold of fan speed, as a column or as a constant. */
export function fanSpeedsOf(runs: readonly Run[]): FanSpeeds {
  let known = true;
  let low = Number.POSITIVE_INFINITY;
  let high = 0;
  let logSum = 0;
  const held = new Set<number>();
  for (const { fanSpeedRpm, conditions } of runs) {
    const speeds = fanSpeedRpm ?? (conditions.fanSpeedRpm === undefined ? [] : [conditions.fanSpeedRpm]);
    if (speeds.length === 0) {
      known = false;
      continue;
    }
    low = Math.min(low, quantileOf(speeds, 0.05));
    high = Math.max(high, quantileOf(speeds, 0.95));
    const counts = new Map<number, number>();
    let runLogSum = 0;
    for (let i = 0; i < speeds.length; i++) {
      if (!(speeds[i] > 0)) known = false;
      const log = Math.log(Math.max(speeds[i], Number.MIN_VALUE));
      runLogSum += log;
      const step = Math.round(log / Math.log(DISTINCT_SPEED_RATIO));
      counts.set(step, (counts.get(step) ?? 0) + 1);
    }
    logSum += runLogSum / speeds.length;
    for (const [step, count] of counts) if (count >= HELD_SHARE * speeds.length) held.add(step);
  }
  return {
    known,
    ...(high > 0 ? { range: [low, high] as const } : {}),
    varies: high > low * DISTINCT_SPEED_RATIO,
    referenceFanSpeedRpm: Math.exp(logSum / runs.length),
    // A speed at the edge of a step falls into two of them; no more can be distinct than fit into the range.
    distinctCount:
      high > 0
        ? Math.min(
            held.size,
            1 + Math.floor(Math.log(high / Math.max(low, 1)) / Math.log(DISTINCT_SPEED_RATIO)),
          )
        : 0,
  };
}
