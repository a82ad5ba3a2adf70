import type { DelimitedRecord } from '../cells/delimited-record.js';
import { KnownMinute } from '../cells/known-minute.js';
import type { DateOrder } from '../cells/local-date.js';
import { isMissingText, numberFromBytes } from '../cells/number-cell.js';
import { PlainRows } from '../cells/plain-rows.js';
import { TimeCells } from '../cells/time-cells.js';
import type { RoleColumn } from '../table/column-rules.js';
import { type CollectedColumn, combine, copyOfColumn, newColumn } from './collected-column.js';
import type { CollectedRows } from './collected-rows.js';
import type { CollectedSamples } from './collected-samples.js';
import { finishSamples } from './finish-samples.js';
import { LeftOutRows, type TableHead } from './left-out-rows.js';
import { note } from './row-faults.js';
import { SampleStore, type StoreOptions } from './sample-store.js';
import { type NumberSpelling, UnusualCells } from './unusual-cells.js';

/** What the collector is told about the table. */
export interface CollectorOptions extends TableHead, NumberSpelling, StoreOptions {
  readonly dateOrder?: DateOrder;
}

/** Rows that have shown how long the last cell usually is, before a shorter one at the end counts as cut off. */
const ROWS_THAT_SHOW_LENGTH = 5;

/** What no cell can hold: the row is left out. */
const ROW_LEFT_OUT = Number.NEGATIVE_INFINITY;

/**
 * Takes the rows of a log one by one and keeps the columns that have a role.
 *
 * A row is used if its time, temperature and power can be read. If one of them is missing or is no number, or if
 * the row has another number of cells than the header, the row is left out. A missing or unreadable value of any
 * other column does not cost the row: it is interpolated over time from its neighbours. Both are counted in
 * findings, so that rows in = rows used + rows reported.
 */
export class SampleCollector {
  private readonly columns: readonly CollectedColumn[];
  private readonly store: SampleStore;
  private readonly leftOut: LeftOutRows;
  private readonly time: TimeCells;
  private readonly minute = new KnownMinute();
  private readonly unusual: UnusualCells;
  private readonly width: number;
  private readonly isLastCellUsed: boolean;
  /** Whether two columns are read from one cell. */
  private readonly isCellShared: boolean;
  private readonly decimalByte: number;
  private rowCount = 0;
  private shortestLastCell = Number.POSITIVE_INFINITY;

  constructor(
    columns: readonly RoleColumn[],
    private readonly options: CollectorOptions,
  ) {
    const { headers, decimal, dateOrder } = options;
    this.columns = columns.map(newColumn);
    this.time = new TimeCells(decimal, dateOrder);
    this.unusual = new UnusualCells(options, this.time, this.minute);
    this.store = new SampleStore(columns, options, this.time);
    this.leftOut = new LeftOutRows(this.columns, options);
    this.width = headers.length;
    this.decimalByte = decimal.charCodeAt(0);
    const cells = columns.flatMap(({ index, combined, date }) => [
      ...(combined?.indices ?? [index]),
      ...(date === undefined ? [] : [date.index]),
    ]);
    this.isLastCellUsed = cells.includes(this.width - 1);
    this.isCellShared = new Set(cells).size < cells.length;
  }

  /**
   * The columns, converted to our own units, with the findings. No row may come afterwards.
   *
   * @throws LogFormatError as `finishSamples`
   */
  finish(): CollectedSamples {
    return finishSamples(this.rows());
  }

  /**
   * What has come so far, as `finish` would give it; more may come afterwards.
   *
   * @throws LogFormatError as `finishSamples`
   */
  snapshot(): CollectedSamples {
    const columns = this.columns.map(copyOfColumn);
    const [store, leftOut] = [this.store.clone(), this.leftOut.clone(columns)];
    return finishSamples({ ...this.rows(), columns, store, leftOut });
  }

  private rows(): CollectedRows {
    const { columns, store, leftOut, time, rowCount } = this;
    return { columns, store, leftOut, time, rowCount, decimal: this.options.decimal };
  }

  /** Number of samples so far. */
  get sampleCount(): number {
    return this.store.count;
  }

  /** What reads plain rows for this table; undefined until a row has shown how times are written. */
  plainRows(delimiterByte: number): PlainRows | undefined {
    const { form } = this.time;
    if (form === undefined || this.isCellShared) return undefined;
    const { date } = this.columns[0];
    const cells = this.columns.flatMap(({ index, combined, floor }) =>
      (combined?.indices ?? [index]).map((cell) => ({ index: cell, floor })),
    );
    return new PlainRows(cells, {
      width: this.width,
      delimiterByte,
      decimalByte: this.decimalByte,
      ...(form === 'number' ? {} : { minute: this.minute }),
      ...(date === undefined ? {} : { dateIndex: date.index }),
    });
  }

  /** Takes what `plainRows` has read; the first of the rows stands on `line`. */
  takePlainRows({ count, values, cellCount, shortestLastCell }: PlainRows, line: number): void {
    const { store, columns } = this;
    this.rowCount += count;
    if (this.isLastCellUsed && shortestLastCell < this.shortestLastCell)
      this.shortestLastCell = shortestLastCell;
    this.leftOut.passGoodRow();
    for (let taken = 0; taken < count; ) {
      const at = store.openRow();
      const next = Math.min(count - taken, store.openRowCount);
      let from = taken * cellCount;
      for (let k = 0; k < columns.length; k++) {
        const { combined } = columns[k];
        const kept = store.columns[k];
        const width = combined?.indices.length ?? 1;
        for (let row = 0; row < next; row++) {
          const cell = from + row * cellCount;
          kept[at + row] =
            combined === undefined ? values[cell] : combine(combined.combine, values, cell, cell + width);
        }
        from += width;
      }
      store.keep(next, line + taken);
      taken += next;
    }
    if (columns[0].date !== undefined) this.time.passOnSameDay(values[(count - 1) * cellCount]);
  }

  /** Takes one record that begins on `line`; `isCut` where the text ends without a line end behind it. */
  take(bytes: Uint8Array, record: DelimitedRecord, line: number, isCut = false): void {
    const { columns, store, width } = this;
    const { starts, ends } = record;
    this.rowCount++;
    if (record.count !== width && !hasOnlyBlanksBeyond(width, bytes, record)) {
      if (isCut && record.count < width) this.leftOut.takeNoSample('half-written', line);
      else this.leftOut.takeWrongWidth(bytes, record, line);
      return;
    }
    if (this.isLastCellUsed) {
      const length = ends[width - 1] - starts[width - 1];
      if (isCut && length < this.shortestLastCell && store.count >= ROWS_THAT_SHOW_LENGTH) {
        this.leftOut.takeNoSample('half-written', line);
        return;
      }
      if (length < this.shortestLastCell) this.shortestLastCell = length;
    }
    const row = store.openRow();
    const kept = store.columns;
    for (let k = 0; k < columns.length; k++) {
      const column = columns[k];
      const cell = column.index;
      let value = numberFromBytes(bytes, starts[cell], ends[cell], this.decimalByte);
      // Written so that NaN, which stands for "not plain", takes the long way too.
      if (!(value >= column.floor) || column.isIndirect) {
        value = this.readRarely(k, bytes, record, line);
        if (value === ROW_LEFT_OUT) return;
      }
      kept[k][row] = value;
    }
    this.leftOut.passGoodRow();
    store.keep(1, line);
  }

  /**
   * The value of a column whose cell is no plain number: NaN where an optional one has none, `ROW_LEFT_OUT` where a required
   * one has none. Apart from `take`, which stays short and fast without it.
   */
  private readRarely(k: number, bytes: Uint8Array, record: DelimitedRecord, line: number): number {
    const column = this.columns[k];
    const value = this.unusual.read(column, bytes, record, line);
    if (!Number.isNaN(value)) return value;
    if (column.required && this.leftOut.takeIfNoSample(bytes, record, line)) return ROW_LEFT_OUT;
    const example = this.unusual.faultyText(column, bytes, record);
    const kind = isMissingText(example) ? 'missing' : 'unreadable';
    if (column.required) {
      this.leftOut.takeBad({ line, example, columnAt: k, kind });
      return ROW_LEFT_OUT;
    }
    note(column[kind], line, example);
    return value;
  }

  /** Leaves out a record with NUL bytes in it. */
  takeNuls(line: number): void {
    this.rowCount++;
    this.leftOut.takeNoSample('nul-bytes', line);
  }

  /** Leaves out a record whose end never came. */
  takeHalf(line: number): void {
    this.rowCount++;
    this.leftOut.takeNoSample('half-written', line);
  }
}

/** Whether a row is wider than the header by blank cells only, as a delimiter at the end of a line makes it. */
function hasOnlyBlanksBeyond(width: number, bytes: Uint8Array, record: DelimitedRecord): boolean {
  if (record.count < width) return false;
  for (let cell = width; cell < record.count; cell++) {
    for (let i = record.starts[cell]; i < record.ends[cell]; i++) {
      if (bytes[i] !== 32 && bytes[i] !== 9) return false;
    }
  }
  return true;
}
