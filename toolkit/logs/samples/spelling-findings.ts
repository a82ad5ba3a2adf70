import type { Finding } from '../../runs/finding.js';
import { quoted } from '../cells/quoted.js';
import type { TimeCells } from '../cells/time-cells.js';
import type { CollectedColumn } from './collected-column.js';

/** What was read in a spelling that could mean something else. */
export function spellingFindings(
  columns: readonly CollectedColumn[],
  time: TimeCells,
  decimal: '.' | ',',
): readonly Finding[] {
  const findings: Finding[] = [];
  for (const { header, role, grouped } of columns) {
    if (grouped.count === 0) continue;
    findings.push({
      code: 'thousands-separator',
      severity: 'note',
      message: `${quoted(header)} (${role}) has ${grouped.count} ${grouped.count === 1 ? 'value' : 'values'} with thousands set apart, such as ${quoted(grouped.example)} in line ${grouped.lines[0]}; ${quoted(decimal)} was taken for the decimal mark.`,
      remedy: 'if that is wrong, write the option decimal',
      count: grouped.count,
      lines: grouped.lines,
    });
  }
  findings.push(...dateBesideFindings(time));
  if (time.isOrderAssumed) {
    findings.push({
      code: 'assumed-date-order',
      severity: 'note',
      message: 'Dates with dots between their parts were read day first.',
      remedy: "if that is wrong, write the option dateOrder: 'month-day-year'",
    });
  }
  return findings;
}

/** What was made of dates in a column of their own that did not say the day of every row. */
function dateBesideFindings(time: TimeCells): readonly Finding[] {
  const { lateDateCount, lateDateLine, withoutDateCount, withoutDateLine } = time;
  const findings: Finding[] = [];
  if (lateDateCount > 0) {
    findings.push({
      code: 'late-date',
      severity: 'note',
      message: `The clock passes midnight ${lateDateCount === 1 ? 'once' : `${lateDateCount} times`} (first before line ${lateDateLine}) while the date beside it stays: a day was added until it changes.`,
      remedy:
        'if the clock was set back there instead, split the log; better, log date and time in one column',
      count: lateDateCount,
      lines: [lateDateLine],
    });
  }
  if (withoutDateCount > 0) {
    findings.push({
      code: 'date-of-row-before',
      severity: 'note',
      message: `${withoutDateCount} ${withoutDateCount === 1 ? 'row has' : 'rows have'} a clock time and no date beside it, first in line ${withoutDateLine}: the date of the row before was taken.`,
      remedy: 'log the date in every row',
      count: withoutDateCount,
      lines: [withoutDateLine],
    });
  }
  return findings;
}
