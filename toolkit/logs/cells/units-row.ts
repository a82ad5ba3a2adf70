import { headerWords } from '../../units/header-words.js';
import type { Unit } from '../../units/units.js';
import { type TextRecord, trimmedWidth } from './delimited-record.js';
import { isMissingText } from './number-cell.js';
import { isMeasuredText } from './value-text.js';

/** What the row of units says of one column; neither unit where it says nothing. */
export interface UnitsRowCell {
  /** As written, without brackets. */
  readonly text: string;
  readonly unit?: Unit;
  /** The text, where it stands in the place of a unit and is none we know. */
  readonly unknownUnit?: string;
}

/** A row below the headers that holds their units: `time,temp,power`, then `s,°C,W`. */
export interface UnitsRow {
  readonly line: number;
  /** In the order of the headers; may be shorter. */
  readonly cells: readonly UnitsRowCell[];
}

/** What stands below the header of a time that is written as text: `hh:mm:ss`, `yyyy-mm-dd`. */
const TIME_FORM = /yy|h:mm/i;

/**
 * The units in the first row below the headers, or undefined if it is a row like the others.
 *
 * It is a row of units if no cell is a number or a time (`1` may stand for "no unit") and at least half of the cells
 * that hold something are units we know. Such a row could not be read as a sample, so no sample is lost by it.
 */
export function findUnitsRow(row: TextRecord | undefined, headerCount: number): UnitsRow | undefined {
  if (row === undefined || trimmedWidth(row.cells) > headerCount) return undefined;
  const cells: UnitsRowCell[] = [];
  let filledCount = 0;
  let unitCount = 0;
  for (const cell of row.cells) {
    if (cell.trim() !== '1' && isMeasuredText(cell)) return undefined;
    const stated = unitsRowCell(cell);
    cells.push(stated);
    if (stated.text !== '') filledCount++;
    if (stated.unit !== undefined) unitCount++;
  }
  return unitCount > 0 && unitCount >= filledCount / 2 ? { line: row.line, cells } : undefined;
}

function unitsRowCell(cell: string): UnitsRowCell {
  const text = cell.replace(/^\s*[[({]?\s*|\s*[\])}]?\s*$/g, '');
  if (isMissingText(text) || TIME_FORM.test(text)) return { text: '' };
  const { unit, unknownUnit } = headerWords(`[${text}]`);
  return {
    text,
    ...(unit === undefined ? {} : { unit }),
    ...(unknownUnit === undefined ? {} : { unknownUnit }),
  };
}
