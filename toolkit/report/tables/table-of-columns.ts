import type { ColumnDescription } from '../../logs/table/describe-columns.js';
import type { Table } from './table.js';

const DELIMITER_WORDS: Readonly<Record<ColumnDescription['delimiter'], string>> = {
  ',': 'comma',
  ';': 'semicolon',
  '\t': 'tab',
  '|': 'vertical bar',
};

/**
 * How a log would be read, as a table: every column, what it is to the run, and the rule that says so.
 *
 * @param description - from `describeColumns`
 * @returns a table, one row for each column; why the log cannot be read stands below, if it cannot
 * @example
 * tableOfColumns(describeColumns('time_s,temp_c,power_w,note\n0,31,65,a\n')).rows[1];
 * // => [2, 'temp_c', 'temperature', '°C', 'the word "temp"']
 */
export function tableOfColumns(description: ColumnDescription): Table {
  const { columns, delimiter, decimal, header, unitsRow, absentRoles, issues } = description;
  const where = header === undefined ? 'no header' : `header in line ${header.line}`;
  return {
    kind: 'table',
    title: `Columns: ${DELIMITER_WORDS[delimiter]} between cells, decimal ${decimal === '.' ? 'point' : 'comma'}, ${where}${unitsRow === undefined ? '' : `, units in line ${unitsRow.line}`}`,
    columns: [
      { name: 'Column' },
      { name: 'Header' },
      { name: 'Read as' },
      { name: 'Unit' },
      { name: 'Because' },
    ],
    rows: columns.map(({ column, header: text, role, unit, combine, because }) => [
      column,
      text,
      role === undefined ? '–' : combine === undefined ? role : `${role} (${combine})`,
      unit ?? '',
      because,
    ]),
    notes: [
      ...(absentRoles.length === 0 ? [] : [`Not there: ${absentRoles.join(', ')}.`]),
      ...issues.map(({ message, remedy }) => `${message}${remedy === undefined ? '' : `; ${remedy}`}`),
    ],
  };
}
