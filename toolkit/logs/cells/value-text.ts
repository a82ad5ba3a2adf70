import { timeFromText } from '../../units/time-text.js';
import { isDateAlone, localDateFromText, twelveHourTime } from './local-date.js';
import { isMissingText, numberFromText } from './number-cell.js';

/** Whether a cell holds a number, a time or a date. */
export function isMeasuredText(cell: string): boolean {
  const text = cell.trim();
  return (
    !Number.isNaN(numberFromText(text, '.')) ||
    !Number.isNaN(numberFromText(text, ',')) ||
    timeFromText(text) !== undefined ||
    localDateFromText(text) !== undefined ||
    twelveHourTime(text) !== undefined ||
    isDateAlone(text)
  );
}

/** Whether a cell is as those of a row are: a number, a time, or nothing. */
export function isValueText(cell: string): boolean {
  return isMissingText(cell) || isMeasuredText(cell);
}
