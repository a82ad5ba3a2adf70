import type { KnownMinute } from './known-minute.js';
import { numberFromBytes } from './number-cell.js';
import { POWERS_OF_TEN } from './powers-of-ten.js';

const TAB = 9;
const LINE_FEED = 10;
const CARRIAGE_RETURN = 13;
const BLANK = 32;
const QUOTE = 34;
const MINUS = 45;
const ZERO = 48;

/** Rows read before they are handed on: so few that their numbers are still near the processor when they are. */
const ROWS_AT_ONCE = 256;

/** Every integer of so many decimal digits fits into 31 bits. */
const INTEGER_DIGITS = 9;

/** Where in a row of numbers that of a cell goes, if not to a place. */
const NOT_WANTED = -1;
const TIME_IN_WORDS = -2;
const DATE_BESIDE = -3;

/** A cell of which the number is wanted. */
export interface NumberCell {
  readonly index: number;
  /** Lowest value that is possible. */
  readonly floor: number;
}

/** What the rows of a table have in common. */
export interface PlainTable {
  /** Cells in every row. */
  readonly width: number;
  readonly delimiterByte: number;
  readonly decimalByte: number;
  /** What reads the first of the wanted cells, where times are no numbers. */
  readonly minute?: KnownMinute;
  /** The cell of the date, where it stands beside the clock. */
  readonly dateIndex?: number;
}

/**
 * Reads rows with nothing unusual in them, as nearly all rows of a log are: as many cells as the header, a number or a
 * time of the known minute in every cell that is wanted, a line feed at the end.
 *
 * One pass over the bytes, without extents, objects or texts for any cell, several times faster than `readRecord`. What
 * is not plain ends the pass and is left to `readRecord`, which knows all rules; whatever is read here, it would read
 * the same.
 */
export class PlainRows {
  /** How many rows the last pass has read; each is one line. */
  count = 0;
  /** Their numbers, row after row, in the order of the wanted cells. */
  readonly values: Float64Array;
  /** How many numbers a row has. */
  readonly cellCount: number;
  /** Fewest bytes in the last cell of a row so far. */
  shortestLastCell: number = 2 ** 30;
  /** For each cell of a row its place in a row of `values`. */
  private readonly places: Int32Array;
  private readonly floors: Float64Array;

  constructor(
    cells: readonly NumberCell[],
    private readonly table: PlainTable,
  ) {
    this.cellCount = cells.length;
    this.values = new Float64Array(ROWS_AT_ONCE * cells.length);
    this.floors = Float64Array.from(cells, ({ floor }) => floor);
    this.places = new Int32Array(table.width).fill(NOT_WANTED);
    for (const [place, { index }] of cells.entries()) this.places[index] = place;
    if (table.minute !== undefined) this.places[cells[0]!.index] = TIME_IN_WORDS;
    if (table.dateIndex !== undefined) this.places[table.dateIndex] = DATE_BESIDE;
  }

  /**
   * Reads the rows that come next, until one is not plain or `values` is full.
   *
   * @param to - one past a line feed, before which every cell ends
   * @returns where the next row begins
   */
  read(bytes: Uint8Array, from: number, to: number): number {
    const { values, cellCount, places, floors } = this;
    const { width, delimiterByte, decimalByte, minute } = this.table;
    let shortest = this.shortestLastCell;
    let rowStart = from;
    let row = 0;
    rows: while (rowStart < to && row < values.length) {
      let cellStart = rowStart;
      let i = rowStart;
      let byte = delimiterByte;
      for (let cell = 0; cell < width; cell++) {
        if (byte !== delimiterByte) break rows;
        cellStart = i;
        const place = places[cell]!;
        if (place < 0) {
          i = endOfCell(bytes, i, delimiterByte);
          if (i === -1) break rows;
          if (place !== NOT_WANTED) {
            const quotes = bytes[cellStart] === QUOTE ? 1 : 0;
            if (place === DATE_BESIDE) {
              if (!minute!.hasDate(bytes, cellStart + quotes, i - quotes)) break rows;
            } else {
              const timeS = minute!.read(bytes, cellStart + quotes, i - quotes);
              if (Number.isNaN(timeS)) break rows;
              values[row] = timeS;
            }
          }
          byte = bytes[i++]!;
          continue;
        }
        byte = bytes[i++]!;
        const isNegative = byte === MINUS;
        if (isNegative) byte = bytes[i++]!;
        // Integers: adding up in doubles takes three times as long for each digit. One that overflows is not used.
        let digits = 0;
        let digit = byte - ZERO;
        const firstDigit = i;
        for (; digit >= 0 && digit <= 9; digit = byte - ZERO) {
          digits = (Math.imul(digits, 10) + digit) | 0;
          byte = bytes[i++]!;
        }
        let digitCount = i - firstDigit;
        let decimalCount = 0;
        if (byte === decimalByte && byte !== delimiterByte) {
          const firstDecimal = i;
          byte = bytes[i++]!;
          for (digit = byte - ZERO; digit >= 0 && digit <= 9; digit = byte - ZERO) {
            digits = (Math.imul(digits, 10) + digit) | 0;
            byte = bytes[i++]!;
          }
          decimalCount = i - 1 - firstDecimal;
          digitCount += decimalCount;
        }
        let value = Number.NaN;
        if (
          digitCount > 0 &&
          digitCount <= INTEGER_DIGITS &&
          (byte === delimiterByte || byte === LINE_FEED || byte === CARRIAGE_RETURN)
        ) {
          // Correctly rounded, as `numberFromBytes` explains.
          value = digits / POWERS_OF_TEN[decimalCount]!;
          if (isNegative) value = -value;
        } else {
          i = endOfCell(bytes, cellStart, delimiterByte);
          if (i === -1) break rows;
          const quotes = bytes[cellStart] === QUOTE ? 1 : 0;
          value = numberFromBytes(bytes, cellStart + quotes, i - quotes, decimalByte);
          byte = bytes[i++]!;
        }
        // Written so that NaN, which stands for "not plain", ends the pass too.
        if (!(value >= floors[place]!)) break rows;
        values[row + place] = value;
      }
      const lastCellLength = i - 1 - cellStart - (bytes[cellStart] === QUOTE ? 2 : 0);
      // Blank cells beyond the header's do not count.
      if (byte === delimiterByte) {
        while (byte === delimiterByte || byte === BLANK || byte === TAB) byte = bytes[i++]!;
      }
      if (byte === CARRIAGE_RETURN) byte = bytes[i++]!;
      if (byte !== LINE_FEED) break;
      if (lastCellLength < shortest) shortest = lastCellLength;
      rowStart = i;
      row += cellCount;
    }
    this.count = row / cellCount;
    this.shortestLastCell = shortest;
    return rowStart;
  }
}

/**
 * Where the cell that begins at `start` ends, its quotes included, or -1 where telling that takes all rules of quoting.
 * Whether a delimiter or a line end follows is for the caller to see.
 */
function endOfCell(bytes: Uint8Array, start: number, delimiterByte: number): number {
  let i = start;
  if (bytes[i] === QUOTE) {
    do i++;
    while (bytes[i] !== QUOTE && bytes[i]! > CARRIAGE_RETURN);
    return bytes[i] === QUOTE ? i + 1 : -1;
  }
  while (bytes[i]! > CARRIAGE_RETURN && bytes[i] !== delimiterByte) i++;
  return i;
}
