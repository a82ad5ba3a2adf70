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

/** What a cell is to a row. */
const NOT_WANTED = 0;
const NUMBER = 1;
const TIME_IN_WORDS = 2;
const DATE_BESIDE = 3;

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
  /** What each cell of a row is, and where in a row of `values` its number goes. */
  private readonly kinds: Uint8Array;
  private readonly places: Uint32Array;
  private readonly floors: Float64Array;

  constructor(
    cells: readonly NumberCell[],
    private readonly table: PlainTable,
  ) {
    this.cellCount = cells.length;
    this.values = new Float64Array(ROWS_AT_ONCE * cells.length);
    this.floors = Float64Array.from(cells, ({ floor }) => floor);
    this.kinds = new Uint8Array(table.width).fill(NOT_WANTED);
    this.places = new Uint32Array(table.width);
    for (const [place, { index }] of cells.entries()) {
      this.kinds[index] = place === 0 && table.minute !== undefined ? TIME_IN_WORDS : NUMBER;
      this.places[index] = place;
    }
    if (table.dateIndex !== undefined) this.kinds[table.dateIndex] = DATE_BESIDE;
  }

  /**
   * Reads the rows that come next, until one is not plain or `values` is full.
   *
   * @param to - one past a line feed, before which every cell ends
   * @returns where the next row begins
   */
  read(bytes: Uint8Array, from: number, to: number): number {
    const { values, cellCount, kinds, places, floors } = this;
    const { width, delimiterByte, decimalByte } = this.table;
    let shortest = this.shortestLastCell;
    let rowStart = from;
    let row = 0;
    rows: while (rowStart < to && row < values.length) {
      let i = rowStart;
      let byte = delimiterByte;
      let cellStart = rowStart;
      for (let cell = 0; cell < width; cell++) {
        if (byte !== delimiterByte) break rows;
        cellStart = i;
        const kind = kinds[cell];
        const place = places[cell];
        if (kind === NUMBER) {
          byte = bytes[i++];
          const isNegative = byte === MINUS;
          if (isNegative) byte = bytes[i++];
          // Integers: adding up in doubles takes three times as long for each digit. One that overflows is not used.
          let digits = 0;
          let digit = byte - ZERO;
          const firstDigit = i;
          for (; digit >= 0 && digit <= 9; digit = byte - ZERO) {
            digits = (Math.imul(digits, 10) + digit) | 0;
            byte = bytes[i++];
          }
          let digitCount = i - firstDigit;
          let decimalCount = 0;
          if (byte === decimalByte && byte !== delimiterByte) {
            const firstDecimal = i;
            byte = bytes[i++];
            for (digit = byte - ZERO; digit >= 0 && digit <= 9; digit = byte - ZERO) {
              digits = (Math.imul(digits, 10) + digit) | 0;
              byte = bytes[i++];
            }
            decimalCount = i - 1 - firstDecimal;
            digitCount += decimalCount;
          }
          const isEnd = byte === delimiterByte || byte === LINE_FEED || byte === CARRIAGE_RETURN;
          if (isEnd && digitCount > 0 && digitCount <= INTEGER_DIGITS) {
            // Correctly rounded, as `numberFromBytes` explains.
            const size = digits / POWERS_OF_TEN[decimalCount];
            const value = isNegative ? -size : size;
            if (value < floors[place]) break rows;
            values[row + place] = value;
            continue;
          }
        }
        // Any other cell: found first, then read.
        i = endOfCell(bytes, cellStart, delimiterByte);
        if (i === -1) break rows;
        if (kind !== NOT_WANTED) {
          const quotes = bytes[cellStart] === QUOTE ? 1 : 0;
          if (!this.readCell(kind, row + place, bytes, cellStart + quotes, i - quotes)) break rows;
        }
        byte = bytes[i++];
      }
      const lastCellLength = i - 1 - cellStart - (bytes[cellStart] === QUOTE ? 2 : 0);
      // Blank cells beyond the header's do not count.
      if (byte === delimiterByte) {
        while (byte === delimiterByte || byte === BLANK || byte === TAB) byte = bytes[i++];
      }
      if (byte === CARRIAGE_RETURN) byte = bytes[i++];
      if (byte !== LINE_FEED) break;
      if (lastCellLength < shortest) shortest = lastCellLength;
      rowStart = i;
      row += cellCount;
    }
    this.count = row / cellCount;
    this.shortestLastCell = shortest;
    return rowStart;
  }

  /** Reads a wanted cell that is not written in the plainest way; false where that takes all rules. */
  private readCell(kind: number, at: number, bytes: Uint8Array, start: number, end: number): boolean {
    const { minute, decimalByte } = this.table;
    if (kind === DATE_BESIDE) return minute!.hasDate(bytes, start, end);
    const value =
      kind === TIME_IN_WORDS
        ? minute!.read(bytes, start, end)
        : numberFromBytes(bytes, start, end, decimalByte);
    this.values[at] = value;
    return value >= this.floors[at % this.cellCount];
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
    while (bytes[i] !== QUOTE && bytes[i] > CARRIAGE_RETURN);
    return bytes[i] === QUOTE ? i + 1 : -1;
  }
  while (bytes[i] > CARRIAGE_RETURN && bytes[i] !== delimiterByte) i++;
  return i;
}
