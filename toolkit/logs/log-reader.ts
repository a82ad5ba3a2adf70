import type { Finding } from '../runs/finding.js';
import { type ColumnChoice, findColumns, type RoleColumn, type UnitChoice } from './columns.js';
import { byteOrderMarkLength, findEncoding, utf16ToUtf8 } from './decode.js';
import { findDecimal, quoted, readTableHead, trimmedWidth } from './dialect.js';
import { LogFormatError } from './log-format-error.js';
import { isMissingText, numberFromText } from './number-cell.js';
import { type DelimitedRecord, type Delimiter, isBlankRecord, newRecord, readRecord } from './delimited-record.js';
import { type CollectedSamples, SampleCollector } from './sample-collector.js';
import { findUnitsRow, type UnitsRow } from './units-row.js';

/** How much of a text is looked at to find encoding, delimiter, columns and decimal mark. */
const HEAD_BYTES = 1 << 16;

/** A record longer than this is no row of a log; most likely a quote was never closed. */
const LONGEST_RECORD_BYTES = 1 << 20;

/** What a caller may tell the reader beforehand. */
export interface LogReaderOptions {
  readonly columns?: ColumnChoice;
  readonly units?: UnitChoice;
  readonly delimiter?: Delimiter;
  readonly decimal?: '.' | ',';
  /** Size of the whole text, bytes, if it is known: room for the rows is then reserved once. */
  readonly expectedBytes?: number;
}

/**
 * Reads a log that comes in chunks of bytes, so that a file need never be in memory as a whole.
 *
 * The head decides how the rest is read. After that, bytes flow through `readRecord` into a `SampleCollector`, and
 * only a record cut by the end of a chunk is kept until the next chunk.
 */
export class LogReader {
  private isBegun = false;
  private transcode: ((chunk: Uint8Array, isLast: boolean) => Uint8Array) | undefined;
  private collector!: SampleCollector;
  private delimiterByte = 0;
  private readonly record: DelimitedRecord = newRecord();
  private line = 1;
  /** Records at the top that are no samples: the headers, and the row of units. */
  private recordsToSkip = 0;
  private unitsRowFindings: readonly Finding[] = [];
  /** The head, or the beginning of a record, whose end has not come yet; the buffer has room for more. */
  private rest: Uint8Array = new Uint8Array(0);
  private restLength = 0;

  constructor(private readonly options: LogReaderOptions) {}

  /** Takes the next bytes; they may be overwritten afterwards. */
  push(chunk: Uint8Array): void {
    if (this.isBegun) {
      this.read(chunk, false);
      return;
    }
    const head = this.afterRest(chunk);
    if (head.length >= HEAD_BYTES) this.begin(head, false);
    else this.keepRest(head, 0);
  }

  /** Says that all bytes have come, and returns what they hold. */
  finish(): CollectedSamples {
    if (this.isBegun) this.read(new Uint8Array(0), true);
    else this.begin(this.afterRest(new Uint8Array(0)), true);
    const samples = this.collector.finish();
    return { ...samples, findings: [...this.unitsRowFindings, ...samples.findings] };
  }

  private begin(head: Uint8Array, isLast: boolean): void {
    this.isBegun = true;
    const encoding = findEncoding(head);
    if (encoding !== 'ascii-like') this.transcode = utf16ToUtf8(encoding);
    const decoded = this.transcode === undefined ? head : this.transcode(head, isLast);
    const body = decoded.subarray(byteOrderMarkLength(decoded));
    this.readHead(body, isLast);
    this.scan(body, isLast);
  }

  private readHead(body: Uint8Array, isWhole: boolean): void {
    const headBytes = body.subarray(0, HEAD_BYTES);
    const isLast = isWhole && headBytes.length === body.length;
    const { delimiter } = this.options;
    const table = readTableHead(headBytes, { isLast, ...(delimiter === undefined ? {} : { delimiter }) });
    const width = trimmedWidth(table.header.cells);
    const isHeaderless = this.hasNoHeader(table.header.cells.slice(0, width), table.header.line);
    const headers = isHeaderless
      ? Array.from({ length: width }, (_, i) => `column ${i + 1}`)
      : table.header.cells.slice(0, width);
    const { columns, units } = this.options;
    const unitsRow = isHeaderless ? undefined : findUnitsRow(table.rows[0], width);
    const found = findColumns(headers, {
      line: table.header.line,
      ...(columns === undefined ? {} : { columns }),
      ...(units === undefined ? {} : { units }),
      ...(unitsRow === undefined ? {} : { unitsRow }),
    });
    if (unitsRow !== undefined) this.unitsRowFindings = [unitsRowFinding(unitsRow, found, units)];
    const rows = isHeaderless ? [table.header, ...table.rows] : table.rows;
    const decimal =
      this.options.decimal ??
      findDecimal(
        rows,
        found.map(({ index }) => index),
      );
    this.delimiterByte = table.delimiter.charCodeAt(0);
    this.collector = new SampleCollector(found, {
      width,
      decimal,
      expectedRows: this.expectedRows(headBytes, body.length),
    });
    this.recordsToSkip = isHeaderless ? 0 : unitsRow === undefined ? 1 : 2;
  }

  /** Whether the first line holds numbers already; then every column must have been chosen by its index. */
  private hasNoHeader(cells: readonly string[], line: number): boolean {
    const holdsNumbers = cells.every(
      (cell) =>
        isMissingText(cell) ||
        !Number.isNaN(numberFromText(cell, '.')) ||
        !Number.isNaN(numberFromText(cell, ',')),
    );
    if (!holdsNumbers) return false;
    const { time, temperature, power } = this.options.columns ?? {};
    if ([time, temperature, power].every((choice) => typeof choice === 'number')) return true;
    throw new LogFormatError([
      {
        code: 'no-header',
        line,
        message: `the first line holds numbers (${cells.slice(0, 5).map(quoted).join(', ')}), not headers`,
        remedy:
          'write headers such as time_s,temperature_c,power_w into the first line, or the option columns: { time: 0, temperature: 1, power: 2 } with the index of each column, counted from 0',
      },
    ]);
  }

  /** Rows the text will have if the rest is like its head, with a little to spare. */
  private expectedRows(head: Uint8Array, bodyLength: number): number {
    let lines = 1;
    for (const byte of head) if (byte === 10) lines++;
    const total = Math.max(this.options.expectedBytes ?? 0, bodyLength);
    return total <= head.length ? lines : 1.03 * lines * (total / head.length) + 64;
  }

  private read(chunk: Uint8Array, isLast: boolean): void {
    const bytes = this.transcode === undefined ? chunk : this.transcode(chunk, isLast);
    this.scan(this.afterRest(bytes), isLast);
  }

  /** What was left over, with these bytes behind it; the bytes themselves where nothing was. */
  private afterRest(bytes: Uint8Array): Uint8Array {
    if (this.restLength === 0) return bytes;
    const length = this.restLength + bytes.length;
    if (this.rest.length < length) {
      const roomier = new Uint8Array(2 * length);
      roomier.set(this.rest.subarray(0, this.restLength));
      this.rest = roomier;
    }
    this.rest.set(bytes, this.restLength);
    this.restLength = 0;
    return this.rest.subarray(0, length);
  }

  /** Reads all whole records and keeps what is left over. */
  private scan(bytes: Uint8Array, isLast: boolean): void {
    const { record, collector, delimiterByte } = this;
    const to = bytes.length;
    let at = 0;
    while (at < to) {
      const next = readRecord(bytes, at, to, isLast, delimiterByte, record);
      if (next === -1) break;
      if (record.hasUnclosedQuote) throw this.unclosedQuote();
      if (!isBlankRecord(bytes, record)) {
        if (this.recordsToSkip > 0) this.recordsToSkip--;
        else collector.take(bytes, record, this.line);
      }
      this.line += 1 + record.innerLineCount;
      at = next;
    }
    this.keepRest(bytes, at);
  }

  private keepRest(bytes: Uint8Array, from: number): void {
    const length = bytes.length - from;
    if (length > LONGEST_RECORD_BYTES) throw this.unclosedQuote();
    if (length > 0) {
      if (bytes.buffer === this.rest.buffer) {
        this.rest.copyWithin(0, from, bytes.length);
      } else {
        if (this.rest.length < length) this.rest = new Uint8Array(2 * length);
        this.rest.set(bytes.subarray(from));
      }
    }
    this.restLength = length;
  }

  private unclosedQuote(): LogFormatError {
    return new LogFormatError([
      {
        code: 'unclosed-quote',
        line: this.line,
        message: 'a quoted cell that begins here is never closed, or the line is longer than 1 MiB',
        remedy: 'close the quote, or double quotes that belong to the text',
      },
    ]);
  }
}

function unitsRowFinding(
  { line, cells }: UnitsRow,
  columns: readonly RoleColumn[],
  units: UnitChoice | undefined,
): Finding {
  const used = columns
    .filter(({ role, index, isUnitAssumed }) => {
      return cells[index]?.unit !== undefined && units?.[role] === undefined && !isUnitAssumed;
    })
    .map(({ header, unit }) => `${quoted(header)} in ${unit.symbol}`);
  return {
    code: 'units-row',
    severity: 'note',
    message: `Line ${line} holds the units of the columns, not values${used.length === 0 ? '.' : `; so were read: ${used.join(', ')}.`}`,
    remedy: 'if a unit there is wrong, write the one it has into the option units',
    count: 1,
    lines: [line],
  };
}
