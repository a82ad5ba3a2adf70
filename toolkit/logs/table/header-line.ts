import { type TextRecord, trimmedWidth } from '../cells/delimited-record.js';
import { isMissingText } from '../cells/number-cell.js';
import { isMeasuredText } from '../cells/value-text.js';
import { recognisedCount } from './column-candidates.js';

/**
 * Which of the first records is the header: the one above the rows with the most headers that we recognise, of
 * several the first; where none is recognised, the first that is as wide as the rows. What stands above it is
 * preamble.
 */
export function locateHeader(records: readonly TextRecord[]): number {
  const rowWidth = commonWidth(records.filter(isRow));
  const firstRow = records.findIndex((record) => isRow(record) && record.cells.length === rowWidth);
  const above = firstRow === -1 ? records : records.slice(0, firstRow);
  let best = -1;
  let mostRecognised = 0;
  above.forEach(({ cells }, index) => {
    const width = trimmedWidth(cells);
    if (width < 2 || (rowWidth !== undefined && width > rowWidth)) return;
    const count = recognisedCount(cells);
    if (count > mostRecognised) {
      best = index;
      mostRecognised = count;
    }
  });
  if (best !== -1) return best;
  const asWide = above.findIndex(({ cells }) => trimmedWidth(cells) >= 2 && cells.length === rowWidth);
  return Math.max(0, asWide);
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
