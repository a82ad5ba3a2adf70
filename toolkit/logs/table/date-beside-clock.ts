import type { TextRecord } from '../cells/delimited-record.js';
import { isDateAlone, isTimeOfDay } from '../cells/local-date.js';
import { isMissingText } from '../cells/number-cell.js';
import { isMeasuredText } from '../cells/value-text.js';
import type { ParsedColumn } from './column-candidates.js';

/**
 * The columns that could hold the dates of a clock: the clock's cells are times of day and those of the column dates. Where
 * headers have the word "date", only these; digits alone are a date only under that word.
 *
 * @param rows - the first rows of the table
 */
export function datesBesideClock(
  clock: number,
  columns: readonly ParsedColumn[],
  rows: readonly TextRecord[],
): readonly number[] {
  if (!areMostly(rows, clock, isTimeOfDay)) return [];
  const isDate = (text: string): boolean => isDateAlone(text);
  const dates = columns.filter(
    (column) =>
      column.index !== clock &&
      areMostly(
        rows,
        column.index,
        hasDateWord(column) ? isDate : (text) => !/^\d+$/.test(text) && isDate(text),
      ),
  );
  const named = dates.filter(hasDateWord);
  return (named.length > 0 ? named : dates).map(({ index }) => index);
}

/** The first column beside a clock that has the word "date" and holds something, and what that is. */
export function dateNotRead(
  clock: number,
  columns: readonly ParsedColumn[],
  rows: readonly TextRecord[],
): { readonly index: number; readonly example: string } | undefined {
  if (!areMostly(rows, clock, isTimeOfDay)) return undefined;
  for (const column of columns) {
    if (column.index === clock || !hasDateWord(column)) continue;
    const texts = rows.map(({ cells }) => cells[column.index]?.trim() ?? '');
    const example = texts.find((text) => !isMissingText(text));
    if (example !== undefined) return { index: column.index, example };
  }
  return undefined;
}

/** Columns with the word "date" whose cells hold the time of day as well. */
export function datesWithTime(
  columns: readonly ParsedColumn[],
  rows: readonly TextRecord[],
): readonly ParsedColumn[] {
  return columns.filter((column) => hasDateWord(column) && areMostly(rows, column.index, isDateAndTime));
}

/** Whether the times of a column are written as texts, which have no unit. */
export function areTimeTexts(index: number, rows: readonly TextRecord[]): boolean {
  return areMostly(rows, index, (text) => isTimeOfDay(text) || isDateAndTime(text));
}

function isDateAndTime(text: string): boolean {
  return text.includes(':') && isMeasuredText(text) && !isTimeOfDay(text);
}

function hasDateWord({ parsed }: ParsedColumn): boolean {
  return parsed.words.includes('date');
}

/** Whether more than half of the cells that hold something are so. */
function areMostly(rows: readonly TextRecord[], index: number, isSo: (text: string) => boolean): boolean {
  let filledCount = 0;
  let count = 0;
  for (const { cells } of rows) {
    const text = cells[index]?.trim() ?? '';
    if (isMissingText(text)) continue;
    filledCount++;
    if (isSo(text)) count++;
  }
  return 2 * count > filledCount;
}
