import type { Finding } from '../../runs/finding.js';
import type { ColumnRole } from '../table/column-rules.js';

/** The columns of a run as they were read, in our own units, and what was done with the rest. */
export interface CollectedSamples {
  readonly columns: Readonly<Partial<Record<ColumnRole, Float64Array>>>;
  readonly lineNumbers: Uint32Array;
  readonly findings: readonly Finding[];
  /** Rows of the log, blank lines not counted: those used and those left out. */
  readonly rowCount: number;
  /** Whether a sample is made of several rows: everything but temperatures is then a mean over the time before it. */
  readonly areMeans: boolean;
}
