import type { Finding } from '../../runs/finding.js';
import { cellText, type DelimitedRecord } from '../cells/delimited-record.js';
import { isMissingText } from '../cells/number-cell.js';
import { quoted } from '../cells/quoted.js';
import { isValueText } from '../cells/value-text.js';
import { LogFormatError, type LogIssue } from '../log-format-error.js';
import { recognisedCount } from '../table/column-candidates.js';
import type { CollectedColumn } from './collected-column.js';
import {
  copyOfFault,
  type Fault,
  NO_SAMPLE_WORDS,
  type NoSample,
  newFault,
  note,
  others,
  severityOfLoss,
} from './row-faults.js';

/** Rows of a table that are no data, to know them when they come again. */
export interface TableHead {
  /** The headers; as many cells has every row. */
  readonly headers: readonly string[];
  /** The row of units, to know it when it comes again. */
  readonly unitsCells?: readonly string[];
}

/** A bad row that waits for a good one behind it; without one it is footer. */
interface PendingRow {
  readonly line: number;
  readonly example: string;
  /** Which column is at fault; -1 for the number of cells. */
  readonly columnAt: number;
  readonly kind: 'missing' | 'unreadable';
}

/** Bad rows at the end that may be a footer; more than this are no footer. */
const LONGEST_FOOTER = 50;

/**
 * The rows that became no samples, and why: another number of cells, a required value that is missing or unreadable, no
 * row of data at all, footer. Every such row is counted in one finding, so that rows in = rows used + rows reported.
 */
export class LeftOutRows {
  private readonly wrongWidth: Fault;
  private readonly noSamples: Readonly<Record<NoSample, Fault>>;
  private readonly footer: Fault = newFault();
  private pending: PendingRow[] = [];

  /**
   * @param columns - have the faults of their cells; the time first
   * @param from - rows that were left out before
   */
  constructor(
    private readonly columns: readonly CollectedColumn[],
    private readonly head: TableHead,
    from?: LeftOutRows,
  ) {
    const copyOrNew = (what: NoSample): Fault => copyOfFault(from?.noSamples[what] ?? newFault());
    this.wrongWidth = copyOfFault(from?.wrongWidth ?? newFault());
    this.noSamples = {
      'repeated-header': copyOrNew('repeated-header'),
      remark: copyOrNew('remark'),
      'nul-bytes': copyOrNew('nul-bytes'),
      'half-written': copyOrNew('half-written'),
    };
    this.pending = [...(from?.pending ?? [])];
  }

  /** A copy that counts on by itself, with the faults of its cells in these copies of the columns. */
  clone(columns: readonly CollectedColumn[]): LeftOutRows {
    return new LeftOutRows(columns, this.head, this);
  }

  /** Leaves out a row that is no sample, whatever its cells hold. */
  takeNoSample(what: NoSample, line: number): void {
    note(this.noSamples[what], line, '');
  }

  /**
   * Leaves out a row that has another number of cells than the header.
   *
   * @throws LogFormatError if it is the header of another table
   */
  takeWrongWidth(bytes: Uint8Array, record: DelimitedRecord, line: number): void {
    if (this.takeIfNoSample(bytes, record, line)) return;
    const example = `${record.count} ${record.count === 1 ? 'cell' : 'cells'}`;
    this.takeBad({ line, example, columnAt: -1, kind: 'unreadable' });
  }

  /** Leaves out a bad row; whether it is footer only shows by what comes behind it. */
  takeBad(row: PendingRow): void {
    this.pending.push(row);
    if (this.pending.length > LONGEST_FOOTER) this.flushPending();
  }

  /**
   * Leaves out a row that cannot be read if it is none: the header or its units once more, or a remark.
   *
   * @returns whether it is none
   * @throws LogFormatError if it is the header of another table
   */
  takeIfNoSample(bytes: Uint8Array, record: DelimitedRecord, line: number): boolean {
    const cells = Array.from({ length: record.count }, (_, cell) => cellText(bytes, record, cell).trim());
    const { headers, unitsCells } = this.head;
    const isLike = (other: readonly string[] = []): boolean =>
      other.length > 0 &&
      other.every((text, i) => text.trim().toLowerCase() === (cells[i] ?? '').toLowerCase()) &&
      cells.slice(other.length).every((text) => text === '');
    if (isLike(headers) || isLike(unitsCells)) {
      this.takeNoSample('repeated-header', line);
      return true;
    }
    if (cells[0].startsWith('#') && !isMissingText(cells[0])) {
      this.takeNoSample('remark', line);
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

  /** Says that a good row has come: the bad ones before it are no footer. */
  passGoodRow(): void {
    if (this.pending.length > 0) this.flushPending();
  }

  /** Says that no more rows come. Bad rows at the end are a footer where none of them has the cells and the time of a row. */
  settle(sampleCount: number): void {
    const isFooter = this.pending.every(
      ({ columnAt, kind }) => columnAt === -1 || (columnAt === 0 && kind === 'unreadable'),
    );
    if (sampleCount < 2 || !isFooter) this.flushPending();
    for (const { line, example } of this.pending) note(this.footer, line, example);
    this.pending = [];
  }

  private flushPending(): void {
    for (const { line, example, columnAt, kind } of this.pending)
      note(columnAt === -1 ? this.wrongWidth : this.columns[columnAt][kind], line, example);
    this.pending = [];
  }

  /** What to say of rows with another number of cells where too few others are left; none if there are none. */
  widthIssues(): readonly LogIssue[] {
    const { wrongWidth } = this;
    if (wrongWidth.count === 0) return [];
    return [
      {
        code: 'cell-count',
        line: wrongWidth.lines[0],
        message: `the header has ${this.head.headers.length} cells, this line has ${wrongWidth.example}${others(wrongWidth)}`,
        remedy: 'give every row one cell per header; quote cells that hold the delimiter',
      },
    ];
  }

  /** What was left out, once `settle` was called. */
  findings(rowCount: number): readonly Finding[] {
    return [
      ...this.widthFindings(rowCount),
      ...this.noSampleFindings(rowCount),
      ...this.footerFindings(),
      ...this.columns.filter(({ required }) => required).flatMap((column) => cellFindings(column, rowCount)),
    ];
  }

  private widthFindings(rowCount: number): readonly Finding[] {
    const { count, lines, example } = this.wrongWidth;
    if (count === 0) return [];
    return [
      {
        code: 'row-cell-count',
        severity: severityOfLoss(count, rowCount),
        message: `${leftOut(count, rowCount)}: ${count === 1 ? 'its' : 'their'} number of cells is not the header's ${this.head.headers.length} (line ${lines[0]} has ${example}).`,
        remedy: 'check whether these lines were cut off while being written, or hold an unquoted delimiter',
        count,
        lines,
      },
    ];
  }

  private noSampleFindings(rowCount: number): readonly Finding[] {
    return Object.entries(NO_SAMPLE_WORDS).flatMap(([what, { message, remedy, isLoss }]) => {
      const { count, lines } = this.noSamples[what as NoSample];
      if (count === 0) return [];
      const severity = isLoss ? severityOfLoss(count, rowCount) : 'note';
      return [{ code: `row-${what}`, severity, message: message(count), remedy, count, lines }];
    });
  }

  private footerFindings(): readonly Finding[] {
    const { count, lines, example } = this.footer;
    if (count === 0) return [];
    return [
      {
        code: 'row-footer',
        severity: 'note',
        message: `The last ${count === 1 ? 'row is no sample' : `${count} rows are no samples`} (line ${lines[0]}: ${/^\d+ cells?$/.test(example) ? example : quoted(example)}): taken for a footer and left out.`,
        remedy: 'nothing to do, unless samples should stand there',
        count,
        lines,
      },
    ];
  }
}

/** What was left out because of the cells of a required column. */
function cellFindings(
  { role, header, missing, unreadable }: CollectedColumn,
  rowCount: number,
): readonly Finding[] {
  const findings: Finding[] = [];
  if (unreadable.count > 0) {
    findings.push({
      code: 'row-unreadable-value',
      severity: severityOfLoss(unreadable.count, rowCount),
      message: `${leftOut(unreadable.count, rowCount)}: ${quoted(header)} (${role}) is ${quoted(unreadable.example)} in line ${unreadable.lines[0]}, which is no ${role === 'time' ? 'time like the others' : 'possible value'}.`,
      remedy: 'correct or remove these lines',
      count: unreadable.count,
      lines: unreadable.lines,
    });
  }
  if (missing.count > 0) {
    findings.push({
      code: 'row-missing-value',
      severity: severityOfLoss(missing.count, rowCount),
      message: `${leftOut(missing.count, rowCount)}: ${quoted(header)} (${role}) has no value there.`,
      remedy: 'log time, temperature and power in every row',
      count: missing.count,
      lines: missing.lines,
    });
  }
  return findings;
}

function leftOut(count: number, rowCount: number): string {
  return `${count} of ${rowCount} rows ${count === 1 ? 'was' : 'were'} left out`;
}
