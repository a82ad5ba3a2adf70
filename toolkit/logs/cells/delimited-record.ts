import { decodeBytes } from './decode.js';

/** Characters that may separate the cells of a line. */
export type Delimiter = ',' | ';' | '\t' | '|';

const QUOTE = 34;
const LINE_FEED = 10;
const CARRIAGE_RETURN = 13;

/**
 * One record of a delimited table as extents in the bytes it was read from; the arrays are reused from record to
 * record, so that reading a million lines makes no garbage.
 */
export interface DelimitedRecord {
  count: number;
  /** First byte of each cell, after the opening quote if there is one. */
  starts: Int32Array;
  /** One past the last byte of each cell, before the closing quote. */
  ends: Int32Array;
  /** 1 where a quoted cell holds doubled quotes that stand for one. */
  doubled: Uint8Array;
  /** How many line ends lie inside quoted cells. */
  innerLineCount: number;
  /** Whether the text ended inside a quoted cell. */
  hasUnclosedQuote: boolean;
  /** Whether a NUL byte stands in the record. */
  hasNul: boolean;
}

/** An empty record to read into. */
export function newRecord(): DelimitedRecord {
  return {
    count: 0,
    starts: new Int32Array(16),
    ends: new Int32Array(16),
    doubled: new Uint8Array(16),
    innerLineCount: 0,
    hasUnclosedQuote: false,
    hasNul: false,
  };
}

/**
 * Reads one record of comma-separated values or its kin from `bytes[from, to)` [RFC4180, sec. 2].
 *
 * A record ends with CRLF, LF or CR. A cell that begins with a quote runs to the closing quote and may hold
 * delimiters and line ends; a doubled quote stands for one. Blanks behind a closing quote do not
 * count; where other text follows it, or a quote stands inside an unquoted cell, the cell is taken literally.
 *
 * @param isLast - whether nothing comes after `to`: then the end of the bytes ends the record
 * @returns where the next record begins, or -1 if the bytes end before the record does
 */
export function readRecord(
  bytes: Uint8Array,
  from: number,
  to: number,
  isLast: boolean,
  delimiterByte: number,
  record: DelimitedRecord,
): number {
  let { starts, ends } = record;
  let capacity = starts.length;
  let count = 0;
  let i = from;
  record.innerLineCount = 0;
  record.hasUnclosedQuote = false;
  record.hasNul = false;
  for (;;) {
    if (count === capacity) {
      widen(record);
      ({ starts, ends } = record);
      capacity = starts.length;
    }
    let start = i;
    let end = -1;
    if (i < to && bytes[i] === QUOTE) {
      const closing = closingQuote(bytes, i + 1, to, record, count);
      if (closing === -1) {
        if (!isLast) return -1;
        record.hasUnclosedQuote = true;
        i = to;
      } else {
        i = closing + 1;
        let behind = i;
        while (behind < to && bytes[behind] === 32) behind++;
        if (behind === to && !isLast) return -1;
        if (
          behind === to ||
          bytes[behind] === delimiterByte ||
          bytes[behind] === LINE_FEED ||
          bytes[behind] === CARRIAGE_RETURN
        ) {
          start++;
          end = closing;
          i = behind;
        }
      }
    }
    while (i < to) {
      const byte = bytes[i];
      // Two comparisons for nearly every byte.
      if (byte <= CARRIAGE_RETURN || byte === delimiterByte) {
        if (byte === LINE_FEED || byte === CARRIAGE_RETURN || byte === delimiterByte) break;
        if (byte === 0) record.hasNul = true;
      }
      i++;
    }
    if (i >= to && !isLast) return -1;
    starts[count] = start;
    ends[count] = end === -1 ? i : end;
    count++;
    if (i >= to || bytes[i] !== delimiterByte) break;
    i++;
  }
  record.count = count;
  if (i >= to) return to;
  if (bytes[i] === LINE_FEED) return i + 1;
  // A carriage return at the very end may be the first half of CRLF.
  if (i + 1 >= to) return isLast ? to : -1;
  return bytes[i + 1] === LINE_FEED ? i + 2 : i + 1;
}

function closingQuote(
  bytes: Uint8Array,
  from: number,
  to: number,
  record: DelimitedRecord,
  cell: number,
): number {
  let lines = 0;
  record.doubled[cell] = 0;
  for (let i = from; i < to; i++) {
    const byte = bytes[i];
    if (byte === QUOTE) {
      if (i + 1 < to && bytes[i + 1] === QUOTE) {
        record.doubled[cell] = 1;
        i++;
      } else {
        record.innerLineCount += lines;
        return i;
      }
    } else if (byte === 0) record.hasNul = true;
    else if (byte === LINE_FEED) lines++;
    else if (byte === CARRIAGE_RETURN && bytes[i + 1] !== LINE_FEED) lines++;
  }
  return -1;
}

function widen(record: DelimitedRecord): void {
  const capacity = 2 * record.starts.length;
  const starts = new Int32Array(capacity);
  const ends = new Int32Array(capacity);
  const doubled = new Uint8Array(capacity);
  starts.set(record.starts);
  ends.set(record.ends);
  doubled.set(record.doubled);
  record.starts = starts;
  record.ends = ends;
  record.doubled = doubled;
}

/** The text of one cell, quotes resolved, blanks as they are. */
export function cellText(bytes: Uint8Array, record: DelimitedRecord, cell: number): string {
  const start = record.starts[cell];
  const text = decodeBytes(bytes.subarray(start, record.ends[cell]));
  const wasQuoted = start > 0 && bytes[start - 1] === QUOTE && bytes[record.ends[cell]] === QUOTE;
  return wasQuoted && record.doubled[cell] === 1 ? text.replaceAll('""', '"') : text;
}

/** Whether the record is a line with nothing on it; a line of delimiters is a row without values, not a blank line. */
export function isBlankRecord(bytes: Uint8Array, record: DelimitedRecord): boolean {
  if (record.count !== 1) return false;
  for (let i = record.starts[0]; i < record.ends[0]; i++) {
    const byte = bytes[i];
    if (byte !== 32 && byte !== 9) return false;
  }
  return true;
}

/** A record with its cells as text and the line it begins on. */
export interface TextRecord {
  readonly line: number;
  readonly cells: readonly string[];
}

/** The first records of some bytes as text, blank lines left out, at most `limit`, whole ones only. */
export function textRecords(
  bytes: Uint8Array,
  options: { readonly delimiter: Delimiter; readonly isLast: boolean; readonly limit: number },
): TextRecord[] {
  const record = newRecord();
  const delimiterByte = options.delimiter.charCodeAt(0);
  const found: TextRecord[] = [];
  let line = 1;
  for (let at = 0; at < bytes.length && found.length < options.limit; ) {
    const next = readRecord(bytes, at, bytes.length, options.isLast, delimiterByte, record);
    if (next === -1) break;
    if (!isBlankRecord(bytes, record)) {
      found.push({
        line,
        cells: Array.from({ length: record.count }, (_, cell) => cellText(bytes, record, cell)),
      });
    }
    line += 1 + record.innerLineCount;
    at = next;
  }
  return found;
}

/** Number of cells without blank ones at the end, which a delimiter at the end of the line makes. */
export function trimmedWidth(cells: readonly string[]): number {
  let width = cells.length;
  while (width > 0 && cells[width - 1].trim() === '') width--;
  return width;
}
