import { escapeHtml } from '../html-text.js';
import { cellText, columnHead, isNumeric, type Table } from './table.js';

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
    .map((column, i) => `<th scope="col"${numeric[i]}>${escapeHtml(columnHead(column))}</th>`)
    .join('');
  const body = table.rows
    .map(
      (row) =>
        `<tr>${table.columns.map((_, i) => `<td${numeric[i]}>${escapeHtml(cellText(row[i] ?? null))}</td>`).join('')}</tr>`,
    )
    .join('\n');
  const caption = table.title === undefined ? '' : `<caption>${escapeHtml(table.title)}</caption>`;
  const notes = (table.notes ?? []).map((note) => `<p class="note">${escapeHtml(note)}</p>`).join('');
  return `<div class="table"><table>${caption}<thead><tr>${head}</tr></thead><tbody>\n${body}\n</tbody></table>${notes}</div>`;
}
