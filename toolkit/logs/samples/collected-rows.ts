import type { TimeCells } from '../cells/time-cells.js';
import type { CollectedColumn } from './collected-column.js';
import type { LeftOutRows } from './left-out-rows.js';
import type { SampleStore } from './sample-store.js';

/** All rows of a log, as they were taken. */
export interface CollectedRows {
  /** The time first. */
  readonly columns: readonly CollectedColumn[];
  /** The values of these columns, in the same order. */
  readonly store: SampleStore;
  readonly leftOut: LeftOutRows;
  readonly time: TimeCells;
  readonly decimal: '.' | ',';
  /** Rows of the log, blank lines not counted. */
  readonly rowCount: number;
}
