import type { Finding } from '../../runs/finding.js';
import type { HeaderWords } from '../../units/header-words.js';
import { type Unit, unitFromText } from '../../units/units.js';
import type { TextRecord } from '../cells/delimited-record.js';
import { quoted } from '../cells/quoted.js';
import type { UnitsRow, UnitsRowCell } from '../cells/units-row.js';
import { LogFormatError, type LogIssue } from '../log-format-error.js';
import { type Candidate, candidatesOf, type ParsedColumn, parsedColumns } from './column-candidates.js';
import {
  COLUMN_ROLES,
  type ColumnChoice,
  type ColumnRole,
  type CombineRule,
  type DateAndClock,
  ROLE_RULES,
  type RoleColumn,
  type UnitChoice,
} from './column-rules.js';
import { dateNotRead, datesBesideClock, datesWithTime } from './date-beside-clock.js';
import { resolveCores } from './per-core.js';

/** What `findColumns` may be told beforehand. */
export interface FindColumnsOptions {
  readonly columns?: ColumnChoice;
  readonly units?: UnitChoice;
  /** Line of the header. */
  readonly line: number;
  /** The row of units below the headers, if there is one. */
  readonly unitsRow?: UnitsRow;
  /** The first rows, which tell a clock with its date in another column. Default: none. */
  readonly rows?: readonly TextRecord[];
}

/** Which columns a role was given, and why. */
export interface ColumnDecision {
  readonly role: ColumnRole;
  readonly indices: readonly number[];
  /** Where there are several. */
  readonly combine?: CombineRule;
  /** The column of the dates that belong to the clock. */
  readonly date?: number;
  /** A column that should hold them and does not, and what stands there instead. */
  readonly dateNotRead?: { readonly index: number; readonly example: string };
  /** Completing "is the power by …". */
  readonly because: string;
  /** Other columns that could have been it. */
  readonly others: readonly number[];
}

/** A role that several columns could have. */
export interface AmbiguousRole {
  readonly role: ColumnRole;
  readonly candidates: readonly number[];
  /** Where it is only the dates that several columns could hold: the clock they belong to. */
  readonly clock?: number;
}

/** What the headers say, settled as far as it can be. */
export interface ColumnDecisions {
  readonly parsed: readonly ParsedColumn[];
  readonly decisions: readonly ColumnDecision[];
  readonly ambiguous: readonly AmbiguousRole[];
  readonly absent: readonly ColumnRole[];
}

/** The columns that will be read, and what should be known about the choice. */
export interface FoundColumns {
  readonly columns: readonly RoleColumn[];
  readonly findings: readonly Finding[];
}

/**
 * Gives each role its column: the one the caller chose, else the one header with the words of the role, else the
 * one header with its symbol or unit alone. Of a quantity that is there for every core and for the package the
 * package is taken; where it is there for every core only, the cores are combined by a rule, and a finding says so.
 * Units below the headers count like units in them.
 *
 * @throws LogFormatError if a required role has no column or any role has two, if a chosen header is not there, if
 *   a unit is not known, or if the row of units contradicts a header; the message lists the headers and shows the
 *   option to write
 */
export function findColumns(headers: readonly string[], options: FindColumnsOptions): FoundColumns {
  const { parsed, decisions, ambiguous, absent } = decideColumns(headers, options);
  if (ambiguous.length + absent.length > 0) {
    throw new LogFormatError(columnIssues(headers, ambiguous, absent, options));
  }
  return {
    columns: decisions.map((decision) => roleColumn(decision, parsed, options)),
    findings: decisions.flatMap((decision) => decisionFindings(decision, headers)),
  };
}

/**
 * What `findColumns` decides, with its reasons, before it refuses anything.
 *
 * @throws LogFormatError if a chosen header is not there
 */
export function decideColumns(headers: readonly string[], options: FindColumnsOptions): ColumnDecisions {
  const parsed = parsedColumns(headers, options.unitsRow);
  const chosen = chosenIndices(headers, options);
  const taken = new Set([...chosen.values()].flat());
  const decisions: ColumnDecision[] = [];
  const ambiguous: AmbiguousRole[] = [];
  const absent: ColumnRole[] = [];
  for (const role of COLUMN_ROLES) {
    const choice = options.columns?.[role];
    const indices = chosen.get(role);
    if (indices !== undefined) {
      const combine = typeof choice === 'object' && 'combine' in choice ? choice.combine : undefined;
      const [clock, date] = isDateAndClock(choice) ? indices : [];
      decisions.push({
        role,
        indices: clock === undefined ? indices : [clock],
        ...(combine === undefined ? {} : { combine }),
        ...(date === undefined ? {} : { date }),
        because: `the option columns.${role}`,
        others: [],
      });
    }
    if (choice !== undefined) continue;
    const candidates = candidatesOf(role, parsed).filter(({ index }) => !taken.has(index));
    const rows = options.rows ?? [];
    const decision =
      decisionOf(role, candidates) ??
      (role === 'time' && candidates.length === 0 ? byDateWithTime(parsed, taken, rows) : undefined);
    if (decision !== undefined) {
      const free = parsed.filter(({ index }) => !taken.has(index));
      const clock = decision.indices[0];
      const dates = role === 'time' ? datesBesideClock(clock, free, rows) : [];
      if (dates.length > 1) ambiguous.push({ role, candidates: dates, clock });
      const unread = role === 'time' && dates.length === 0 ? dateNotRead(clock, free, rows) : undefined;
      decisions.push({
        ...decision,
        ...(dates.length === 1 ? { date: dates[0] } : {}),
        ...(unread === undefined ? {} : { dateNotRead: unread }),
      });
      for (const index of [...decision.indices, ...dates]) taken.add(index);
    } else if (candidates.length > 1) {
      ambiguous.push({ role, candidates: candidates.map(({ index }) => index) });
    } else if (ROLE_RULES[role].required) absent.push(role);
  }
  return { parsed, decisions, ambiguous, absent };
}

function byDateWithTime(
  parsed: readonly ParsedColumn[],
  taken: ReadonlySet<number>,
  rows: readonly TextRecord[],
): ColumnDecision | undefined {
  const dated = datesWithTime(parsed, rows).filter(({ index }) => !taken.has(index));
  if (dated.length !== 1) return undefined;
  const because = 'the word "date", and its cells hold the time of day too';
  return { role: 'time', indices: [dated[0].index], because, others: [] };
}

function decisionOf(role: ColumnRole, candidates: readonly Candidate[]): ColumnDecision | undefined {
  const [first] = candidates;
  if (first === undefined) return undefined;
  if (candidates.length === 1) return { role, indices: [first.index], because: first.because, others: [] };
  const resolution = resolveCores(role, candidates);
  if (resolution === undefined) return undefined;
  const indicesOf = (list: readonly Candidate[]): readonly number[] => list.map(({ index }) => index);
  if (resolution.kind === 'package') {
    const { candidate, because } = resolution;
    return {
      role,
      indices: [candidate.index],
      because,
      others: indicesOf(candidates.filter((other) => other !== candidate)),
    };
  }
  return {
    role,
    indices: indicesOf(resolution.candidates),
    combine: resolution.combine,
    because: `${first.because}, there for every core`,
    others: [],
  };
}

/** What a person should know about a column that was chosen from several, or made of several. */
function decisionFindings(
  { role, indices, combine, date, dateNotRead: unread, others, because }: ColumnDecision,
  headers: readonly string[],
): readonly Finding[] {
  const chosen = quoted(headers[indices[0]]);
  if (unread !== undefined) {
    return [
      {
        code: 'date-not-read',
        severity: 'warning',
        message: `${quoted(headers[unread.index])} beside the clock in ${chosen} holds ${quoted(unread.example)}, which is no date that could be read with it: days that lie between rows are not seen.`,
        remedy: 'write dates as ISO 8601 has them (2031-05-09)',
      },
    ];
  }
  if (date !== undefined) {
    return [
      {
        code: 'date-and-clock',
        severity: 'note',
        message: `The time is the date in ${quoted(headers[date])} and the clock in ${chosen} together.`,
        remedy: `to read the clock alone, write the option columns: { time: ${inCode(indices[0], headers)} }`,
      },
    ];
  }
  if (combine !== undefined) {
    const last = quoted(headers[indices.at(-1)!]);
    const isStated = because.startsWith('the option');
    return [
      {
        code: 'combined-columns',
        severity: role === 'power' ? 'warning' : 'note',
        message: `${role} is the ${combine === 'highest' ? 'highest' : combine} of ${indices.length} columns in each row, ${chosen} to ${last}${isStated ? ', as the option columns says' : ''}.`,
        remedy:
          role === 'power'
            ? 'the power of the cores leaves out the rest of the package: log the package power if it can be had'
            : `for another rule write the option columns: { ${role}: { combine: 'highest', 'mean' or 'sum', columns: [ … ] } }, or name one column`,
        count: indices.length,
      },
    ];
  }
  if (others.length === 0) return [];
  return [
    {
      code: 'package-level-column',
      severity: 'note',
      message: `${chosen} was read as ${role}, ${because.replace(/^.*?, and /, '')}; ${others.length} other ${others.length === 1 ? 'column was' : 'columns were'} not (${quoted(headers[others[0]])}${others.length > 1 ? ' …' : ''}).`,
      remedy: `for another one write the option columns: { ${role}: … }`,
      count: others.length,
    },
  ];
}

function chosenIndices(
  headers: readonly string[],
  options: FindColumnsOptions,
): ReadonlyMap<ColumnRole, readonly number[]> {
  const chosen = new Map<ColumnRole, readonly number[]>();
  const issues: LogIssue[] = [];
  for (const role of COLUMN_ROLES) {
    const choice = options.columns?.[role];
    if (choice === undefined || choice === false) continue;
    const named = isDateAndClock(choice)
      ? [choice.clock, choice.date]
      : typeof choice === 'object'
        ? choice.columns
        : [choice];
    chosen.set(
      role,
      named.map((name) => {
        const index = typeof name === 'number' ? name : indexOfHeader(name, headers);
        if (Number.isInteger(index) && index >= 0 && index < headers.length) return index;
        issues.push({
          code: 'no-such-column',
          role,
          line: options.line,
          message: `there is no column ${typeof name === 'number' ? `with index ${name}` : quoted(name)}${index === -2 ? ' that is the only one of that name' : ''}, chosen for ${role}; the headers are ${listed(headers)}`,
          remedy: `choose one of them, or an index from 0 to ${headers.length - 1}`,
        });
        return index;
      }),
    );
  }
  if (issues.length > 0) throw new LogFormatError(issues);
  return chosen;
}

function isDateAndClock(choice: ColumnChoice['time']): choice is DateAndClock {
  return typeof choice === 'object' && 'clock' in choice;
}

/** -1 where no header matches, -2 where several do. */
function indexOfHeader(choice: string, headers: readonly string[]): number {
  for (const same of [
    (header: string) => header === choice,
    (header: string) => header.trim().toLowerCase() === choice.trim().toLowerCase(),
  ]) {
    const found = headers.flatMap((header, index) => (same(header) ? [index] : []));
    if (found.length === 1) return found[0];
    if (found.length > 1) return -2;
  }
  return -1;
}

/** Why the roles cannot be given out, in words, with one option that settles everything. */
export function columnIssues(
  headers: readonly string[],
  ambiguous: readonly AmbiguousRole[],
  absent: readonly ColumnRole[],
  { columns, line, unitsRow }: FindColumnsOptions,
): readonly LogIssue[] {
  const allHeaders = `${listed(headers)}${
    unitsRow === undefined
      ? ''
      : `, with the units ${listed(unitsRow.cells.map(({ text }) => text))} in line ${unitsRow.line}`
  }`;
  // One option that settles everything, ready to paste: what was chosen already, and what is still to choose.
  const entries = [
    ...Object.entries(columns ?? {}).map(([role, choice]) => `${role}: ${choiceInCode(choice)}`),
    ...ambiguous.map(({ role, candidates, clock }) => {
      const first = inCode(candidates[0], headers);
      return `${role}: ${clock === undefined ? first : `{ date: ${first}, clock: ${inCode(clock, headers)} }`}`;
    }),
    ...absent.map((role) => `${role}: '…'`),
  ];
  const remedy = `write the option columns: { ${entries.join(', ')} }`;
  const issues: LogIssue[] = [];
  if (absent.length > 0) {
    const roles = absent.map((role) => `${role} (${ROLE_RULES[role].inWords})`);
    issues.push({
      code: 'no-column',
      line,
      message: `no column is recognisable as ${roles.join(', nor as ')}; the headers are ${allHeaders}`,
      remedy: `${remedy} with the headers that hold ${absent.length === 1 ? 'it' : 'them'}`,
    });
  }
  for (const { role, candidates, clock } of ambiguous) {
    const { inWords, required } = ROLE_RULES[role];
    if (clock !== undefined) {
      issues.push({
        code: 'ambiguous-column',
        line,
        column: candidates[1] + 1,
        message: `${candidates.length} columns could hold the date of the clock ${quoted(headers[clock])}: ${listed(candidates.map((index) => headers[index]))}; all headers are ${allHeaders}`,
        remedy: `${remedy} with the one you mean, or time: ${inCode(clock, headers)} to read the clock alone`,
      });
      continue;
    }
    issues.push({
      code: 'ambiguous-column',
      line,
      column: candidates[1] + 1,
      message: `${candidates.length} columns could be ${role} (${inWords}): ${listed(candidates.map((index) => headers[index]))}; all headers are ${allHeaders}`,
      remedy: `${remedy} with the one you mean${required ? '' : `, or ${role}: false to leave it out`}${role === 'power' ? `, or all of them added up, power: { combine: 'sum', columns: [${candidates.join(', ')}] }` : ''}`,
    });
  }
  return issues;
}

/** A header as it is written in the `columns` option; the index where the text alone would not tell. */
function inCode(index: number, headers: readonly string[]): string {
  const header = headers[index];
  if (header.trim() === '' || headers.indexOf(header) !== headers.lastIndexOf(header)) return String(index);
  return inQuotes(header);
}

function choiceInCode(choice: ColumnChoice['time']): string {
  if (typeof choice === 'string') return inQuotes(choice);
  if (typeof choice !== 'object') return String(choice);
  if (isDateAndClock(choice))
    return `{ date: ${choiceInCode(choice.date)}, clock: ${choiceInCode(choice.clock)} }`;
  return `{ combine: '${choice.combine}', columns: [${choice.columns.map(choiceInCode).join(', ')}] }`;
}

function inQuotes(text: string): string {
  return `'${text.replaceAll('\\', '\\\\').replaceAll("'", "\\'").replaceAll('\n', '\\n').replaceAll('\r', '\\r')}'`;
}

function listed(headers: readonly string[]): string {
  const shown = headers.slice(0, 30).map((header) => quoted(header));
  return `${shown.join(', ')}${headers.length > 30 ? ` and ${headers.length - 30} more` : ''}`;
}

function roleColumn(
  { role, indices, combine, date }: ColumnDecision,
  parsed: readonly ParsedColumn[],
  options: FindColumnsOptions,
): RoleColumn {
  const columns = indices.map((index) =>
    singleColumn(role, index, parsed[index].header, parsed[index].parsed, options),
  );
  const [first] = columns;
  const other = columns.find(({ unit }) => unit.symbol !== first.unit.symbol);
  if (other !== undefined) {
    throw new LogFormatError([
      {
        code: 'contradictory-units',
        line: options.line,
        column: other.index + 1,
        message: `${quoted(first.header)} in ${first.unit.symbol} and ${quoted(other.header)} in ${other.unit.symbol} cannot be combined as ${role}`,
        remedy: `combine columns of one unit, or write the option units: { ${role}: '…' }`,
      },
    ]);
  }
  return {
    ...first,
    ...(combine === undefined ? {} : { combined: { combine, indices } }),
    ...(date === undefined ? {} : { date: { index: date, header: parsed[date].header } }),
  };
}

function singleColumn(
  role: ColumnRole,
  index: number,
  header: string,
  parsed: HeaderWords,
  options: FindColumnsOptions,
): RoleColumn {
  const { quantity, ownUnit } = ROLE_RULES[role];
  const stated = options.units?.[role];
  const unit = stated === undefined ? parsed.unit : unitFromText(stated);
  const place = { line: options.line, column: index + 1 };
  const below = options.unitsRow?.cells[index];
  if (stated === undefined && parsed.unknownUnit !== undefined) {
    const isBelow = below !== undefined && parsed.unknownUnit === below.unknownUnit;
    throw new LogFormatError([
      {
        code: 'unknown-unit',
        ...place,
        ...(isBelow ? { line: options.unitsRow!.line } : {}),
        message: `the unit ${quoted(parsed.unknownUnit)} of ${quoted(header)} is not known`,
        remedy: `write the option units: { ${role}: '${ownUnit}' } with the unit it has`,
      },
    ]);
  }
  if (stated === undefined && below !== undefined && contradicts(below, parsed.unit)) {
    const choices = [parsed.unit!.symbol, ...(below.unit === undefined ? [] : [below.unit.symbol])];
    throw new LogFormatError([
      {
        code: 'contradictory-units',
        ...place,
        line: options.unitsRow!.line,
        message: `${quoted(header)} (${role}) states ${parsed.unit!.symbol}, but the row of units says ${quoted(below.text)} below it`,
        remedy: `correct one of the two, or write the option ${choices.map((symbol) => `units: { ${role}: '${symbol}' }`).join(' or ')}, which counts before both`,
      },
    ]);
  }
  // Work may be counted in anything; a column chosen by hand for it may have no time in its unit.
  if (unit !== undefined && unit.quantity !== quantity && stated === undefined && role !== 'throughput') {
    throw new LogFormatError([
      {
        code: 'wrong-unit',
        ...place,
        message: `${quoted(header)} was chosen for ${role}, but its unit is ${unit.symbol}`,
        remedy: `choose another column, or write the option units: { ${role}: '${ownUnit}' } with the unit it has`,
      },
    ]);
  }
  const isKnown = unit !== undefined && unit.quantity === quantity;
  return {
    role,
    index,
    header,
    unit: isKnown ? unit : unitFromText(ownUnit)!,
    isUnitAssumed: !isKnown,
  };
}

/** Whether the row of units says something else than the header, of which the unit is given. */
function contradicts({ unit, unknownUnit }: UnitsRowCell, ofHeader: Unit | undefined): boolean {
  if (ofHeader === undefined) return false;
  return unknownUnit !== undefined || (unit !== undefined && unit.symbol !== ofHeader.symbol);
}
