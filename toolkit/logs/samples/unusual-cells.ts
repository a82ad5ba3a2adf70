import { cellText, type DelimitedRecord } from '../cells/delimited-record.js';
import type { KnownMinute } from '../cells/known-minute.js';
import { hasThousands, isMissingText, numberFromBytes, numberFromText } from '../cells/number-cell.js';
import type { TimeCells } from '../cells/time-cells.js';
import { type CollectedColumn, combine } from './collected-column.js';
import { note } from './row-faults.js';

/** How the numbers of a log are spelled. */
export interface NumberSpelling {
  readonly decimal: '.' | ',';
  /** Whether the decimal mark is known, so that the other mark can only part the thousands. */
  readonly isDecimalProven: boolean;
}

/** Reads the cells that are no plain numbers: times, numbers in an unusual spelling, several cells that make one value. */
export class UnusualCells {
  private readonly decimalByte: number;

  /**
   * @param time - reads the times, in the form of the first of them
   * @param minute - learns the minute of each time that is no plain number
   */
  constructor(
    private readonly spelling: NumberSpelling,
    private readonly time: TimeCells,
    private readonly minute: KnownMinute,
  ) {
    this.decimalByte = spelling.decimal.charCodeAt(0);
  }

  /** The value of a column in this record, in the unit of the log; NaN where there is nothing, or a fault. */
  read(column: CollectedColumn, bytes: Uint8Array, record: DelimitedRecord, line: number): number {
    if (column.combined !== undefined) return this.readCombined(column, bytes, record);
    if (column.role === 'time') return this.readTime(column, bytes, record, line);
    const text = cellText(bytes, record, column.index).trim();
    const { decimal, isDecimalProven } = this.spelling;
    const value = numberFromText(text, decimal);
    if (!(value >= column.floor && Number.isFinite(value))) return Number.NaN;
    if (hasThousands(text, decimal)) {
      // Where the decimal mark was never seen, this could be it.
      if (!isDecimalProven && text.includes(decimal === '.' ? ',' : '.')) return Number.NaN;
      note(column.grouped, line, text);
    }
    return value;
  }

  /** The text of the cell because of which a column could not be read. */
  faultyText(column: CollectedColumn, bytes: Uint8Array, record: DelimitedRecord): string {
    const cell =
      column.combined?.indices.find((index) => Number.isNaN(this.numberOf(column, bytes, record, index))) ??
      column.index;
    const text = cellText(bytes, record, cell).trim();
    const { date } = column;
    return date === undefined || isMissingText(text)
      ? text
      : `${cellText(bytes, record, date.index).trim()} ${text}`.trim();
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
    let value = numberFromBytes(bytes, record.starts[cell], record.ends[cell], this.decimalByte);
    if (!(value >= floor)) value = numberFromText(cellText(bytes, record, cell), this.spelling.decimal);
    return value >= floor && Number.isFinite(value) ? value : Number.NaN;
  }
}
