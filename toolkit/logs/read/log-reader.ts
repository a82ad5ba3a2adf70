import type { Finding } from '../../runs/finding.js';
import { LISTED_LINE_COUNT } from '../../runs/quality/listed-lines.js';
import type { PowerSample } from '../../runs/run.js';
import {
  type DelimitedRecord,
  type Delimiter,
  isBlankRecord,
  newRecord,
  readRecord,
  type TextRecord,
} from '../cells/delimited-record.js';
import type { JsonLines } from '../cells/json-lines.js';
import type { DateOrder } from '../cells/local-date.js';
import { behindNuls, shortenNulBlocks } from '../cells/nul-bytes.js';
import type { PlainRows } from '../cells/plain-rows.js';
import { quoted } from '../cells/quoted.js';
import type { UnitsRow } from '../cells/units-row.js';
import { LogFormatError } from '../log-format-error.js';
import type { CollectedSamples } from '../samples/collected-samples.js';
import { SampleCollector } from '../samples/sample-collector.js';
import type { ColumnChoice, RoleColumn, UnitChoice } from '../table/column-rules.js';
import { findColumns } from '../table/columns.js';
import { findDecimal } from '../table/dialect.js';
import { HEAD_BYTES, openText, tableStart } from '../table/table-start.js';

const LINE_FEED = 10;

/** A record longer than this is no row of a log; most likely a quote was never closed. */
const LONGEST_RECORD_BYTES = 1 << 20;

/** What a caller may tell the reader beforehand. */
export interface LogReaderOptions {
  readonly columns?: ColumnChoice;
  readonly units?: UnitChoice;
  readonly delimiter?: Delimiter;
  readonly decimal?: '.' | ',';
  readonly dateOrder?: DateOrder;
  readonly blockS?: number;
  /** Bytes that the numbers may take where `blockS` is not given. */
  readonly budgetBytes?: number;
  readonly powerSample?: PowerSample;
  /** Size of the whole text, bytes, if it is known: room for the rows is then reserved once. */
  readonly expectedBytes?: number;
}

/**
 * Reads a log that comes in chunks of bytes, so that a file need never be in memory as a whole.
 *
 * The head decides how the rest is read. After that, rows flow into a `SampleCollector`, plain ones through `PlainRows`
 * and all others through `readRecord`, and only a record cut by the end of a chunk is kept until the next chunk.
 */
export class LogReader {
  private isBegun = false;
  private transcode: ((chunk: Uint8Array, isLast: boolean) => Uint8Array) | undefined;
  private json: JsonLines | undefined;
  private collector!: SampleCollector;
  private plainRows: PlainRows | undefined;
  private delimiterByte = 0;
  private readonly record: DelimitedRecord = newRecord();
  private line = 1;
  /** Records at the top that are no samples: preamble, headers, and the row of units. */
  private recordsToSkip = 0;
  /** Lines that begin with NUL bytes and are whole behind them. */
  private readonly nulLines: number[] = [];
  private headFindings: readonly Finding[] = [];
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
    return this.withHeadFindings(this.collector.finish());
  }

  /**
   * What the whole lines so far hold; more may come afterwards.
   *
   * @throws LogFormatError as `finish`
   */
  snapshot(): CollectedSamples {
    if (this.isBegun) return this.withHeadFindings(this.collector.snapshot());
    const soFar = this.rest.slice(0, this.restLength);
    const whole = soFar.subarray(0, Math.max(soFar.lastIndexOf(10), soFar.lastIndexOf(13)) + 1);
    const { expectedBytes: _, ...options } = this.options;
    const reader = new LogReader(options);
    reader.push(whole);
    return reader.finish();
  }

  /** Leaves out the line that is only half there: what comes next is the beginning of another. */
  dropHalfLine(): void {
    if (!this.isBegun) {
      const whole = this.rest.subarray(0, this.restLength);
      this.restLength = Math.max(whole.lastIndexOf(10), whole.lastIndexOf(13)) + 1;
      return;
    }
    if (this.restLength > 0) this.collector.takeHalf(this.line++);
    this.restLength = 0;
  }

  /** Number of samples so far. */
  get sampleCount(): number {
    return this.isBegun ? this.collector.sampleCount : 0;
  }

  private withHeadFindings(samples: CollectedSamples): CollectedSamples {
    const { nulLines } = this;
    return {
      ...samples,
      findings: [
        ...this.headFindings,
        ...(this.json?.findings() ?? []),
        ...(nulLines.length === 0
          ? []
          : [
              {
                code: 'nul-bytes',
                severity: 'note' as const,
                message: `NUL bytes stand before line ${nulLines[0]}${nulLines.length > 1 ? ` and ${nulLines.length - 1} more` : ''}, as a machine leaves them that lost its power while writing; the lines behind them were read.`,
                remedy: 'look for what happened there: what stands behind them is another start',
                lines: nulLines.slice(0, LISTED_LINE_COUNT),
              },
            ]),
        ...samples.findings,
      ],
    };
  }

  private begin(head: Uint8Array, isLast: boolean): void {
    this.isBegun = true;
    const { body, transcode, json } = openText(head, isLast, this.options.delimiter);
    this.transcode = transcode;
    this.json = json;
    // The header made from JSON lines is none of them.
    if (json !== undefined) this.line = 0;
    this.readHead(body, isLast);
    this.scan(body, isLast);
  }

  private readHead(body: Uint8Array, isWhole: boolean): void {
    const start = tableStart(body, { ...this.options, isWhole, isJson: this.json !== undefined });
    const { headers, preamble, line, unitsRow, unitsCells } = start;
    const { columns, units, dateOrder, blockS, budgetBytes, powerSample = 'interval-mean' } = this.options;
    const found = findColumns(headers, {
      line,
      rows: unitsRow === undefined ? start.rows : start.rows.slice(1),
      ...(columns === undefined ? {} : { columns }),
      ...(units === undefined ? {} : { units }),
      ...(unitsRow === undefined ? {} : { unitsRow }),
    });
    this.headFindings = [
      ...(preamble.length === 0 ? [] : [preambleFinding(preamble, line)]),
      ...(unitsRow === undefined ? [] : [unitsRowFinding(unitsRow, found.columns, units)]),
      ...found.findings,
    ];
    this.delimiterByte = start.delimiter.charCodeAt(0);
    this.collector = new SampleCollector(found.columns, {
      headers,
      ...(unitsCells === undefined ? {} : { unitsCells }),
      ...this.decimalOf(start.rows, found.columns),
      ...(dateOrder === undefined ? {} : { dateOrder }),
      ...(blockS === undefined ? {} : { blockS }),
      ...(budgetBytes === undefined ? {} : { budgetBytes }),
      powerSample,
      expectedRows: this.expectedRows(body.subarray(0, HEAD_BYTES), body.length),
    });
    this.recordsToSkip = start.recordCount;
  }

  private decimalOf(
    rows: readonly TextRecord[],
    columns: readonly RoleColumn[],
  ): { readonly decimal: '.' | ','; readonly isDecimalProven: boolean } {
    // JSON has one decimal mark [RFC8259, sec. 6].
    const stated = this.json === undefined ? this.options.decimal : '.';
    if (stated !== undefined) return { decimal: stated, isDecimalProven: true };
    const { decimal, isProven } = findDecimal(
      rows,
      columns.flatMap(({ index, combined }) => combined?.indices ?? [index]),
    );
    return { decimal, isDecimalProven: isProven };
  }

  /** Rows the text will have if the rest is like its head, with a little to spare. */
  private expectedRows(head: Uint8Array, bodyLength: number): number {
    let lines = 1;
    for (let at = head.indexOf(LINE_FEED); at !== -1; at = head.indexOf(LINE_FEED, at + 1)) lines++;
    const total = Math.max(this.options.expectedBytes ?? 0, bodyLength);
    return total <= head.length ? lines : 1.03 * lines * (total / head.length) + 64;
  }

  private read(chunk: Uint8Array, isLast: boolean): void {
    const text = this.transcode === undefined ? chunk : this.transcode(chunk, isLast);
    const body = this.json === undefined ? text : this.json.convert(text, isLast);
    // A line cut in two is put together by itself, so that what comes behind it need not be copied.
    const lineEnd = this.restLength === 0 ? 0 : body.indexOf(LINE_FEED) + 1;
    if (lineEnd > 0) this.scan(this.afterRest(body.subarray(0, lineEnd)), false);
    this.scan(this.afterRest(body.subarray(lineEnd)), isLast);
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
    const lastLineEnd = bytes.lastIndexOf(LINE_FEED) + 1;
    let at = 0;
    while (at < to) {
      at = this.takePlainRows(bytes, at, lastLineEnd);
      if (at === to) break;
      if (bytes[at] === 0) {
        at = behindNuls(bytes, at, to);
        this.nulLines.push(this.line);
        if (at === to) break;
      }
      const next = readRecord(bytes, at, to, isLast, delimiterByte, record);
      if (next === -1) break;
      if (record.hasUnclosedQuote) throw this.unclosedQuote();
      if (!isBlankRecord(bytes, record)) {
        if (this.recordsToSkip > 0) this.recordsToSkip--;
        else if (record.hasNul) collector.takeNuls(this.line);
        else collector.take(bytes, record, this.line, next === to && isLast && !endsLine(bytes[to - 1]));
      }
      this.line += 1 + record.innerLineCount;
      at = next;
    }
    this.keepRest(bytes, at);
  }

  /** Takes the plain rows that come next; returns where the first other record begins. */
  private takePlainRows(bytes: Uint8Array, from: number, to: number): number {
    if (this.recordsToSkip > 0 || from >= to) return from;
    this.plainRows ??= this.collector.plainRows(this.delimiterByte);
    if (this.plainRows === undefined) return from;
    let at = from;
    do {
      at = this.plainRows.read(bytes, at, to);
      if (this.plainRows.count > 0) this.collector.takePlainRows(this.plainRows, this.line);
      this.line += this.plainRows.count;
    } while (at < to && this.plainRows.count > 0);
    return at;
  }

  private keepRest(bytes: Uint8Array, from: number): void {
    let left = bytes.subarray(from);
    // A block that was never written may be as long as it likes.
    if (left.length > LONGEST_RECORD_BYTES) left = shortenNulBlocks(left);
    const { length } = left;
    if (length > LONGEST_RECORD_BYTES) throw this.unclosedQuote();
    if (length > 0) {
      if (left.buffer === this.rest.buffer) {
        this.rest.copyWithin(0, from, bytes.length);
      } else {
        if (this.rest.length < length) this.rest = new Uint8Array(2 * length);
        this.rest.set(left);
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

function endsLine(byte: number): boolean {
  return byte === 10 || byte === 13;
}

function preambleFinding(preamble: readonly TextRecord[], headerLine: number): Finding {
  const { length } = preamble;
  return {
    code: 'preamble',
    severity: 'note',
    message: `The header is line ${headerLine}; ${length === 1 ? 'the line above it was' : `${length} lines above it were`} left out (${quoted(preamble[0].cells.join(' ').replaceAll(/\s+/g, ' ').trim())}${length > 1 ? ' …' : ''}).`,
    remedy: 'if conditions of the run stand there, write them into the conditions file',
    count: length,
    lines: preamble.slice(0, LISTED_LINE_COUNT).map(({ line }) => line),
  };
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
