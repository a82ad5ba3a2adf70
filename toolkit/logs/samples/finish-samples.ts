import type { Finding } from '../../runs/finding.js';
import { LISTED_LINE_COUNT } from '../../runs/quality/listed-lines.js';
import { toOwnUnit } from '../../units/units.js';
import { quoted } from '../cells/quoted.js';
import type { TimeCells } from '../cells/time-cells.js';
import { LogFormatError, type LogIssue } from '../log-format-error.js';
import type { ColumnRole } from '../table/column-rules.js';
import { assumedUnitFindings, median, steps } from '../table/usual-units.js';
import { undoClockChanges } from './clock-changes.js';
import type { CollectedColumn } from './collected-column.js';
import type { CollectedRows } from './collected-rows.js';
import type { CollectedSamples } from './collected-samples.js';
import { interpolateMissing } from './interpolate-missing.js';
import { unwrapMidnights } from './midnight.js';
import { notNumbers, requireSamples } from './require-samples.js';
import { NOTED_FRACTION } from './row-faults.js';
import { spellingFindings } from './spelling-findings.js';

/**
 * The samples that the rows make, converted to our own units in place, with the findings.
 *
 * @throws LogFormatError if fewer than two rows can be used, if a column holds no number at all, or if a column
 *   without a unit has values that are not usual in ours
 */
export function finishSamples(rows: CollectedRows): CollectedSamples {
  const { columns, store, leftOut, time, decimal, rowCount } = rows;
  store.settle();
  leftOut.settle(store.count);
  requireSamples(rows);
  const { lineNumbers, isAveraging: areMeans } = store;
  const findings: Finding[] = [...leftOut.findings(rowCount), ...spellingFindings(columns, time, decimal)];

  const timeColumn = columns[0];
  const timeS = store.columns[0];
  findings.push(...finishTime(timeColumn, timeS, lineNumbers, time));
  findings.push(...assumedUnitFindings({ ...timeColumn, values: timeS }, time.form === 'number'));
  findings.push(...store.findings(timeS, rowCount));

  const finished: Partial<Record<ColumnRole, Float64Array>> = { time: timeS };
  const issues: LogIssue[] = [];
  for (const [k, column] of columns.entries()) {
    if (k === 0) continue;
    const values = store.columns[k];
    const absentCount = absentCountOf(column, values, areMeans);
    if (absentCount < values.length) {
      findings.push(...finishColumn(column, values, absentCount, timeS));
      finished[column.role] = values;
    } else if (column.unreadable.count > 0) issues.push(notNumbers(column, decimal));
    else findings.push(emptyColumnFinding(column));
  }
  if (issues.length > 0) throw new LogFormatError(issues);
  return { columns: finished, lineNumbers, findings, rowCount, areMeans };
}

/** Converts numbers to seconds from the first row on; texts are seconds already. Never negative. */
function finishTime(
  { unit, header, index }: CollectedColumn,
  values: Float64Array,
  lineNumbers: Uint32Array,
  { form, firstWholeS }: TimeCells,
): readonly Finding[] {
  const findings: Finding[] = [];
  if (form === 'clock') findings.push(...unwrapMidnights(values, firstWholeS, lineNumbers));
  if (form === 'clock' || form === 'local' || form === 'local-date')
    findings.push(...undoClockChanges(values, firstWholeS, median(steps(values)), lineNumbers));
  // A whole number near the start is taken off first, since an epoch in ms leaves few digits for the fraction.
  const origin = values[0];
  let lowest = 0;
  for (let i = 0; i < values.length; i++) {
    const sinceOrigin = values[i] - origin;
    values[i] = form === 'number' ? (sinceOrigin * unit.numerator) / unit.denominator : sinceOrigin;
    if (values[i] < lowest) lowest = values[i];
  }
  if (lowest < 0) for (let i = 0; i < values.length; i++) values[i] = values[i] - lowest;
  for (let i = 1; i < values.length; i++) if (values[i] > values[i - 1]) return findings;
  throw new LogFormatError([
    {
      code: 'time-stands-still',
      line: lineNumbers[1],
      column: index + 1,
      message: `${quoted(header)} never increases: no row is later than the row before it`,
      remedy: `${values.at(-1)! < values[0] ? 'sort the rows by time if the newest stands first, or ' : ''}choose the column with the running time by the option columns: { time: … }`,
    },
  ]);
}

/** Samples without a value of an optional column. */
function absentCountOf(
  { required, missing, unreadable }: CollectedColumn,
  values: Float64Array,
  areMeans: boolean,
): number {
  if (required) return 0;
  if (!areMeans) return missing.count + unreadable.count;
  let count = 0;
  for (const value of values) if (Number.isNaN(value)) count++;
  return count;
}

/** Converts values to our own unit and fills those that are absent. */
function finishColumn(
  column: CollectedColumn,
  values: Float64Array,
  absentCount: number,
  timeS: Float64Array,
): readonly Finding[] {
  const { unit, missing, unreadable, role, header } = column;
  if (unit.offset !== 0 || unit.numerator !== unit.denominator) {
    for (let i = 0; i < values.length; i++) values[i] = toOwnUnit(values[i], unit);
  }
  const findings = [...assumedUnitFindings({ ...column, values }, true)];
  if (absentCount > 0) {
    interpolateMissing(values, timeS);
    const example =
      unreadable.count > 0 ? ` (${quoted(unreadable.example)} in line ${unreadable.lines[0]})` : '';
    findings.push({
      code: 'value-interpolated',
      severity: absentCount > NOTED_FRACTION * values.length ? 'warning' : 'note',
      message: `${quoted(header)} (${role}) has no readable value in ${absentCount} of ${values.length} rows${example}; these were interpolated over time from the rows around them.`,
      remedy: `if they should not be used, leave the column out by the option columns: { ${role}: false }`,
      count: absentCount,
      lines: [...missing.lines, ...unreadable.lines].sort((a, b) => a - b).slice(0, LISTED_LINE_COUNT),
    });
  }
  return findings;
}

function emptyColumnFinding({ header, role }: CollectedColumn): Finding {
  return {
    code: 'empty-column',
    severity: 'note',
    message: `${quoted(header)} (${role}) has no value in any row and was left out.`,
  };
}
