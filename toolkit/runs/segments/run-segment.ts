/** What kept the power of a load segment from rising further. */
export type LimitedBy = 'cap' | 'temperature' | 'frequency' | 'demand';

/** What every segment of a run has; means are over its samples. */
export interface SegmentSpan {
  /** Index of its first sample. */
  readonly startIndex: number;
  /** Index one past its last sample, as in `slice`. */
  readonly endIndex: number;
  /** Time of its first sample, s. */
  readonly startS: number;
  /** Time of its last sample, s. */
  readonly endS: number;
  readonly meanPowerW: number;
  readonly meanTemperatureC: number;
  /** Where frequency was logged. */
  readonly meanFrequencyMHz?: number;
  /** Why it was classed so, one sentence with numbers and units. */
  readonly reason: string;
}

/** A stretch without load: before any load, or after it without cooling, it is idle; after load it cools down. */
export interface QuietSegment extends SegmentSpan {
  readonly kind: 'idle' | 'cool-down';
}

/** A stretch under load, held at its power by one thing. */
export interface LoadSegment extends SegmentSpan {
  readonly kind: 'load';
  readonly limitedBy: LimitedBy;
}

/** A part of a run. */
export type RunSegment = QuietSegment | LoadSegment;
