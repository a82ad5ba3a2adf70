import { byteOrderMarkLength, findEncoding, utf16ToUtf8 } from '../cells/decode.js';
import { type Delimiter, type TextRecord, trimmedWidth } from '../cells/delimited-record.js';
import { beginsAsJson, JsonLines } from '../cells/json-lines.js';
import { behindNuls, shortenNulBlocks } from '../cells/nul-bytes.js';
import { quoted } from '../cells/quoted.js';
import { findUnitsRow, type UnitsRow } from '../cells/units-row.js';
import { isMeasuredText, isValueText } from '../cells/value-text.js';
import { LogFormatError } from '../log-format-error.js';
import type { ColumnChoice } from './column-rules.js';
import { readTableHead } from './dialect.js';

/** How much of a text is looked at to find encoding, delimiter, columns and decimal mark. */
export const HEAD_BYTES: number = 1 << 16;

/** A text as delimited UTF-8 or Latin-1, whatever it was. */
export interface OpenedText {
  readonly body: Uint8Array;
  /** What turns further chunks into UTF-8, where the text is UTF-16. */
  readonly transcode?: (chunk: Uint8Array, isLast: boolean) => Uint8Array;
  /** What turns further chunks into delimited text, where the text is JSON lines. */
  readonly json?: JsonLines;
}

/**
 * Finds out what kind of text begins here.
 *
 * @param head - the first bytes
 * @param isLast - whether they are all
 * @param delimiter - the delimiter, where it is known: then the text is no JSON
 * @throws LogFormatError if it is no text, or a list in JSON
 */
export function openText(head: Uint8Array, isLast: boolean, delimiter: Delimiter | undefined): OpenedText {
  const encoding = findEncoding(head);
  const transcode = encoding === 'ascii-like' ? undefined : utf16ToUtf8(encoding);
  // Looked for in the beginning only: the whole of a log may be given as its head.
  const hasNuls = head.subarray(0, HEAD_BYTES).includes(0);
  const decoded = transcode !== undefined ? transcode(head, isLast) : hasNuls ? shortenNulBlocks(head) : head;
  const marked = decoded.subarray(byteOrderMarkLength(decoded));
  const body = marked.subarray(behindNuls(marked, 0, marked.length));
  const more = transcode === undefined ? {} : { transcode };
  const sign = delimiter === undefined ? beginsAsJson(body) : undefined;
  if (sign === '[') throw jsonList();
  if (sign === undefined) return { body, ...more };
  const json = new JsonLines();
  return { body: json.convert(body, isLast), ...more, json };
}

/** Where the rows of a table begin, and what stands above them. */
export interface TableStart {
  readonly delimiter: Delimiter;
  readonly preamble: readonly TextRecord[];
  /** Line of the header, or of the first row where there is no header. */
  readonly line: number;
  readonly hasHeader: boolean;
  /** As many as every row has cells; `column 1` and so on where there is no header. */
  readonly headers: readonly string[];
  readonly unitsRow?: UnitsRow;
  /** The cells of the row of units as they stand there. */
  readonly unitsCells?: readonly string[];
  /** The first rows; the row of units is among them, since no number is in it. */
  readonly rows: readonly TextRecord[];
  /** Records above the first row. */
  readonly recordCount: number;
}

/**
 * Finds delimiter, header and row of units.
 *
 * @param body - the text from its beginning, in one encoding
 * @param options - isWhole: whether nothing comes behind; isJson: whether the header is none of the lines
 * @throws LogFormatError if no delimiter fits, or two do, or there is no header and the columns were not chosen by index
 */
export function tableStart(
  body: Uint8Array,
  options: {
    readonly isWhole: boolean;
    readonly isJson: boolean;
    readonly delimiter?: Delimiter;
    readonly columns?: ColumnChoice;
  },
): TableStart {
  const head = body.subarray(0, HEAD_BYTES);
  const delimiter = options.isJson ? ',' : options.delimiter;
  const table = readTableHead(head, {
    isLast: options.isWhole && head.length === body.length,
    ...(delimiter === undefined ? {} : { delimiter }),
  });
  const { preamble, header, rows } = table;
  const line = options.isJson ? 1 : header.line;
  const width = trimmedWidth(header.cells);
  const cells = header.cells.slice(0, width);
  const common = { delimiter: table.delimiter, preamble, line } as const;
  if (holdsNumbers(cells)) {
    requireIndices(cells, line, options.columns);
    return {
      ...common,
      hasHeader: false,
      headers: cells.map((_, i) => `column ${i + 1}`),
      rows: [header, ...rows],
      recordCount: preamble.length,
    };
  }
  const unitsRow = findUnitsRow(rows[0], width);
  return {
    ...common,
    hasHeader: true,
    headers: cells,
    ...(unitsRow === undefined ? {} : { unitsRow, unitsCells: rows[0].cells }),
    rows,
    recordCount: preamble.length + (unitsRow === undefined ? 1 : 2),
  };
}

function holdsNumbers(cells: readonly string[]): boolean {
  return cells.some(isMeasuredText) && cells.every(isValueText);
}

/** Without headers every column must have been chosen by its index. */
function requireIndices(cells: readonly string[], line: number, columns: ColumnChoice | undefined): void {
  const { time, temperature, power } = columns ?? {};
  const chosen = typeof time === 'object' && 'clock' in time ? [time.date, time.clock] : [time];
  if ([...chosen, temperature, power].every((choice) => typeof choice === 'number')) return;
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

function jsonList(): LogFormatError {
  return new LogFormatError([
    {
      code: 'json-list',
      line: 1,
      message: 'the text is a list in JSON, not lines',
      remedy: 'write one object per line: {"time_s": 0, "temperature_c": 31.5, "power_w": 64.8}',
    },
  ]);
}
