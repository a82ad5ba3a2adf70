import type { Finding } from '../runs/finding.js';

/** One temperature cycle, or half of one. */
export interface TemperatureCycle {
  /** Between its two extremes, K. */
  readonly rangeK: number;
  /** Half-way between its two extremes, degrees Celsius. */
  readonly meanC: number;
  /** Its upper extreme, degrees Celsius. */
  readonly highestC: number;
  /** 1, or 0.5 for a range that the series never closed. */
  readonly count: 0.5 | 1;
  /** Samples of the series at its two extremes, in the order of the count. */
  readonly startIndex: number;
  readonly endIndex: number;
}

/** The cycles of a temperature series. Plain data: survives JSON. */
export interface CycleCount {
  readonly kind: 'cycle-count';
  readonly label: string;
  /** `once`: open ranges are half cycles; `repeating`: the series goes round, and all cycles are whole. */
  readonly history: 'once' | 'repeating';
  /** In the order they closed; for a series that happens once, its open ranges last. */
  readonly cycles: readonly TemperatureCycle[];
  /** Sum of their counts, half cycles as halves. */
  readonly cycleCount: number;
  /** Largest range first, rounded to whole multiples of `rangeStepK`. */
  readonly ranges: readonly { readonly rangeK: number; readonly cycleCount: number }[];
  readonly rangeStepK: number;
  /** Smaller cycles were left out, K. */
  readonly smallestRangeK: number;
  /** Sum of the counts of those left out. */
  readonly leftOutCount: number;
  /** From the first sample to the last, where times are known, s. */
  readonly durationS?: number;
  /** One sentence. */
  readonly summary: string;
  readonly findings: readonly Finding[];
}
