import { type TextRecord, trimmedWidth } from '../cells/delimited-record.js';
import { isMissingText } from '../cells/number-cell.js';
import { isMeasuredText } from '../cells/value-text.js';
import { recognisedCount } from './column-candidates.js';

/** Words of so many roles make a header, wherever it stands. */
const PLAIN_HEADER = 2;

/**
 * Which of the first records is the header: the one above the rows with the most headers that we recognise, of
 * several the first. Where none is recognised there, lines that look like rows may stand above it, such as facts about the run:
 * it is then the first plain header with more rows below it than above it, else the first record that is as wide as the rows.
 * What stands above it is preamble.
 */
export function locateHeader(records: readonly TextRecord[]): number {
  const rowWidth = commonWidth(records.filter(isRow));
  const firstRow = records.findIndex((record) => isRow(record) && record.cells.length === rowWidth);
  const above = firstRow === -1 ? records : records.slice(0, firstRow);
  const fits = ({ cells }: TextRecord): boolean => {
    const width = trimmedWidth(cells);
    return width >= 2 && (rowWidth === undefined || width <= rowWidth);
  };
  let best = -1;
  let mostRecognised = 0;
  above.forEach((record, index) => {
    if (!fits(record)) return;
    const count = recognisedCount(record.cells);
    if (count > mostRecognised) {
      best = index;
      mostRecognised = count;
    }
  });
  if (best !== -1) return best;
  const below = plainHeaderAmongRows(records, fits);
  if (below !== -1) return below;
  const asWide = above.findIndex(({ cells }) => trimmedWidth(cells) >= 2 && cells.length === rowWidth);
  return Math.max(0, asWide);
}

function plainHeaderAmongRows(records: readonly TextRecord[], fits: (record: TextRecord) => boolean): number {
  const rowCount = records.filter(isRow).length;
  let rowsAbove = 0;
  for (const [index, record] of records.entries()) {
    if (isRow(record)) rowsAbove++;
    else if (fits(record) && recognisedCount(record.cells) >= PLAIN_HEADER)
      return rowCount - rowsAbove > rowsAbove ? index : -1;
  }
  return -1;
}

/** Whether at least half of the cells that hold something are numbers or times. */
function isRow({ cells }: TextRecord): boolean {
  if (cells.length < 2) return false;
  let filled = 0;
  let measured = 0;
  for (const cell of cells) {
    if (isMissingText(cell)) continue;
    filled++;
    if (isMeasuredText(cell)) measured++;
  }
  return measured > 0 && 2 * measured >= filled;
}

/** The number of cells that most records have. */
function commonWidth(records: readonly TextRecord[]): number | undefined {
  const counts = new Map<number, number>();
  for (const { cells } of records) counts.set(cells.length, (counts.get(cells.length) ?? 0) + 1);
  let common: number | undefined;
  for (const [width, count] of counts)
    if (common === undefined || count > counts.get(common)!) common = width;
  return common;
}
