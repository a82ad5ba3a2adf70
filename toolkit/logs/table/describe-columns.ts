import { ArgumentError, type KnownNames, requireKnownNames } from '../../errors.js';
import type { Delimiter } from '../cells/delimited-record.js';
import { quoted } from '../cells/quoted.js';
import { LogFormatError, type LogIssue } from '../log-format-error.js';
import { refusals } from './column-candidates.js';
import {
  COLUMN_ROLES,
  type ColumnChoice,
  type ColumnRole,
  type CombineRule,
  ROLE_RULES,
  type UnitChoice,
} from './column-rules.js';
import { type ColumnDecision, columnIssues, decideColumns, findColumns } from './columns.js';
import { areTimeTexts } from './date-beside-clock.js';
import { findDecimal } from './dialect.js';
import { HEAD_BYTES, openText, type TableStart, tableStart } from './table-start.js';

/** What the head of a log is read with, as in `parseRun`. */
export interface DescribeColumnsOptions {
  readonly columns?: ColumnChoice;
  readonly units?: UnitChoice;
  readonly delimiter?: Delimiter;
  readonly decimal?: '.' | ',';
}

const OPTION_NAMES: KnownNames<DescribeColumnsOptions> = {
  columns: true,
  units: true,
  delimiter: true,
  decimal: true,
};

/** One column of a log and what was made of it. */
export interface DescribedColumn {
  /** Position in the log, 1-based. */
  readonly column: number;
  readonly header: string;
  /** What it is to the run; absent for a column that is not read. */
  readonly role?: ColumnRole;
  /** The unit it was read in; ours where none is stated. */
  readonly unit?: string;
  /** Where it is one of several that become one number in each row. */
  readonly combine?: CombineRule;
  /** The rule that decided, a sentence without a full stop. */
  readonly because: string;
}

/** How a log is read, and why. */
export interface ColumnDescription {
  readonly kind: 'column-description';
  readonly delimiter: Delimiter;
  readonly decimal: '.' | ',';
  /** Where the header stands; absent where the log has none. */
  readonly header?: { readonly line: number };
  /** Where the row of units stands, if there is one. */
  readonly unitsRow?: { readonly line: number };
  /** In the order of the log. */
  readonly columns: readonly DescribedColumn[];
  /** Roles that no column has. */
  readonly absentRoles: readonly ColumnRole[];
  /** Why the log cannot be read as it is, with the option to write; empty where it can. */
  readonly issues: readonly LogIssue[];
}

/**
 * Shows how `parseRun` would read a log and which rule chose each column, also where it refuses to choose.
 *
 * Looks at the first 64 KiB only: delimiter, decimal mark, header, row of units, and for every column its role, its
 * unit and the rule that gave or refused it that role. `show` makes a table of it.
 *
 * @param text - the log, or its beginning, as text or bytes
 * @param options - as for `parseRun`
 * @returns the description; its `issues` are empty where `parseRun` finds all it needs
 * @throws LogFormatError if no table can be made out at all, or a chosen header is not there
 * @throws ArgumentError if an option is not what it must be
 * @example
 * const log = 'time_s,Core 0 temp [°C],Package temp [°C],power_w,note\n0,40,42,65,a\n1,41,43,65,b\n';
 * const { columns } = describeColumns(log);
 * columns.map(({ role }) => role ?? '-'); // => ['time', '-', 'temperature', 'power', '-']
 * columns[2].because; // => 'the word "temp", and the only one of the whole package'
 */
export function describeColumns(
  text: string | Uint8Array,
  options: DescribeColumnsOptions = {},
): ColumnDescription {
  const caller = 'describeColumns';
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  if (typeof text !== 'string' && !(text instanceof Uint8Array)) {
    throw new ArgumentError({
      caller,
      argument: 'text',
      expected: 'the text of a log or its bytes in a Uint8Array',
      received: text,
    });
  }
  const all = typeof text === 'string' ? new TextEncoder().encode(text.slice(0, HEAD_BYTES)) : text;
  const isWhole = all.length <= HEAD_BYTES && (typeof text !== 'string' || text.length <= HEAD_BYTES);
  const { body, json } = openText(all.subarray(0, HEAD_BYTES), isWhole, options.delimiter);
  const start = tableStart(body, { ...options, isWhole, isJson: json !== undefined });
  const { headers, unitsRow, line } = start;
  const rows = unitsRow === undefined ? start.rows : start.rows.slice(1);
  const findOptions = {
    line,
    rows,
    ...(options.columns === undefined ? {} : { columns: options.columns }),
    ...(options.units === undefined ? {} : { units: options.units }),
    ...(unitsRow === undefined ? {} : { unitsRow }),
  };
  const { parsed, decisions, ambiguous, absent } = decideColumns(headers, findOptions);
  const units = unitsOf(headers, findOptions);
  const refused = refusals(parsed);
  const columns = headers.map((header, index): DescribedColumn => {
    const column = index + 1;
    const decision = decisions.find(({ indices }) => indices.includes(index));
    if (decision !== undefined) {
      const { role, combine, date } = decision;
      const unit = units.get(role);
      // Times of day and dates have no unit that could be assumed.
      const isAssumed = unit?.isAssumed === true && !(role === 'time' && areTimeTexts(index, rows));
      const because = isAssumed ? `${decision.because}; its unit is assumed` : decision.because;
      return {
        column,
        header,
        role,
        ...(unit === undefined ? {} : { unit: unit.symbol }),
        ...(combine === undefined ? {} : { combine }),
        because:
          date === undefined
            ? because
            : `${because}; read together with the dates in ${quoted(headers[date])}`,
      };
    }
    const dated = decisions.find(({ date }) => date === index);
    if (dated !== undefined) {
      const clock = quoted(headers[dated.indices[0]]);
      const because = dated.because.startsWith('the option') ? dated.because : 'its cells are dates';
      return {
        column,
        header,
        role: dated.role,
        because: `${because}; read together with the clock in ${clock}`,
      };
    }
    return { column, header, because: reasonAgainst(index, { decisions, ambiguous, refused }) };
  });
  const taken = new Set(decisions.map(({ role }) => role));
  const stated = json === undefined ? options.decimal : '.';
  const mark = stated === undefined ? decimalOf(start, decisions) : { decimal: stated, issues: [] };
  return {
    kind: 'column-description',
    delimiter: start.delimiter,
    decimal: mark.decimal,
    ...(start.hasHeader ? { header: { line } } : {}),
    ...(unitsRow === undefined ? {} : { unitsRow: { line: unitsRow.line } }),
    columns,
    absentRoles: COLUMN_ROLES.filter((role) => !taken.has(role)),
    issues: [
      ...columnIssues(headers, ambiguous, absent, findOptions),
      ...(units.issues ?? []),
      ...mark.issues,
    ],
  };
}

/** The decimal mark of the columns that are read; a point, and why not a comma, where it is in doubt. */
function decimalOf(
  { rows }: TableStart,
  decisions: readonly ColumnDecision[],
): { readonly decimal: '.' | ','; readonly issues: readonly LogIssue[] } {
  try {
    const { decimal } = findDecimal(
      rows,
      decisions.flatMap(({ indices }) => indices),
    );
    return { decimal, issues: [] };
  } catch (error) {
    if (!(error instanceof LogFormatError)) throw error;
    return { decimal: '.', issues: error.issues };
  }
}

/** Why a column is not read. */
function reasonAgainst(
  index: number,
  {
    decisions,
    ambiguous,
    refused,
  }: Pick<ReturnType<typeof decideColumns>, 'decisions' | 'ambiguous'> & {
    readonly refused: ReturnType<typeof refusals>;
  },
): string {
  const doubt = ambiguous.find(({ candidates }) => candidates.includes(index));
  if (doubt !== undefined) {
    const what = doubt.clock === undefined ? doubt.role : 'the date of the clock';
    return `could be ${what}, as ${doubt.candidates.length - 1} others could`;
  }
  const beaten = decisions.find(({ others }) => others.includes(index));
  if (beaten !== undefined) return `not read: another column is ${beaten.role}`;
  const refusal = refused.find((one) => one.index === index);
  if (refusal !== undefined) return `not ${ROLE_RULES[refusal.role].inWords}: ${refusal.because}`;
  return 'no word, symbol or unit of a quantity that a run has';
}

/** The units that the columns would be read in, as far as they can be; and why not. */
function unitsOf(
  headers: readonly string[],
  options: Parameters<typeof findColumns>[1],
): ReadonlyMap<ColumnRole, { readonly symbol: string; readonly isAssumed: boolean }> & {
  readonly issues?: readonly LogIssue[];
} {
  const units = new Map<ColumnRole, { readonly symbol: string; readonly isAssumed: boolean }>();
  try {
    for (const { role, unit, isUnitAssumed } of findColumns(headers, options).columns)
      units.set(role, { symbol: unit.symbol, isAssumed: isUnitAssumed });
    return units;
  } catch (error) {
    if (!(error instanceof LogFormatError)) throw error;
    // Columns that are missing or in doubt are reported by themselves.
    const issues = error.issues.filter(({ code }) => code !== 'no-column' && code !== 'ambiguous-column');
    return Object.assign(units, { issues });
  }
}
