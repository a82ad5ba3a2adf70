import type { Finding } from '../../runs/finding.js';
import { LISTED_LINE_COUNT } from '../../runs/quality/listed-lines.js';
import type { PowerSample } from '../../runs/run.js';
import { fromOwnUnit, toOwnUnit } from '../../units/units.js';
import { cellText, type DelimitedRecord } from '../cells/delimited-record.js';
import { KnownMinute } from '../cells/known-minute.js';
import type { DateOrder } from '../cells/local-date.js';
import { hasThousands, isMissingText, numberFromBytes, numberFromText } from '../cells/number-cell.js';
import { PlainRows } from '../cells/plain-rows.js';
import { quoted } from '../cells/quoted.js';
import { TimeCells } from '../cells/time-cells.js';
import { isValueText } from '../cells/value-text.js';
import { LogFormatError, type LogIssue } from '../log-format-error.js';
import { recognisedCount } from '../table/column-candidates.js';
import { type ColumnRole, type CombineRule, ROLE_RULES, type RoleColumn } from '../table/column-rules.js';
import { assumedUnitFindings, median, steps } from '../table/usual-units.js';
import { BlockMeans } from './block-means.js';
import { undoClockChanges } from './clock-changes.js';
import { interpolateMissing } from './interpolate-missing.js';
import { mergeNeighbours } from './merge-neighbours.js';
import { unwrapMidnights } from './midnight.js';
import {
  copyOfFault,
  type Fault,
  NO_SAMPLE_WORDS,
  NOTED_FRACTION,
  type NoSample,
  newFault,
  note,
  others,
  severityOfLoss,
} from './row-faults.js';

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

interface CollectedColumn extends RoleColumn {
  readonly required: boolean;
  /** Lowest value that is physically possible, in the unit of the log. */
  readonly floor: number;
  /** Whether a plain number in the cell is not yet the value: several cells make one, or times are texts. */
  isIndirect: boolean;
  values: Float64Array;
  readonly missing: Fault;
  readonly unreadable: Fault;
  /** Cells with thousands set apart. */
  readonly grouped: Fault;
}

/** What the collector is told about the table. */
export interface CollectorOptions {
  /** The headers; as many cells has every row. */
  readonly headers: readonly string[];
  /** The row of units, to know it when it comes again. */
  readonly unitsCells?: readonly string[];
  readonly decimal: '.' | ',';
  /** Whether the decimal mark is known, so that the other mark can only part the thousands. */
  readonly isDecimalProven: boolean;
  readonly dateOrder?: DateOrder;
  /** How many rows to make room for. */
  readonly expectedRows: number;
  /**
   * Makes one sample of all rows within this time, s; 0 keeps every row. Default: every row is a sample as long as their
   * numbers keep to the budget.
   */
  readonly blockS?: number;
  /** Bytes that the numbers of a log may take where `blockS` is not given. Default `NUMBERS_BUDGET_BYTES`. */
  readonly budgetBytes?: number;
  readonly powerSample: PowerSample;
}

/**
 * Bytes that the numbers of a log may take where nobody asked for more: 4.4 million samples of eight columns, 10.7 million
 * of three. With what reading itself takes, a log of any length stays within 600 MB.
 */
export const NUMBERS_BUDGET_BYTES = 300e6;

/** Rows with an interval between them that is longer than this many samples' are not merged: nothing was logged there. */
const GAP_IN_SAMPLES = 3;

/** Merging that leaves more of the samples than this has not helped: time hardly ever steps ahead. */
const MOST_LEFT_FRACTION = 0.75;

/** Samples farther apart than this may hide how fast a die answers, s. */
const COARSE_S = 1;

/** Bad rows at the end that may be a footer; more than this are no footer. */
const LONGEST_FOOTER = 50;

/** Rows that have shown how long the last cell usually is, before a shorter one at the end counts as cut off. */
const ROWS_THAT_SHOW_LENGTH = 5;

/** More samples than this are far more than the physics needs. */
const NOTED_SAMPLES = 4_000_000;

/** What no cell can hold: the row is left out. */
const ROW_LEFT_OUT = Number.NEGATIVE_INFINITY;

/** A bad row that waits for a good one behind it; without one it is footer. */
interface PendingRow {
  readonly line: number;
  readonly example: string;
  /** Which column is at fault; -1 for the number of cells. */
  readonly columnAt: number;
  readonly kind: 'missing' | 'unreadable';
}

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
  private readonly time: TimeCells;
  private readonly minute = new KnownMinute();
  private readonly width: number;
  private readonly isLastCellUsed: boolean;
  /** Whether two columns are read from one cell. */
  private readonly isCellShared: boolean;
  private readonly decimalByte: number;
  private lineNumbers: Uint32Array;
  private capacity: number;
  private count = 0;
  private rowCount = 0;
  private shortestLastCell = Number.POSITIVE_INFINITY;
  private readonly wrongWidth: Fault;
  private readonly noSamples: Readonly<Record<NoSample, Fault>>;
  private readonly footer: Fault = newFault();
  private pending: PendingRow[] = [];
  /** The rows of the stretch that is not over yet, where stretches are averaged. */
  private block: BlockMeans | undefined;
  private readonly blockValues: Float64Array;
  private isAveraging: boolean;
  /** From so many samples on neighbours are merged rather than more room made. */
  private readonly mostSamples: number;
  /** Rows in a sample where neighbours were merged, and the usual time between two of them in the unit of the log. */
  private rowsPerSample = 1;
  private rowStep = Number.NaN;
  /** Rows that samples were made of, where neighbours were merged. */
  private mergedRowCount = 0;

  /** @param from - a collector whose state is copied */
  constructor(
    columns: readonly RoleColumn[],
    private readonly options: CollectorOptions,
    from?: SampleCollector,
  ) {
    this.width = options.headers.length;
    const cells = columns.flatMap(({ index, combined, date }) => [
      ...(combined?.indices ?? [index]),
      ...(date === undefined ? [] : [date.index]),
    ]);
    this.isLastCellUsed = cells.includes(this.width - 1);
    this.isCellShared = new Set(cells).size < cells.length;
    this.decimalByte = options.decimal.charCodeAt(0);
    this.blockValues = new Float64Array(columns.length);
    const { blockS, budgetBytes = NUMBERS_BUDGET_BYTES } = options;
    // Even, so that merging two by two leaves none over.
    const affordable = 2 * Math.floor(budgetBytes / bytesPerSample(columns.length) / 2);
    this.mostSamples = blockS === undefined ? Math.max(2, affordable) : Number.POSITIVE_INFINITY;
    this.isAveraging = blockS !== undefined && blockS > 0;
    this.wrongWidth = copyOfFault(from?.wrongWidth ?? newFault());
    this.noSamples = {
      'repeated-header': copyOfFault(from?.noSamples['repeated-header'] ?? newFault()),
      remark: copyOfFault(from?.noSamples.remark ?? newFault()),
      'nul-bytes': copyOfFault(from?.noSamples['nul-bytes'] ?? newFault()),
      'half-written': copyOfFault(from?.noSamples['half-written'] ?? newFault()),
    };
    if (from !== undefined) {
      this.capacity = from.count + 1;
      this.count = from.count;
      this.rowCount = from.rowCount;
      this.shortestLastCell = from.shortestLastCell;
      this.time = from.time.clone();
      this.block = from.block?.clone();
      this.isAveraging = from.isAveraging;
      this.rowsPerSample = from.rowsPerSample;
      this.rowStep = from.rowStep;
      this.mergedRowCount = from.mergedRowCount;
      this.lineNumbers = from.lineNumbers.slice(0, this.capacity);
      this.columns = from.columns.map((column) => ({
        ...column,
        values: column.values.slice(0, this.capacity),
        missing: copyOfFault(column.missing),
        unreadable: copyOfFault(column.unreadable),
        grouped: copyOfFault(column.grouped),
      }));
      this.pending = [...from.pending];
      return;
    }
    // A block ends every so many seconds; how many rows that makes is not known beforehand.
    this.capacity = this.isAveraging
      ? 1024
      : Math.min(this.mostSamples, Math.max(16, Math.ceil(options.expectedRows)));
    this.time = new TimeCells(options.decimal, options.dateOrder);
    this.lineNumbers = new Uint32Array(this.capacity);
    this.columns = columns.map((column) => ({
      ...column,
      required: ROLE_RULES[column.role].required,
      floor: floorOf(column),
      isIndirect: column.combined !== undefined || column.role === 'time',
      values: new Float64Array(this.capacity),
      missing: newFault(),
      unreadable: newFault(),
      grouped: newFault(),
    }));
  }

  /** What has come so far, as `finish` would give it; more may come afterwards. */
  snapshot(): CollectedSamples {
    return new SampleCollector(this.columns, this.options, this).finish();
  }

  /** Number of samples so far. */
  get sampleCount(): number {
    return this.count;
  }

  /** What reads plain rows for this table; undefined until a row has shown how times are written. */
  plainRows(delimiterByte: number): PlainRows | undefined {
    const { form } = this.time;
    if (form === undefined || this.isCellShared) return undefined;
    const { date } = this.columns[0]!;
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
    this.rowCount += count;
    if (this.isLastCellUsed && shortestLastCell < this.shortestLastCell)
      this.shortestLastCell = shortestLastCell;
    if (this.pending.length > 0) this.flushPending();
    for (let taken = 0; taken < count; ) {
      if (this.count === this.capacity) this.makeRoom();
      const at = this.count;
      // Where rows are averaged, any of them may end a stretch.
      const next = this.isAveraging ? 1 : Math.min(count - taken, this.capacity - at);
      let from = taken * cellCount;
      for (const { combined, values: kept } of this.columns) {
        const width = combined?.indices.length ?? 1;
        for (let row = 0; row < next; row++) {
          const cell = from + row * cellCount;
          kept[at + row] =
            combined === undefined ? values[cell]! : combine(combined.combine, values, cell, cell + width);
        }
        from += width;
      }
      if (this.isAveraging) this.addToBlock(line + taken);
      else {
        for (let row = 0; row < next; row++) this.lineNumbers[at + row] = line + taken + row;
        this.count += next;
      }
      taken += next;
    }
    if (this.columns[0]!.date !== undefined) this.time.passOnSameDay(values[(count - 1) * cellCount]!);
  }

  /** Takes one record that begins on `line`; `isCut` where the text ends without a line end behind it. */
  take(bytes: Uint8Array, record: DelimitedRecord, line: number, isCut = false): void {
    this.rowCount++;
    const { starts, ends } = record;
    if (record.count !== this.width && !this.hasOnlyBlanksBeyond(bytes, record)) {
      if (isCut && record.count < this.width) note(this.noSamples['half-written'], line, '');
      else if (!this.isNoSample(bytes, record, line))
        this.leaveOut({
          line,
          example: `${record.count} ${record.count === 1 ? 'cell' : 'cells'}`,
          columnAt: -1,
          kind: 'unreadable',
        });
      return;
    }
    if (this.isLastCellUsed) {
      const length = ends[this.width - 1]! - starts[this.width - 1]!;
      if (isCut && length < this.shortestLastCell && this.count >= ROWS_THAT_SHOW_LENGTH) {
        note(this.noSamples['half-written'], line, '');
        return;
      }
      if (length < this.shortestLastCell) this.shortestLastCell = length;
    }
    if (this.count === this.capacity) this.makeRoom();
    const row = this.count;
    for (let k = 0; k < this.columns.length; k++) {
      const column = this.columns[k]!;
      const cell = column.index;
      let value = numberFromBytes(bytes, starts[cell]!, ends[cell]!, this.decimalByte);
      // Written so that NaN, which stands for "not plain", takes the long way too.
      if (!(value >= column.floor) || column.isIndirect) {
        value = this.readRarely(k, bytes, record, line);
        if (value === ROW_LEFT_OUT) return;
      }
      column.values[row] = value;
    }
    if (this.pending.length > 0) this.flushPending();
    if (this.isAveraging) this.addToBlock(line);
    else {
      this.lineNumbers[row] = line;
      this.count++;
    }
  }

  /**
   * The value of a column whose cell is no plain number: NaN where an optional one has none, `ROW_LEFT_OUT` where a required
   * one has none. Apart from `take`, which stays short and fast without it.
   */
  private readRarely(k: number, bytes: Uint8Array, record: DelimitedRecord, line: number): number {
    const column = this.columns[k]!;
    const value = this.readSlowly(column, bytes, record, line);
    if (!Number.isNaN(value)) return value;
    if (column.required && this.isNoSample(bytes, record, line)) return ROW_LEFT_OUT;
    const example = this.faultyCell(column, bytes, record);
    const kind = isMissingText(example) ? 'missing' : 'unreadable';
    if (column.required) {
      this.leaveOut({ line, example, columnAt: k, kind });
      return ROW_LEFT_OUT;
    }
    note(column[kind], line, example);
    return value;
  }

  /** Leaves out a record with NUL bytes in it. */
  takeNuls(line: number): void {
    this.rowCount++;
    note(this.noSamples['nul-bytes'], line, '');
  }

  /** Leaves out a record whose end never came. */
  takeHalf(line: number): void {
    this.rowCount++;
    note(this.noSamples['half-written'], line, '');
  }

  /** Whether the row is wider than the header by blank cells only, as a delimiter at the end of a line makes it. */
  private hasOnlyBlanksBeyond(bytes: Uint8Array, record: DelimitedRecord): boolean {
    if (record.count < this.width) return false;
    for (let cell = this.width; cell < record.count; cell++) {
      for (let i = record.starts[cell]!; i < record.ends[cell]!; i++) {
        if (bytes[i] !== 32 && bytes[i] !== 9) return false;
      }
    }
    return true;
  }

  /**
   * Whether a row that cannot be read is none: the header or its units once more, or a remark.
   *
   * @throws LogFormatError if it is the header of another table
   */
  private isNoSample(bytes: Uint8Array, record: DelimitedRecord, line: number): boolean {
    const cells = Array.from({ length: record.count }, (_, cell) => cellText(bytes, record, cell).trim());
    const { headers, unitsCells } = this.options;
    const isLike = (other: readonly string[] = []): boolean =>
      other.length > 0 &&
      other.every((text, i) => text.trim().toLowerCase() === (cells[i] ?? '').toLowerCase()) &&
      cells.slice(other.length).every((text) => text === '');
    if (isLike(headers) || isLike(unitsCells)) {
      note(this.noSamples['repeated-header'], line, '');
      return true;
    }
    if (cells[0]!.startsWith('#') && !isMissingText(cells[0]!)) {
      note(this.noSamples.remark, line, '');
      return true;
    }
    const filled = cells.filter((text) => text !== '');
    if (filled.length >= 3 && !filled.some(isValueText) && recognisedCount(filled) >= 3) {
      throw new LogFormatError([
        {
          code: 'second-table',
          line,
          message: `another header begins here (${filled.slice(0, 5).map(quoted).join(', ')}${filled.length > 5 ? ' …' : ''}): the file holds two tables`,
          remedy: 'split the file before this line and read both parts',
        },
      ]);
    }
    return false;
  }

  private leaveOut(row: PendingRow): void {
    this.pending.push(row);
    if (this.pending.length > LONGEST_FOOTER) this.flushPending();
  }

  /** Bad rows with a good one behind them are no footer. */
  private flushPending(): void {
    for (const { line, example, columnAt, kind } of this.pending)
      note(columnAt === -1 ? this.wrongWidth : this.columns[columnAt]![kind], line, example);
    this.pending = [];
  }

  /** Bad rows at the end are a footer where none of them has the cells and the time of a row. */
  private settlePending(): void {
    const isFooter = this.pending.every(
      ({ columnAt, kind }) => columnAt === -1 || (columnAt === 0 && kind === 'unreadable'),
    );
    if (this.count < 2 || !isFooter) this.flushPending();
    for (const { line, example } of this.pending) note(this.footer, line, example);
    this.pending = [];
  }

  /** A cell that is no plain number: a time, a number in an unusual spelling, several cells, nothing, or a fault. */
  private readSlowly(
    column: CollectedColumn,
    bytes: Uint8Array,
    record: DelimitedRecord,
    line: number,
  ): number {
    if (column.combined !== undefined) return this.readCombined(column, bytes, record);
    if (column.role === 'time') return this.readTime(column, bytes, record, line);
    const text = cellText(bytes, record, column.index).trim();
    const { decimal, isDecimalProven } = this.options;
    const value = numberFromText(text, decimal);
    if (!(value >= column.floor && Number.isFinite(value))) return Number.NaN;
    if (hasThousands(text, decimal)) {
      // Where the decimal mark was never seen, this could be it.
      if (!isDecimalProven && text.includes(decimal === '.' ? ',' : '.')) return Number.NaN;
      note(column.grouped, line, text);
    }
    return value;
  }

  private readTime(
    column: CollectedColumn,
    bytes: Uint8Array,
    record: DelimitedRecord,
    line: number,
  ): number {
    const { index, date } = column;
    const { time, minute } = this;
    const cell = cellText(bytes, record, index);
    if (date !== undefined) {
      const dateCell = cellText(bytes, record, date.index);
      const dateText = dateCell.trim();
      const place = { line, column: date.index + 1 };
      const value = time.readBeside(dateText, cell.trim(), place);
      if (!Number.isNaN(value))
        minute.learn(cell, (text) => time.readOnSameDay(dateText, text.trim(), place), dateCell);
      return value;
    }
    const read = (text: string): number => time.read(text.trim(), { line, column: index + 1 });
    const value = read(cell);
    // From then on plain numbers are read as in any other column.
    if (time.form === 'number') column.isIndirect = false;
    else if (!Number.isNaN(value)) minute.learn(cell, read);
    return Number.isFinite(value) ? value : Number.NaN;
  }

  /** One number from several cells; NaN if one of them cannot be read, since the others would say something else. */
  private readCombined(column: CollectedColumn, bytes: Uint8Array, record: DelimitedRecord): number {
    const { combine: rule, indices } = column.combined!;
    const values = indices.map((cell) => this.numberOf(column, bytes, record, cell));
    return values.some(Number.isNaN) ? Number.NaN : combine(rule, values, 0, values.length);
  }

  private numberOf(
    { floor }: CollectedColumn,
    bytes: Uint8Array,
    record: DelimitedRecord,
    cell: number,
  ): number {
    let value = numberFromBytes(bytes, record.starts[cell]!, record.ends[cell]!, this.decimalByte);
    if (!(value >= floor)) value = numberFromText(cellText(bytes, record, cell), this.options.decimal);
    return value >= floor && Number.isFinite(value) ? value : Number.NaN;
  }

  /** The text of the cell that made a column unreadable. */
  private faultyCell(column: CollectedColumn, bytes: Uint8Array, record: DelimitedRecord): string {
    const cell =
      column.combined?.indices.find((index) => Number.isNaN(this.numberOf(column, bytes, record, index))) ??
      column.index;
    const text = cellText(bytes, record, cell).trim();
    const { date } = column;
    return date === undefined || isMissingText(text)
      ? text
      : `${cellText(bytes, record, date.index).trim()} ${text}`.trim();
  }

  /** Adds the row that was just read to the stretch it belongs to. */
  private addToBlock(line: number): void {
    if (this.block === undefined) {
      const { unit } = this.columns[0]!;
      const blockS = this.options.blockS!;
      const length = this.time.form === 'number' ? (blockS * unit.denominator) / unit.numerator : blockS;
      this.block = new BlockMeans(this.roles(), { kind: 'time', length }, this.options.powerSample);
    }
    const values = this.blockValues;
    for (let k = 0; k < values.length; k++) values[k] = this.columns[k]!.values[this.count]!;
    if (this.block.isOver(values[0]!)) this.storeBlock(this.block);
    this.block.add(values, line);
    this.mergedRowCount++;
  }

  private storeBlock(block: BlockMeans): void {
    const { line } = block;
    const means = new Float64Array(this.columns.length);
    block.close(means);
    if (this.count === this.capacity) this.makeRoom();
    for (let k = 0; k < means.length; k++) this.columns[k]!.values[this.count] = means[k]!;
    this.lineNumbers[this.count] = line;
    this.count++;
  }

  private roles(): readonly ColumnRole[] {
    return this.columns.map(({ role }) => role);
  }

  /** Room for one more sample at least: more memory, or from the budget on fewer samples. */
  private makeRoom(): void {
    if (this.capacity < this.mostSamples) {
      this.widen(Math.min(this.mostSamples, Math.ceil(1.5 * this.capacity)));
      return;
    }
    this.merge();
    if (this.count > MOST_LEFT_FRACTION * this.capacity) this.widen(Math.ceil(1.5 * this.capacity));
  }

  /** Merges neighbouring samples two by two; what comes is read on in stretches of twice as many rows. */
  private merge(): void {
    const columns = this.columns.map(({ values }) => values);
    const isFirst = this.rowsPerSample === 1;
    if (isFirst) {
      const usual = median(steps(columns[0]!.subarray(0, this.count)));
      // Where time stands still, rows belong together however many they are.
      this.rowStep = Number.isNaN(usual) ? Number.POSITIVE_INFINITY : usual;
      this.mergedRowCount = this.count;
    }
    const sampleStep = Number.isFinite(this.rowStep) ? this.rowsPerSample * this.rowStep : 0;
    this.rowsPerSample *= 2;
    const longestStep = GAP_IN_SAMPLES * this.rowsPerSample * this.rowStep;
    const pairs = new BlockMeans(
      this.roles(),
      { kind: 'rows', rowCount: 2, longestStep },
      isFirst ? this.options.powerSample : 'interval-mean',
      sampleStep,
    );
    this.count = mergeNeighbours(columns, this.lineNumbers, this.count, pairs);
    if (isFirst) {
      // Rows were merged, not yet means: the block that did it takes the next rows too.
      this.block = pairs;
      this.isAveraging = true;
      return;
    }
    this.block!.lengthen({ kind: 'rows', rowCount: this.rowsPerSample, longestStep });
    if (pairs.rowCount > 0) this.storeBlock(pairs);
  }

  private widen(capacity: number): void {
    this.capacity = capacity;
    for (const column of this.columns) {
      const wider = new Float64Array(capacity);
      wider.set(column.values);
      column.values = wider;
    }
    const wider = new Uint32Array(capacity);
    wider.set(this.lineNumbers);
    this.lineNumbers = wider;
  }

  /**
   * The columns, converted to our own units, with the findings.
   *
   * @throws LogFormatError if fewer than two rows can be used, if a column holds no number at all, or if a column
   *   without a unit has values that are not usual in ours
   */
  finish(): CollectedSamples {
    const findings: Finding[] = [];
    const columns: Partial<Record<ColumnRole, Float64Array>> = {};
    if (this.block !== undefined && this.block.rowCount > 0) this.storeBlock(this.block);
    this.settlePending();
    this.requireRows();
    const lineNumbers = fitted(this.lineNumbers, this.count);
    for (const column of this.columns) column.values = fitted(column.values, this.count);
    this.findLeftOutRows(findings);
    this.findSpellings(findings);

    const [time, ...others] = this.columns;
    this.finishTime(time!, lineNumbers, findings);
    columns.time = time!.values;
    findings.push(...assumedUnitFindings(time!, this.time.form === 'number'));
    if (this.rowsPerSample > 1) findings.push(this.mergedFinding(time!));
    else if (this.isAveraging) findings.push(this.blockFinding(this.options.blockS!));
    else if (this.count > NOTED_SAMPLES) findings.push(this.longLog(time!));
    const issues: LogIssue[] = [];
    for (const column of others) {
      const isKept = this.finishColumn(column, time!.values, findings, issues);
      if (isKept) columns[column.role] = column.values;
    }
    if (issues.length > 0) throw new LogFormatError(issues);
    return { columns, lineNumbers, findings, rowCount: this.rowCount, areMeans: this.isAveraging };
  }

  private longLog({ values }: CollectedColumn): Finding {
    const megabytes = (this.count * bytesPerSample(this.columns.length)) / 1e6;
    const stepS = median(steps(values));
    return {
      code: 'long-log',
      severity: 'note',
      message: `The log has ${this.count} samples ${Number(stepS.toPrecision(2))} s apart, which take ${megabytes.toFixed(0)} MB of memory.`,
      remedy: `to need less, write the option blockS: ${stepS < 1 ? 1 : 10}, which keeps one sample for each such stretch`,
      count: this.count,
    };
  }

  private mergedFinding({ values }: CollectedColumn): Finding {
    const { budgetBytes = NUMBERS_BUDGET_BYTES } = this.options;
    const stepS = median(steps(values));
    const allMegabytes = (this.mergedRowCount * bytesPerSample(this.columns.length)) / 1e6;
    return {
      code: 'block-means',
      severity: stepS > COARSE_S ? 'warning' : 'note',
      message: `The ${this.mergedRowCount} rows that could be used hold more numbers than fit into ${short(budgetBytes / 1e6)} MB: they were made into ${this.count} samples${Number.isNaN(stepS) ? '' : `, ${short(stepS)} s apart,`} of up to ${this.rowsPerSample} rows each. Temperatures are the last reading of each, everything else the mean over its time.`,
      remedy: `to keep every row, write the option blockS: 0, which takes ${short(allMegabytes)} MB; leaving out a column that is not needed, such as columns: { voltage: false }, leaves room for more samples`,
      count: this.mergedRowCount,
    };
  }

  private blockFinding(blockS: number): Finding {
    return {
      code: 'block-means',
      severity: 'note',
      message: `The rows were made into ${this.count} samples, one for each ${blockS} s: temperatures are the last reading of each, everything else the mean over it.`,
      remedy:
        'leave out the option blockS to keep every row; it should be short against the fastest time constant that matters',
      count: this.rowCount,
    };
  }

  /** What was read in a spelling that could mean something else. */
  private findSpellings(findings: Finding[]): void {
    for (const { header, role, grouped } of this.columns) {
      if (grouped.count === 0) continue;
      findings.push({
        code: 'thousands-separator',
        severity: 'note',
        message: `${quoted(header)} (${role}) has ${grouped.count} ${grouped.count === 1 ? 'value' : 'values'} with thousands set apart, such as ${quoted(grouped.example)} in line ${grouped.lines[0]}; ${quoted(this.options.decimal)} was taken for the decimal mark.`,
        remedy: 'if that is wrong, write the option decimal',
        count: grouped.count,
        lines: grouped.lines,
      });
    }
    this.findDatesBeside(findings);
    if (this.time.isOrderAssumed) {
      findings.push({
        code: 'assumed-date-order',
        severity: 'note',
        message: 'Dates with dots between their parts were read day first.',
        remedy: "if that is wrong, write the option dateOrder: 'month-day-year'",
      });
    }
  }

  /** What was made of dates in a column of their own that did not say the day of every row. */
  private findDatesBeside(findings: Finding[]): void {
    const { lateDateCount, lateDateLine, withoutDateCount, withoutDateLine } = this.time;
    if (lateDateCount > 0) {
      findings.push({
        code: 'late-date',
        severity: 'note',
        message: `The clock passes midnight ${lateDateCount === 1 ? 'once' : `${lateDateCount} times`} (first before line ${lateDateLine}) while the date beside it stays: a day was added until it changes.`,
        remedy:
          'if the clock was set back there instead, split the log; better, log date and time in one column',
        count: lateDateCount,
        lines: [lateDateLine],
      });
    }
    if (withoutDateCount > 0) {
      findings.push({
        code: 'date-of-row-before',
        severity: 'note',
        message: `${withoutDateCount} ${withoutDateCount === 1 ? 'row has' : 'rows have'} a clock time and no date beside it, first in line ${withoutDateLine}: the date of the row before was taken.`,
        remedy: 'log the date in every row',
        count: withoutDateCount,
        lines: [withoutDateLine],
      });
    }
  }

  private requireRows(): void {
    if (this.count >= 2) return;
    const issues: LogIssue[] = [];
    const remedy = 'a run needs at least two rows with time, temperature and power';
    if (this.wrongWidth.count > 0) {
      issues.push({
        code: 'cell-count',
        line: this.wrongWidth.lines[0]!,
        message: `the header has ${this.width} cells, this line has ${this.wrongWidth.example}${others(this.wrongWidth)}`,
        remedy: 'give every row one cell per header; quote cells that hold the delimiter',
      });
    }
    for (const column of this.columns.filter(({ required }) => required)) {
      if (column.unreadable.count > 0) issues.push(notNumbers(column, this.options.decimal));
      if (column.missing.count > 0) {
        issues.push({
          code: 'missing-value',
          line: column.missing.lines[0]!,
          column: column.index + 1,
          message: `${quoted(column.header)} has no value here${others(column.missing)}`,
          remedy,
        });
      }
    }
    if (this.rowCount === 0 || (this.count === 0 && issues.length === 0)) {
      issues.push({
        code: 'no-rows',
        message: 'the log has a header but no rows',
        remedy,
      });
    } else if (issues.length === 0) {
      issues.push({
        code: 'one-sample',
        line: this.lineNumbers[0]!,
        message: 'the log has one sample only',
        remedy: `${remedy}; for averages alone there is coolerFromSteadyPoints`,
      });
    }
    throw new LogFormatError(issues);
  }

  private findLeftOutRows(findings: Finding[]): void {
    const { wrongWidth } = this;
    if (wrongWidth.count > 0) {
      findings.push({
        code: 'row-cell-count',
        severity: severityOfLoss(wrongWidth.count, this.rowCount),
        message: `${this.leftOut(wrongWidth)}: their number of cells is not the header's ${this.width} (line ${wrongWidth.lines[0]} has ${wrongWidth.example}).`,
        remedy: 'check whether these lines were cut off while being written, or hold an unquoted delimiter',
        count: wrongWidth.count,
        lines: wrongWidth.lines,
      });
    }
    for (const [what, { message, remedy, isLoss }] of Object.entries(NO_SAMPLE_WORDS)) {
      const { count, lines } = this.noSamples[what as NoSample];
      if (count === 0) continue;
      findings.push({
        code: `row-${what}`,
        severity: isLoss ? severityOfLoss(count, this.rowCount) : 'note',
        message: message(count),
        remedy,
        count,
        lines,
      });
    }
    if (this.footer.count > 0) {
      const { count, lines, example } = this.footer;
      findings.push({
        code: 'row-footer',
        severity: 'note',
        message: `The last ${count === 1 ? 'row is no sample' : `${count} rows are no samples`} (line ${lines[0]}: ${/^\d+ cells?$/.test(example) ? example : quoted(example)}): taken for a footer and left out.`,
        remedy: 'nothing to do, unless samples should stand there',
        count,
        lines,
      });
    }
    for (const { required, role, header, missing, unreadable } of this.columns) {
      if (!required) continue;
      if (unreadable.count > 0) {
        findings.push({
          code: 'row-unreadable-value',
          severity: severityOfLoss(unreadable.count, this.rowCount),
          message: `${this.leftOut(unreadable)}: ${quoted(header)} (${role}) is ${quoted(unreadable.example)} in line ${unreadable.lines[0]}, which is no ${role === 'time' ? 'time like the others' : 'possible value'}.`,
          remedy: 'correct or remove these lines',
          count: unreadable.count,
          lines: unreadable.lines,
        });
      }
      if (missing.count > 0) {
        findings.push({
          code: 'row-missing-value',
          severity: severityOfLoss(missing.count, this.rowCount),
          message: `${this.leftOut(missing)}: ${quoted(header)} (${role}) has no value there.`,
          remedy: 'log time, temperature and power in every row',
          count: missing.count,
          lines: missing.lines,
        });
      }
    }
  }

  private leftOut({ count }: Fault): string {
    return `${count} of ${this.rowCount} rows ${count === 1 ? 'was' : 'were'} left out`;
  }

  /** Converts numbers to seconds from the first row on; texts are seconds already. Never negative. */
  private finishTime(time: CollectedColumn, lineNumbers: Uint32Array, findings: Finding[]): void {
    const { values, unit } = time;
    const { form, firstWholeS } = this.time;
    if (form === 'clock') findings.push(...unwrapMidnights(values, firstWholeS, lineNumbers));
    if (form === 'clock' || form === 'local' || form === 'local-date')
      findings.push(...undoClockChanges(values, firstWholeS, median(steps(values)), lineNumbers));
    // A whole number near the start is taken off first, since an epoch in ms leaves few digits for the fraction.
    const origin = values[0]!;
    let lowest = 0;
    for (let i = 0; i < values.length; i++) {
      const sinceOrigin = values[i]! - origin;
      values[i] = form === 'number' ? (sinceOrigin * unit.numerator) / unit.denominator : sinceOrigin;
      if (values[i]! < lowest) lowest = values[i]!;
    }
    if (lowest < 0) for (let i = 0; i < values.length; i++) values[i] = values[i]! - lowest;
    for (let i = 1; i < values.length; i++) if (values[i]! > values[i - 1]!) return;
    throw new LogFormatError([
      {
        code: 'time-stands-still',
        line: this.lineNumbers[1]!,
        column: time.index + 1,
        message: `${quoted(time.header)} never increases: no row is later than the row before it`,
        remedy: `${values.at(-1)! < values[0]! ? 'sort the rows by time if the newest stands first, or ' : ''}choose the column with the running time by the option columns: { time: … }`,
      },
    ]);
  }

  /** Samples without a value of an optional column. */
  private absentCountOf({ required, missing, unreadable, values }: CollectedColumn): number {
    if (required) return 0;
    if (!this.isAveraging) return missing.count + unreadable.count;
    let count = 0;
    for (const value of values) if (Number.isNaN(value)) count++;
    return count;
  }

  /** Returns whether the column is part of the run. */
  private finishColumn(
    column: CollectedColumn,
    timeS: Float64Array,
    findings: Finding[],
    issues: LogIssue[],
  ): boolean {
    const { values, unit, missing, unreadable, role, header } = column;
    const absentCount = this.absentCountOf(column);
    if (absentCount === values.length) {
      if (unreadable.count > 0) {
        issues.push(notNumbers(column, this.options.decimal));
      } else {
        findings.push({
          code: 'empty-column',
          severity: 'note',
          message: `${quoted(header)} (${role}) has no value in any row and was left out.`,
        });
      }
      return false;
    }
    if (unit.offset !== 0 || unit.numerator !== unit.denominator) {
      for (let i = 0; i < values.length; i++) values[i] = toOwnUnit(values[i]!, unit);
    }
    findings.push(...assumedUnitFindings(column, true));
    if (absentCount > 0) {
      interpolateMissing(values, timeS);
      const example =
        unreadable.count > 0 ? ` (${quoted(unreadable.example)} in line ${unreadable.lines[0]})` : '';
      findings.push({
        code: 'value-interpolated',
        severity: absentCount > NOTED_FRACTION * values.length ? 'warning' : 'note',
        message: `${quoted(header)} (${role}) has no readable value in ${absentCount} of ${values.length} rows${example}; these were interpolated over time from the rows around them.`,
        remedy: `if they should not be used, leave the column out by the option columns: { ${role}: false }`,
        count: absentCount,
        lines: [...missing.lines, ...unreadable.lines].sort((a, b) => a - b).slice(0, LISTED_LINE_COUNT),
      });
    }
    return true;
  }
}

/** One number from `values[from … to − 1]`. */
function combine(rule: CombineRule, values: ArrayLike<number>, from: number, to: number): number {
  let highest = Number.NEGATIVE_INFINITY;
  let sum = 0;
  for (let i = from; i < to; i++) {
    const value = values[i]!;
    sum += value;
    if (value > highest) highest = value;
  }
  return rule === 'highest' ? highest : rule === 'sum' ? sum : sum / (to - from);
}

function notNumbers(column: CollectedColumn, decimal: '.' | ','): LogIssue {
  const { role, header, index, unreadable } = column;
  const choice = `choose another column by the option columns: { ${role}: … }`;
  return {
    code: 'not-numbers',
    line: unreadable.lines[0]!,
    column: index + 1,
    message: `${quoted(header)} is read as ${role} but holds ${quoted(unreadable.example)}, which is no ${role === 'time' ? 'time' : 'possible number'}${others(unreadable)}`,
    remedy:
      role === 'time'
        ? `write times as numbers, as h:mm:ss or as ISO 8601 (2031-05-09T14:30:00), or ${choice}`
        : `${choice}${column.required ? '' : `, or leave it out by columns: { ${role}: false }`}; the decimal mark was taken to be ${quoted(decimal)}`,
  };
}

/** Temperatures end at absolute zero, everything else but time at zero. */
function floorOf({ role, unit }: RoleColumn): number {
  if (role === 'time') return Number.NEGATIVE_INFINITY;
  return fromOwnUnit(unit.quantity === 'temperature' ? -273.15 : 0, unit);
}

function short(value: number): string {
  return String(Number(value.toPrecision(3)));
}

/** Eight bytes for every number, and four for the line. */
function bytesPerSample(columnCount: number): number {
  return 8 * columnCount + 4;
}

/** Drops the room that was reserved and not used; large arrays keep it, since a copy would cost more. */
function fitted<T extends Float64Array | Uint32Array>(values: T, count: number): T {
  const isWasteful = values.length - count > count / 8 || count < 1 << 16;
  return (isWasteful ? values.slice(0, count) : values.subarray(0, count)) as T;
}
