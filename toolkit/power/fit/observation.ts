import type { PointLimit } from '../power-curve.js';

/** Core voltage of one average. */
export interface ObservedVoltage {
  readonly voltageV: number;
  /** Of the average, from sampling and rounding, V². */
  readonly variance: number;
  /** True where it was set by hand for this point, so that power is balanced at this voltage and not at the curve's. */
  readonly setByHand: boolean;
}

/** One average of power, temperature and frequency: a time bin of a load segment, or a steady point. */
export interface Observation {
  readonly powerW: number;
  readonly temperatureC: number;
  readonly frequencyMHz: number;
  /** Variance of the frequency's average from sampling and rounding, MHz². */
  readonly frequencyVariance: number;
  /** Variance of the average power, W². */
  readonly powerVariance: number;
  /** Variance of the average temperature, K². */
  readonly temperatureVariance: number;
  /** Variance of the frequency that all averages of the segment share, MHz². */
  readonly segmentVariance?: number;
  readonly voltage?: ObservedVoltage;
  /** Voltage offset in force, mV; 0 for the maker's voltages. */
  readonly voltageOffsetMv: number;
  /** Which segment or point it belongs to, counted from 0; neighbours in time stand next to each other. */
  readonly segment: number;
  readonly sampleCount: number;
  readonly limitedBy: PointLimit;
}

/** Powers closer than this ratio are one level. */
const LEVEL_RATIO = 1.05;

/** A level needs this many samples, unless it is all there is of a point. */
const LEVEL_SAMPLES = 10;

/**
 * The distinct power levels among observations, W, ascending: means of groups that span at most 5 %.
 *
 * @param observations - in any order
 */
export function powerLevelsW(observations: readonly Observation[]): number[] {
  const sorted = [...observations].sort((a, b) => a.powerW - b.powerW);
  const levels: { lowW: number; sumW: number; sampleCount: number; wholePoints: boolean }[] = [];
  for (const { powerW, sampleCount } of sorted) {
    let level = levels.at(-1);
    if (level === undefined || powerW > LEVEL_RATIO * level.lowW) {
      level = { lowW: powerW, sumW: 0, sampleCount: 0, wholePoints: true };
      levels.push(level);
    }
    level.sumW += powerW * sampleCount;
    level.sampleCount += sampleCount;
    if (sampleCount > 1) level.wholePoints = false;
  }
  return levels
    .filter((level) => level.wholePoints || level.sampleCount >= LEVEL_SAMPLES)
    .map((level) => level.sumW / level.sampleCount);
}
