import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import { requireValidConditions } from '../../runs/conditions-check.js';
import { adoptRun } from '../../runs/make-run.js';
import type { Conditions, PowerSample, Run, RunSamples } from '../../runs/run.js';
import { unitFromText } from '../../units/units.js';
import { eachUtf8Chunk } from '../cells/decode.js';
import type { Delimiter } from '../cells/delimited-record.js';
import { DATE_ORDERS, type DateOrder } from '../cells/local-date.js';
import { LogFormatError, type LogIssue } from '../log-format-error.js';
import type { CollectedSamples } from '../samples/collected-samples.js';
import {
  COLUMN_ROLES,
  type ColumnChoice,
  type ColumnRole,
  type CombinedColumns,
  type DateAndClock,
  ROLE_RULES,
  type UnitChoice,
} from '../table/column-rules.js';
import { LogReader } from './log-reader.js';

/** What a caller may say about a log. */
export interface ParseRunOptions {
  /** What the run is called in tables, figures and messages. Default `run`; for a file, its name. */
  readonly label?: string;
  /** Which column is which, where the headers do not say so: header text, index from 0, or `false` for none. */
  readonly columns?: ColumnChoice;
  /** Units of columns whose headers do not state them, or state them wrongly: `{ temperature: '°F' }`. */
  readonly units?: UnitChoice;
  /** What a power sample means. Default `interval-mean`, which is what an energy counter gives. */
  readonly powerSample?: PowerSample;
  /** What the log cannot say about itself. */
  readonly conditions?: Conditions;
  /** The character between cells. Default: found from the first lines. */
  readonly delimiter?: Delimiter;
  /** The decimal mark. Default: found from the first lines. */
  readonly decimal?: '.' | ',';
  /**
   * The order of day, month and year in dates that do not begin with a year of four digits. Default: found from the dates.
   */
  readonly dateOrder?: DateOrder;
  /**
   * Makes one sample of all rows within this time, s, for logs far longer than the physics needs; short against the
   * fastest time constant that matters. 0 makes every row a sample, whatever memory that takes. Default: every row is a
   * sample up to 300 MB of numbers (4.4 million rows of eight columns); beyond, neighbours are merged two by two as often as
   * it takes, and a finding says so.
   */
  readonly blockS?: number;
}

export const PARSE_RUN_NAMES: KnownNames<ParseRunOptions> = {
  label: true,
  columns: true,
  units: true,
  powerSample: true,
  conditions: true,
  delimiter: true,
  decimal: true,
  dateOrder: true,
  blockS: true,
};

/** Outcome of `safeParseRun`. */
export type ParsedRun =
  | { readonly ok: true; readonly run: Run }
  | { readonly ok: false; readonly issues: readonly LogIssue[] };

/**
 * Reads the log of a load run from delimited text.
 *
 * Text: comma, semicolon, tab or vertical bar between cells, quoted cells [RFC4180, sec. 2], decimal point or comma,
 * thousands set apart or not, any line ends, UTF-8, UTF-16 or Latin-1; or one JSON object per line. Lines above the
 * header are passed over. Columns are found by the words and units of their headers (`describeColumns` shows how); time,
 * temperature and power are needed; frequency, throughput, ambient, fan speed and voltage are read if they are
 * there. Of a quantity logged for the package and for every core the package is taken; where it is there for the cores
 * only, their highest temperature and voltage, mean frequency or summed throughput, and a finding says so; core powers
 * are not added up unless the option `columns` says so. Units may stand in a row of their own below the headers. Values
 * are converted once: to s, °C, W, MHz, 1/s, rpm, V. Times are numbers, h:mm:ss, ISO 8601 or local dates, or a clock with
 * its dates in another column; a clock without a date runs on over midnight, and an hour of daylight saving time is taken
 * back.
 *
 * A row whose time, temperature or power cannot be read, or with another number of cells than the header, is left
 * out; a value of any other column that cannot be read is interpolated over time. A column without a unit is read
 * in our own unit if its values are usual in it. Findings count all of this and name the lines: rows in the log = rows
 * used + rows reported. Blank lines are no rows. `makeRun` then puts time in order and checks the samples.
 *
 * @param text - the log, as text or as the bytes of a file (bytes are faster and need less memory)
 * @param options - label, conditions, and what the log leaves open
 * @returns the run
 * @throws LogFormatError if the log cannot be read without guessing; its issues name line, column and remedy
 * @throws ArgumentError if an option is not what it must be
 * @example
 * const log = 'Time [s];Die temp. [°C];Package power [W]\n0;31,5;64,8\n1;33,0;65,2\n2;34,1;65,0';
 * parseRun(log, { label: 'evening' }).temperatureC; // => [31.5, 33, 34.1]
 * parseRun('time,temp,power\ns,°F,W\n0,95,64\n1,104,65').temperatureC; // => [35, 40]
 * parseRun('time_s,temp_c,power_mw\n0,31.5,64800\n1,33,65200').powerW; // => [64.8, 65.2]
 * parseRun(''); // => throws /the log is empty/
 */
export function parseRun(text: string | Uint8Array, options: ParseRunOptions = {}): Run {
  requireOptions(options, PARSE_RUN_NAMES, 'parseRun');
  return runFrom(collectText(text, options, 'parseRun'), options);
}

/**
 * `parseRun` that returns what is wrong with a log instead of throwing it. An option that is not what it must be
 * still throws an `ArgumentError`.
 *
 * @example
 * const parsed = safeParseRun('time_s,temp_c,power_w');
 * parsed.ok ? [] : parsed.issues.map(({ code }) => code); // => ['no-rows']
 */
export function safeParseRun(text: string | Uint8Array, options: ParseRunOptions = {}): ParsedRun {
  try {
    return { ok: true, run: parseRun(text, options) };
  } catch (error) {
    if (error instanceof LogFormatError) return { ok: false, issues: error.issues };
    throw error;
  }
}

/** Reads a text in one go. */
export function collectText(
  text: string | Uint8Array,
  options: ParseRunOptions,
  caller: string,
): CollectedSamples {
  if (typeof text !== 'string' && !(text instanceof Uint8Array)) {
    throw new ArgumentError({
      caller,
      argument: 'text',
      expected: 'the text of a log or its bytes in a Uint8Array',
      received: text,
      remedy: 'to read a file, use readRun from "kelvin-per-watt/node"',
    });
  }
  const reader = new LogReader({ ...options, expectedBytes: text.length });
  if (typeof text === 'string') eachUtf8Chunk(text, (chunk) => reader.push(chunk));
  else reader.push(text);
  return reader.finish();
}

/** Makes the run of the columns that were read; they become part of it. */
export function runFrom(
  { columns, lineNumbers, findings, areMeans }: CollectedSamples,
  { label = 'run', conditions, powerSample }: ParseRunOptions,
): Run {
  // The mean over a stretch belongs to the interval before its stamp, whatever the rows were.
  const meaning = areMeans ? 'interval-mean' : powerSample;
  const samples: RunSamples = {
    timeS: columns.time!,
    temperatureC: columns.temperature!,
    powerW: columns.power!,
    ...(columns.frequency === undefined ? {} : { frequencyMHz: columns.frequency }),
    ...(columns.throughput === undefined ? {} : { throughputPerS: columns.throughput }),
    ...(columns.ambient === undefined ? {} : { ambientC: columns.ambient }),
    ...(columns.fanSpeed === undefined ? {} : { fanSpeedRpm: columns.fanSpeed }),
    ...(columns.voltage === undefined ? {} : { voltageV: columns.voltage }),
  };
  return adoptRun(samples, {
    label,
    lineNumbers,
    findings,
    ...(conditions === undefined ? {} : { conditions }),
    ...(meaning === undefined ? {} : { powerSample: meaning }),
  });
}

/** Checks options before any text is read, so that a slip in code is not blamed on the log. */
export function requireOptions(options: ParseRunOptions, names: object, caller: string): void {
  const fail = (argument: string, expected: string, received: unknown, remedy?: string): never => {
    throw new ArgumentError({
      caller,
      argument,
      expected,
      received,
      ...(remedy === undefined ? {} : { remedy }),
    });
  };
  requireKnownNames(options, names, { caller, argument: 'options' });
  const { label, columns, units, powerSample, conditions, delimiter, decimal, dateOrder, blockS } = options;
  if (label !== undefined && (typeof label !== 'string' || label.trim() === ''))
    fail('options.label', 'a text that names the run', label);
  if (!['interval-mean', 'instant', undefined].includes(powerSample))
    fail('options.powerSample', "'interval-mean' or 'instant'", powerSample);
  if (![',', ';', '\t', '|', undefined].includes(delimiter))
    fail('options.delimiter', "',', ';', '\\t' or '|'", delimiter);
  if (!['.', ',', undefined].includes(decimal)) fail('options.decimal', "'.' or ','", decimal);
  if (dateOrder !== undefined && !DATE_ORDERS.includes(dateOrder))
    fail('options.dateOrder', DATE_ORDERS.map((order) => `'${order}'`).join(' or '), dateOrder);
  if (blockS !== undefined) requireNumber(blockS, { caller, argument: 'options.blockS' }, { atLeast: 0 });
  for (const [name, choices] of [
    ['columns', columns],
    ['units', units],
  ] as const) {
    if (choices !== undefined)
      requireKnownNames(choices, ROLE_RULES, { caller, argument: `options.${name}` });
  }
  for (const role of COLUMN_ROLES) {
    const choice = columns?.[role];
    if (role === 'time' && typeof choice === 'object') requireDateAndClock(choice, caller);
    else if (typeof choice === 'object') requireCombined(choice as CombinedColumns, role, caller);
    else if (choice !== undefined && choice !== false && !isColumnName(choice))
      fail(
        `options.columns.${role}`,
        "a header, an index from 0, false or { combine: 'highest', 'mean' or 'sum', columns: [ … ] }",
        choice,
      );
    if (choice === false && ROLE_RULES[role].required)
      fail(`options.columns.${role}`, 'a header or an index from 0', choice, `a run needs ${role}`);
    const unit = units?.[role];
    if (unit !== undefined && unitFromText(String(unit))?.quantity !== ROLE_RULES[role].quantity)
      fail(
        `options.units.${role}`,
        `a unit of ${ROLE_RULES[role].inWords}`,
        unit,
        `such as '${ROLE_RULES[role].ownUnit}'`,
      );
  }
  if (conditions !== undefined) requireValidConditions(conditions, caller);
}

const DATE_AND_CLOCK_NAMES: KnownNames<DateAndClock> = { date: true, clock: true };

function requireDateAndClock(choice: object, caller: string): void {
  const argument = 'options.columns.time';
  if ('combine' in choice)
    throw new ArgumentError({
      caller,
      argument,
      expected: 'one column, or { date: …, clock: … }',
      received: choice,
    });
  requireKnownNames(choice, DATE_AND_CLOCK_NAMES, { caller, argument });
  for (const name of ['date', 'clock'] as const) {
    const received = (choice as Partial<DateAndClock>)[name];
    if (!isColumnName(received))
      throw new ArgumentError({
        caller,
        argument: `${argument}.${name}`,
        expected: 'a header or an index from 0',
        received,
      });
  }
}

const COMBINED_NAMES: KnownNames<CombinedColumns> = { combine: true, columns: true };

function requireCombined(choice: CombinedColumns, role: ColumnRole, caller: string): void {
  const argument = `options.columns.${role}`;
  requireKnownNames(choice, COMBINED_NAMES, { caller, argument });
  if (!['highest', 'mean', 'sum'].includes(choice.combine))
    throw new ArgumentError({
      caller,
      argument: `${argument}.combine`,
      expected: "'highest', 'mean' or 'sum'",
      received: choice.combine,
    });
  const { columns } = choice;
  if (!Array.isArray(columns) || columns.length < 2 || !columns.every(isColumnName))
    throw new ArgumentError({
      caller,
      argument: `${argument}.columns`,
      expected: 'a list of at least two headers or indices from 0',
      received: columns,
    });
}

function isColumnName(value: unknown): boolean {
  return typeof value === 'string' || (typeof value === 'number' && Number.isInteger(value) && value >= 0);
}
