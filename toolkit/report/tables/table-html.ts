import { escapeHtml, unitsKept } from '../html-text.js';
import { cellText, isNumeric, notesOf, type Table, type TableCell, type TableColumn } from './table.js';

/** A table with more columns is set smaller, so that it fits a page and a sheet of paper. */
const mostColumnsAtFullSize = 7;

/**
 * A table as an HTML table element with its title and notes; every text in it is escaped.
 *
 * @param table - the table
 * @returns HTML, without styles of its own
 * @example
 * tableHtml({ kind: 'table', columns: [{ name: 'Cooler' }], rows: [['<b>']] }).includes('&lt;b&gt;'); // => true
 */
export function tableHtml(table: Table): string {
  const numeric = table.columns.map((_, i) => (isNumeric(table, i) ? ' class="number"' : ''));
  const head = table.columns
    .map((column, i) => `<th scope="col"${numeric[i]}>${headHtml(column)}</th>`)
    .join('');
  const body = table.rows
    .map((row) => `<tr>${table.columns.map((_, i) => cellHtml(row[i] ?? null, numeric[i])).join('')}</tr>`)
    .join('\n');
  const caption = table.title === undefined ? '' : `<caption>${escapeHtml(table.title)}</caption>`;
  const notes = notesOf(table)
    .map((note) => `<p class="note">${unitsKept(escapeHtml(note))}</p>`)
    .join('');
  return `<div class="${table.columns.length > mostColumnsAtFullSize ? 'table wide' : 'table'}"><table>${caption}<thead><tr>${head}</tr></thead><tbody>\n${body}\n</tbody></table>${notes}</div>`;
}

/** The unit stands below the name, so that a narrow column of numbers needs no wider head. */
function headHtml({ name, unit }: TableColumn): string {
  const text = unitsKept(escapeHtml(name));
  return unit === undefined ? text : `${text}<br><small>${escapeHtml(unit)}</small>`;
}

/** Words in a column of numbers are set like words, or they would widen it without end. */
function cellHtml(cell: TableCell, numeric: string): string {
  const isWords = typeof cell === 'string' && cell.length > longestWordAmongNumbers;
  return `<td${isWords ? '' : numeric}>${unitsKept(escapeHtml(cellText(cell)))}</td>`;
}

const longestWordAmongNumbers = 12;
