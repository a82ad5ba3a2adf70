import { quoted } from '../cells/quoted.js';
import { LogFormatError, type LogIssue } from '../log-format-error.js';
import type { CollectedColumn } from './collected-column.js';
import type { CollectedRows } from './collected-rows.js';
import { others } from './row-faults.js';

/**
 * Requires the two samples that a run has at least.
 *
 * @throws LogFormatError that says what is wrong with the rows that are none
 */
export function requireSamples({ columns, store, leftOut, rowCount, decimal }: CollectedRows): void {
  const { count, lineNumbers } = store;
  if (count >= 2) return;
  const remedy = 'a run needs at least two rows with time, temperature and power';
  const issues: LogIssue[] = [...leftOut.widthIssues()];
  for (const column of columns.filter(({ required }) => required)) {
    const { header, index, missing, unreadable } = column;
    if (unreadable.count > 0) issues.push(notNumbers(column, decimal));
    if (missing.count > 0) {
      issues.push({
        code: 'missing-value',
        line: missing.lines[0],
        column: index + 1,
        message: `${quoted(header)} has no value here${others(missing)}`,
        remedy,
      });
    }
  }
  if (rowCount === 0 || (count === 0 && issues.length === 0)) {
    issues.push({
      code: 'no-rows',
      message: 'the log has a header but no rows',
      remedy,
    });
  } else if (issues.length === 0) {
    issues.push({
      code: 'one-sample',
      line: lineNumbers[0],
      message: 'the log has one sample only',
      remedy: `${remedy}; for averages alone there is coolerFromSteadyPoints`,
    });
  }
  throw new LogFormatError(issues);
}

/** What to say of a column in which no cell could be read. */
export function notNumbers(column: CollectedColumn, decimal: '.' | ','): LogIssue {
  const { role, header, index, unreadable } = column;
  const choice = `choose another column by the option columns: { ${role}: … }`;
  return {
    code: 'not-numbers',
    line: unreadable.lines[0],
    column: index + 1,
    message: `${quoted(header)} is read as ${role} but holds ${quoted(unreadable.example)}, which is no ${role === 'time' ? 'time' : 'possible number'}${others(unreadable)}`,
    remedy:
      role === 'time'
        ? `write times as numbers, as h:mm:ss or as ISO 8601 (2031-05-09T14:30:00), or ${choice}`
        : `${choice}${column.required ? '' : `, or leave it out by columns: { ${role}: false }`}; the decimal mark was taken to be ${quoted(decimal)}`,
  };
}
