/**
 * Something a person should know about the data or a result: what was seen, what was done, what to do.
 *
 * `note` informs, `warning` may change the answer, `serious` means the answer should not be used as it stands.
 */
export interface Finding {
  /** Stable name for programs, in kebab-case: `gap`, `stuck-sensor`, `held-by-temperature` … */
  readonly code: string;
  readonly severity: 'note' | 'warning' | 'serious';
  /** What was seen and what was done with the data, one or two sentences with numbers and units. */
  readonly message: string;
  /** What to do about it, as it goes on behind a semicolon: a small letter first and no stop at the end. */
  readonly remedy?: string;
  /** How many rows, samples or events are concerned. */
  readonly count?: number;
  /** Line numbers in the log, 1-based; at most the first 20. */
  readonly lines?: readonly number[];
  /** Where in the run, s since its start. */
  readonly rangeS?: readonly [startS: number, endS: number];
}
