import type { Estimate } from '../../numerics/estimate.js';
import { formatEstimate, formatNumber } from '../../numerics/format-estimate.js';

/** A column of a table. */
export interface TableColumn {
  readonly name: string;
  /** Unit of every number in the column; stands in the head, not in the cells. */
  readonly unit?: string;
}

/** A cell: text, a number, an uncertain number, or nothing. */
export type TableCell = string | number | boolean | Estimate | null;

/** A table as data; digits and ± are set when it is shown. Plain data: survives JSON. */
export interface Table {
  readonly kind: 'table';
  readonly title?: string;
  readonly columns: readonly TableColumn[];
  /** One array per row, one cell per column. */
  readonly rows: readonly (readonly TableCell[])[];
  /** Below the table: what ± means, what was left out. */
  readonly notes?: readonly string[];
}

/** Said below every table that shows uncertain numbers. */
export const plusMinusNote = '±: half-width of the 95 % interval.';

/** Marks behind numbers and what they mean, which is said below every table that has one. */
const marks: readonly {
  readonly mark: string;
  readonly note: string;
  readonly belongsTo: (estimate: Estimate) => boolean;
}[] = [
  {
    mark: '*',
    note: '*: extrapolated, outside the range that was logged.',
    belongsTo: (estimate) => estimate.kind === 'estimated' && estimate.extrapolated === true,
  },
  {
    mark: '†',
    note: '†: too few independent samples for an interval; log longer.',
    belongsTo: ({ kind, value, ...rest }) =>
      kind === 'unavailable' && value !== undefined && 'reason' in rest && rest.reason === 'too-few-points',
  },
];

/** What stands below a table: its own notes, and the meaning of the marks that are in it. */
export function notesOf(table: Table): readonly string[] {
  const estimates = table.rows.flatMap((row) => row.filter(isEstimate));
  const meanings = marks.filter(({ belongsTo }) => estimates.some(belongsTo)).map(({ note }) => note);
  return [...(table.notes ?? []), ...meanings];
}

/** A cell as people read it; the unit stands in the column's head, what a mark means below the table. */
export function cellText(cell: TableCell): string {
  if (cell === null) return '–';
  if (typeof cell === 'string') return cell;
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no';
  if (typeof cell === 'number') return formatNumber(cell).replace(/^−?\d{5,}$/, inThousands);
  const mark = marks.find(({ belongsTo }) => belongsTo(cell))?.mark;
  if (mark === undefined) return formatEstimate(cell);
  return `${cell.kind === 'estimated' ? formatEstimate({ ...cell, extrapolated: false }) : formatNumber(cell.value ?? Number.NaN)}${mark}`;
}

/** `600,000`: from five whole digits on, numbers are read in groups of three. */
function inThousands(whole: string): string {
  return whole.replaceAll(/\B(?=(\d{3})+$)/g, ',');
}

/** The head of a column: name and unit. */
export function columnHead(column: TableColumn): string {
  return column.unit === undefined ? column.name : `${column.name}, ${column.unit}`;
}

/** Whether a column holds numbers, which are set flush right. */
export function isNumeric(table: Table, column: number): boolean {
  return table.rows.some((row) => typeof row[column] === 'number' || isEstimate(row[column]));
}

/** Whether a cell is an uncertain number. */
export function isEstimate(cell: TableCell | undefined): cell is Estimate {
  return typeof cell === 'object' && cell !== null;
}

/**
 * A table as lines of text in columns, for a terminal or a file.
 *
 * @param table - the table
 * @returns lines separated by line feeds, without one at the end
 * @example
 * tableText({ kind: 'table', columns: [{ name: 'Power cap', unit: 'W' }], rows: [[92], [118]] });
 * // => 'Power cap, W\n------------\n          92\n         118'
 */
export function tableText(table: Table): string {
  const heads = table.columns.map(columnHead);
  const notes = notesOf(table);
  const cells = table.rows.map((row) => table.columns.map((_, i) => oneLine(cellText(row[i] ?? null))));
  const widths = heads.map((head, i) => Math.max(lengthOf(head), ...cells.map((row) => lengthOf(row[i]))));
  const line = (texts: readonly string[]): string =>
    texts
      .map((part, i) => {
        const blank = ' '.repeat(Math.max(0, widths[i] - lengthOf(part)));
        return isNumeric(table, i) ? blank + part : part + blank;
      })
      .join('  ')
      .trimEnd();
  return [
    ...(table.title === undefined ? [] : [oneLine(table.title), '']),
    line(heads.map(oneLine)),
    widths.map((width) => '-'.repeat(width)).join('  '),
    ...cells.map(line),
    ...(notes.length === 0 ? [] : ['', ...notes]),
  ].join('\n');
}

function oneLine(text: string): string {
  return text.replace(/[\r\n\t\u2028\u2029]+/g, ' ');
}

function lengthOf(text: string): number {
  return [...text].length;
}
