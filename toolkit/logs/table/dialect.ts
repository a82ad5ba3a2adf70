import { type Delimiter, type TextRecord, textRecords, trimmedWidth } from '../cells/delimited-record.js';
import { quoted } from '../cells/quoted.js';
import { isValueText } from '../cells/value-text.js';
import { LogFormatError, type LogIssue } from '../log-format-error.js';
import { locateHeader } from './header-line.js';

const DELIMITERS: readonly (readonly [delimiter: Delimiter, inWords: string, inCode: string])[] = [
  [',', 'comma', "','"],
  [';', 'semicolon', "';'"],
  ['\t', 'tab', "'\\t'"],
  ['|', 'vertical bar', "'|'"],
];

/** How many records of the head are looked at; as many as it holds where these show no table. */
const SAMPLE_RECORDS = 200;

/** Two readings of the head that differ by less than this in how well they fit are a tie. */
const TIE = 0.05;

/** The head of a log, cut up: the header and the first rows below it. */
export interface TableHead {
  readonly delimiter: Delimiter;
  /** What stands above the header. */
  readonly preamble: readonly TextRecord[];
  readonly header: TextRecord;
  readonly rows: readonly TextRecord[];
}

/**
 * Finds the delimiter: the one under which the rows have as many cells as the header and most of their cells are
 * numbers, times or nothing.
 *
 * @param head - the first bytes of the text
 * @param options - isLast: whether the head is the whole text; delimiter: the delimiter, if the caller knows it
 * @throws LogFormatError if no delimiter fits, or two fit equally well
 */
export function readTableHead(
  head: Uint8Array,
  options: { readonly isLast: boolean; readonly delimiter?: Delimiter },
): TableHead {
  const readingsOf = (limit: number) =>
    DELIMITERS.filter(
      ([delimiter]) => options.delimiter === undefined || delimiter === options.delimiter,
    ).map(([delimiter, inWords, inCode]) => {
      const records = textRecords(head, { delimiter, isLast: options.isLast, limit });
      const headerAt = locateHeader(records);
      return { delimiter, inWords, inCode, records, headerAt, fit: fitOf(records.slice(headerAt)) };
    });
  let readings = readingsOf(SAMPLE_RECORDS);
  // Above a log may stand more lines than that.
  if (
    readings.every(({ fit }) => fit === 0) &&
    readings.some(({ records }) => records.length >= SAMPLE_RECORDS)
  )
    readings = readingsOf(Number.POSITIVE_INFINITY);
  const withText = readings.find(({ records }) => records.length > 0);
  if (withText === undefined) throw emptyOrEndless(head, options.isLast);

  readings.sort((a, b) => b.fit - a.fit);
  const [best, second] = readings;
  if (best === undefined || best.fit === 0) throw noDelimiter(readings);
  if (second !== undefined && second.fit > best.fit - TIE) {
    throw new LogFormatError([
      {
        code: 'ambiguous-delimiter',
        line: best.records[best.headerAt].line,
        message: `the cells could be separated by ${best.inWords} or by ${second.inWords}`,
        remedy: `write the option { delimiter: ${best.inCode} } or { delimiter: ${second.inCode} }`,
      },
    ]);
  }
  const { delimiter, records, headerAt } = best;
  return {
    delimiter,
    preamble: records.slice(0, headerAt),
    header: records[headerAt],
    rows: records.slice(headerAt + 1),
  };
}

function emptyOrEndless(head: Uint8Array, isLast: boolean): LogFormatError {
  const isEmpty = isLast && head.every((byte) => byte <= 32);
  return new LogFormatError([
    isEmpty
      ? {
          code: 'empty',
          message: 'the log is empty',
          remedy: 'give delimited text: a header line, then one line per sample',
        }
      : {
          code: 'line-too-long',
          line: 1,
          message: 'no line ends within the first 64 KiB',
          remedy: 'give delimited text: a header line, then one line per sample',
        },
  ]);
}

/** From 0 to 1; 0 where the header has one cell only or most rows have another number of cells. */
function fitOf(records: readonly TextRecord[]): number {
  const [header, ...rows] = records;
  if (header === undefined) return 0;
  const width = trimmedWidth(header.cells);
  if (width < 2) return 0;
  // Without a row below it the header alone has to decide.
  if (rows.length === 0) return width / (1 + width);
  const fitting = rows.filter(({ cells }) => cells.length >= width && trimmedWidth(cells) <= width);
  if (fitting.length < 0.5 * rows.length) return 0;
  let valueCount = 0;
  let cellCount = 0;
  for (const { cells } of fitting) {
    for (const cell of cells) {
      cellCount++;
      if (isValueText(cell)) valueCount++;
    }
  }
  // Half a point for the shape, so that a table of words still beats one that does not fit.
  return (fitting.length / rows.length) * (0.5 + (0.5 * valueCount) / cellCount);
}

function noDelimiter(
  readings: readonly { readonly inWords: string; readonly records: readonly TextRecord[] }[],
): LogFormatError {
  const reading = readings.reduce((a, b) =>
    (b.records[0]?.cells.length ?? 0) > (a.records[0]?.cells.length ?? 0) ? b : a,
  );
  const [header, row] = reading.records;
  const headerWidth = header?.cells.length ?? 0;
  const issue: LogIssue =
    headerWidth < 2 || row === undefined
      ? {
          code: 'no-delimiter',
          line: header?.line ?? 1,
          message: `the first line has one cell only: ${quoted(header?.cells[0] ?? '')}`,
          remedy:
            'separate the cells by comma, semicolon, tab or vertical bar, with a header in the first line',
        }
      : {
          code: 'cell-count',
          line: row.line,
          message:
            `the header has ${headerWidth} cells separated by ${reading.inWords}, this line has ${row.cells.length}` +
            (reading.inWords === 'comma' && row.cells.length > headerWidth
              ? '; the comma may stand for the decimal mark as well'
              : ''),
          remedy: 'export the log again with one header line and a delimiter that is not the decimal mark',
        };
  return new LogFormatError([issue]);
}

/**
 * Finds the decimal mark from the cells that will be read as numbers.
 *
 * A mark followed by exactly three digits could part the thousands: a comma then proves nothing by itself, a point
 * only where no comma is a decimal mark.
 *
 * @throws LogFormatError if cells speak for both marks, or commas are there and prove nothing
 */
export function findDecimal(
  rows: readonly TextRecord[],
  columns: readonly number[],
): { readonly decimal: '.' | ','; readonly isProven: boolean } {
  let withPoint: readonly [string, number, number] | undefined;
  let withComma: readonly [string, number, number] | undefined;
  let unproven: readonly [string, number, number] | undefined;
  let pointInThrees: readonly [string, number, number] | undefined;
  for (const { line, cells } of rows) {
    for (const column of columns) {
      const text = cells[column]?.trim() ?? '';
      const where = [text, line, column] as const;
      if (POINT_IN_THREES.test(text)) pointInThrees ??= where;
      else if (POINT.test(text)) withPoint ??= where;
      else if (COMMA_IN_THREES.test(text)) unproven ??= where;
      else if (COMMA.test(text)) withComma ??= where;
    }
  }
  if (withComma !== undefined && withPoint !== undefined) {
    throw ambiguousDecimal(
      withPoint[1] > withComma[1] ? withPoint : withComma,
      `${quoted(withComma[0])} has a decimal comma and ${quoted(withPoint[0])} a decimal point`,
    );
  }
  // Beside decimal commas, a point before every three digits parts the thousands.
  if (withComma !== undefined) return { decimal: ',', isProven: true };
  if (withPoint === undefined && pointInThrees === undefined && unproven !== undefined) {
    throw ambiguousDecimal(
      unproven,
      `${quoted(unproven[0])} may have a decimal comma or a thousands separator`,
    );
  }
  return { decimal: '.', isProven: withPoint !== undefined };
}

const POINT = /^[+\-−]?(?:\d*|\d{1,3}(?:,\d{3})+)\.\d+(?:[eE][+-]?\d+)?$/;
const POINT_IN_THREES = /^[+\-−]?[1-9]\d{0,2}(?:\.\d{3})+$/;
const COMMA = /^[+\-−]?(?:\d*|\d{1,3}(?:\.\d{3})+),\d+(?:[eE][+-]?\d+)?$/;
const COMMA_IN_THREES = /^[+\-−]?[1-9]\d{0,2}(?:,\d{3})+$/;

function ambiguousDecimal(where: readonly [string, number, number], message: string): LogFormatError {
  return new LogFormatError([
    {
      code: 'ambiguous-decimal',
      line: where[1],
      column: where[2] + 1,
      message,
      remedy: "write the option { decimal: ',' } or { decimal: '.' }, or export with one mark throughout",
    },
  ]);
}
