import type { Finding } from '../runs/finding.js';
import { type TimeText, timeFromText } from '../units/time-text.js';
import { fromOwnUnit, toOwnUnit } from '../units/units.js';
import { type ColumnRole, ROLE_RULES, type RoleColumn } from './columns.js';
import { quoted } from './dialect.js';
import { LogFormatError, type LogIssue } from './log-format-error.js';
import { unwrapMidnights } from './midnight.js';
import { isMissingText, numberFromBytes, numberFromText } from './number-cell.js';
import { cellText, type DelimitedRecord } from './delimited-record.js';

/** How many line numbers a finding lists. */
const LISTED_LINES = 20;

/** Above this share of rows left out or values filled the answer may change. */
const NOTED_FRACTION = 0.01;
const SERIOUS_FRACTION = 0.2;

/** The columns of a run as they were read, in our own units, and what was done with the rest. */
export interface CollectedSamples {
  readonly columns: Readonly<Partial<Record<ColumnRole, Float64Array>>>;
  readonly lineNumbers: Uint32Array;
  readonly findings: readonly Finding[];
  /** Rows of the log, blank lines not counted: those used and those left out. */
  readonly rowCount: number;
}

/** Cells or rows that share one fault. */
interface Fault {
  count: number;
  readonly lines: number[];
  example: string;
}

interface CollectedColumn extends RoleColumn {
  readonly required: boolean;
  /** Lowest value that is physically possible, in the unit of the log. */
  readonly floor: number;
  values: Float64Array;
  readonly missing: Fault;
  readonly unreadable: Fault;
}

type TimeForm = 'number' | TimeText['form'];

/**
 * Takes the rows of a log one by one and keeps the columns that have a role.
 *
 * A row is used if its time, temperature and power can be read. If one of them is missing or is no number, or if
 * the row has another number of cells than the header, the row is left out. A missing or unreadable value of any
 * other column does not cost the row: it is interpolated over time from its neighbours. Both are counted in
 * findings, so that rows in = rows used + rows reported.
 */
export class SampleCollector {
  private readonly columns: readonly CollectedColumn[];
  private lineNumbers: Uint32Array;
  private capacity: number;
  private count = 0;
  private rowCount = 0;
  private timeForm: TimeForm | undefined;
  private firstWholeS = 0;
  private readonly wrongWidth: Fault = newFault();
  private readonly decimalByte: number;

  constructor(
    columns: readonly RoleColumn[],
    private readonly options: {
      /** Number of cells the header has. */
      readonly width: number;
      readonly decimal: '.' | ',';
      /** How many rows to make room for. */
      readonly expectedRows: number;
    },
  ) {
    this.capacity = Math.max(16, Math.ceil(options.expectedRows));
    this.decimalByte = options.decimal.charCodeAt(0);
    this.lineNumbers = new Uint32Array(this.capacity);
    this.columns = columns.map((column) => ({
      ...column,
      required: ROLE_RULES[column.role].required,
      floor: floorOf(column),
      values: new Float64Array(this.capacity),
      missing: newFault(),
      unreadable: newFault(),
    }));
  }

  /** Takes one record that begins on `line`. */
  take(bytes: Uint8Array, record: DelimitedRecord, line: number): void {
    this.rowCount++;
    if (record.count !== this.options.width && !this.hasOnlyBlanksBeyond(bytes, record)) {
      note(this.wrongWidth, line, `${record.count} cells`);
      return;
    }
    if (this.count === this.capacity) this.grow();
    const row = this.count;
    const { starts, ends } = record;
    for (const column of this.columns) {
      const cell = column.index;
      let value = numberFromBytes(bytes, starts[cell]!, ends[cell]!, this.decimalByte);
      // Written so that NaN, which stands for "not plain", takes the long way too.
      if (!(value >= column.floor) || (column.role === 'time' && this.timeForm !== 'number')) {
        value = this.readSlowly(column, cellText(bytes, record, cell), line);
        if (Number.isNaN(value) && column.required) return;
      }
      column.values[row] = value;
    }
    this.lineNumbers[row] = line;
    this.count++;
  }

  /** Whether the row is wider than the header by blank cells only, as a delimiter at the end of a line makes it. */
  private hasOnlyBlanksBeyond(bytes: Uint8Array, record: DelimitedRecord): boolean {
    if (record.count < this.options.width) return false;
    for (let cell = this.options.width; cell < record.count; cell++) {
      for (let i = record.starts[cell]!; i < record.ends[cell]!; i++) {
        if (bytes[i] !== 32 && bytes[i] !== 9) return false;
      }
    }
    return true;
  }

  /** A cell that is no plain number: a time, a number in an unusual spelling, nothing, or a fault. */
  private readSlowly(column: CollectedColumn, cell: string, line: number): number {
    const text = cell.trim();
    const value = column.role === 'time' ? this.timeOf(text) : numberFromText(text, this.options.decimal);
    if (value >= column.floor && Number.isFinite(value)) return value;
    if (isMissingText(text)) note(column.missing, line, '');
    else note(column.unreadable, line, text);
    return Number.NaN;
  }

  /** Seconds, or the number in the unit of the log; the first readable cell decides which form the column has. */
  private timeOf(text: string): number {
    if (this.timeForm === undefined || this.timeForm === 'number') {
      const number = numberFromText(text, this.options.decimal);
      if (!Number.isNaN(number)) this.timeForm = 'number';
      if (this.timeForm === 'number') return number;
    }
    const time = timeFromText(text);
    if (time === undefined) return Number.NaN;
    if (this.timeForm === undefined) {
      this.timeForm = time.form;
      this.firstWholeS = time.wholeS;
    }
    return time.form === this.timeForm ? time.wholeS - this.firstWholeS + time.fractionS : Number.NaN;
  }

  private grow(): void {
    this.capacity = Math.ceil(1.5 * this.capacity);
    for (const column of this.columns) {
      const wider = new Float64Array(this.capacity);
      wider.set(column.values);
      column.values = wider;
    }
    const wider = new Uint32Array(this.capacity);
    wider.set(this.lineNumbers);
    this.lineNumbers = wider;
  }

  /**
   * The columns, converted to our own units, with the findings.
   *
   * @throws LogFormatError if fewer than two rows can be used, if a column holds no number at all, or if a column
   *   without a unit has values that are not usual in ours
   */
  finish(): CollectedSamples {
    const findings: Finding[] = [];
    const columns: Partial<Record<ColumnRole, Float64Array>> = {};
    this.requireRows();
    const lineNumbers = fitted(this.lineNumbers, this.count);
    for (const column of this.columns) column.values = fitted(column.values, this.count);
    this.findLeftOutRows(findings);

    const [time, ...others] = this.columns;
    this.finishTime(time!, findings);
    columns.time = time!.values;
    requireUsualUnit(time!, this.timeForm === 'number', findings);
    const issues: LogIssue[] = [];
    for (const column of others) {
      const isKept = this.finishColumn(column, time!.values, findings, issues);
      if (isKept) columns[column.role] = column.values;
    }
    if (issues.length > 0) throw new LogFormatError(issues);
    return { columns, lineNumbers, findings, rowCount: this.rowCount };
  }

  private requireRows(): void {
    if (this.count >= 2) return;
    const issues: LogIssue[] = [];
    const remedy = 'a run needs at least two rows with time, temperature and power';
    if (this.wrongWidth.count > 0) {
      issues.push({
        code: 'cell-count',
        line: this.wrongWidth.lines[0]!,
        message: `the header has ${this.options.width} cells, this line has ${this.wrongWidth.example}${others(this.wrongWidth)}`,
        remedy: 'give every row one cell per header; quote cells that hold the delimiter',
      });
    }
    for (const column of this.columns.filter(({ required }) => required)) {
      if (column.unreadable.count > 0) issues.push(notNumbers(column, this.options.decimal));
      if (column.missing.count > 0) {
        issues.push({
          code: 'missing-value',
          line: column.missing.lines[0]!,
          column: column.index + 1,
          message: `${quoted(column.header)} has no value here${others(column.missing)}`,
          remedy,
        });
      }
    }
    if (this.rowCount === 0) {
      issues.push({
        code: 'no-rows',
        message: 'the log has a header but no rows',
        remedy,
      });
    } else if (issues.length === 0) {
      issues.push({
        code: 'one-sample',
        line: this.lineNumbers[0]!,
        message: 'the log has one sample only',
        remedy: `${remedy}; for averages alone there is coolerFromSteadyPoints`,
      });
    }
    throw new LogFormatError(issues);
  }

  private findLeftOutRows(findings: Finding[]): void {
    const severityOf = (count: number): Finding['severity'] =>
      count > SERIOUS_FRACTION * this.rowCount
        ? 'serious'
        : count > NOTED_FRACTION * this.rowCount
          ? 'warning'
          : 'note';
    const { wrongWidth } = this;
    if (wrongWidth.count > 0) {
      findings.push({
        code: 'row-cell-count',
        severity: severityOf(wrongWidth.count),
        message: `${this.leftOut(wrongWidth)}: their number of cells is not the header's ${this.options.width} (line ${wrongWidth.lines[0]} has ${wrongWidth.example}).`,
        remedy: 'check whether these lines were cut off while being written, or hold an unquoted delimiter',
        count: wrongWidth.count,
        lines: wrongWidth.lines,
      });
    }
    for (const { required, role, header, missing, unreadable } of this.columns) {
      if (!required) continue;
      if (unreadable.count > 0) {
        findings.push({
          code: 'row-unreadable-value',
          severity: severityOf(unreadable.count),
          message: `${this.leftOut(unreadable)}: ${quoted(header)} (${role}) is ${quoted(unreadable.example)} in line ${unreadable.lines[0]}, which is no ${role === 'time' ? 'time like the others' : 'possible value'}.`,
          remedy: 'correct or remove these lines',
          count: unreadable.count,
          lines: unreadable.lines,
        });
      }
      if (missing.count > 0) {
        findings.push({
          code: 'row-missing-value',
          severity: severityOf(missing.count),
          message: `${this.leftOut(missing)}: ${quoted(header)} (${role}) has no value there.`,
          remedy: 'log time, temperature and power in every row',
          count: missing.count,
          lines: missing.lines,
        });
      }
    }
  }

  private leftOut({ count }: Fault): string {
    return `${count} of ${this.rowCount} rows ${count === 1 ? 'was' : 'were'} left out`;
  }

  /** Converts numbers to seconds from the first row on; texts are seconds already. Never negative. */
  private finishTime(time: CollectedColumn, findings: Finding[]): void {
    const { values, unit } = time;
    if (this.timeForm === 'clock')
      findings.push(...unwrapMidnights(values, this.firstWholeS, this.lineNumbers));
    // A whole number near the start is taken off first, since an epoch in ms leaves few digits for the fraction.
    const origin = values[0]!;
    let lowest = 0;
    for (let i = 0; i < values.length; i++) {
      const sinceOrigin = values[i]! - origin;
      values[i] =
        this.timeForm === 'number' ? (sinceOrigin * unit.numerator) / unit.denominator : sinceOrigin;
      if (values[i]! < lowest) lowest = values[i]!;
    }
    if (lowest < 0) for (let i = 0; i < values.length; i++) values[i] = values[i]! - lowest;
    for (let i = 1; i < values.length; i++) if (values[i]! > values[i - 1]!) return;
    throw new LogFormatError([
      {
        code: 'time-stands-still',
        line: this.lineNumbers[1]!,
        column: time.index + 1,
        message: `${quoted(time.header)} never increases: no row is later than the row before it`,
        remedy: 'choose the column with the running time by the option columns: { time: … }',
      },
    ]);
  }

  /** Returns whether the column is part of the run. */
  private finishColumn(
    column: CollectedColumn,
    timeS: Float64Array,
    findings: Finding[],
    issues: LogIssue[],
  ): boolean {
    const { values, unit, missing, unreadable, role, header } = column;
    const absentCount = column.required ? 0 : missing.count + unreadable.count;
    if (absentCount === values.length) {
      if (unreadable.count > 0) {
        issues.push(notNumbers(column, this.options.decimal));
      } else {
        findings.push({
          code: 'empty-column',
          severity: 'note',
          message: `${quoted(header)} (${role}) has no value in any row and was left out.`,
        });
      }
      return false;
    }
    if (unit.offset !== 0 || unit.numerator !== unit.denominator) {
      for (let i = 0; i < values.length; i++) values[i] = toOwnUnit(values[i]!, unit);
    }
    requireUsualUnit(column, true, findings);
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
        lines: [...missing.lines, ...unreadable.lines].sort((a, b) => a - b).slice(0, LISTED_LINES),
      });
    }
    return true;
  }
}

function newFault(): Fault {
  return { count: 0, lines: [], example: '' };
}

function note(fault: Fault, line: number, example: string): void {
  if (fault.count === 0) fault.example = example;
  fault.count++;
  if (fault.lines.length < LISTED_LINES) fault.lines.push(line);
}

function others(fault: Fault): string {
  const more = fault.count - 1;
  return more === 0 ? '' : ` (and so in ${more} more ${more === 1 ? 'row' : 'rows'})`;
}

function notNumbers(column: CollectedColumn, decimal: '.' | ','): LogIssue {
  const { role, header, index, unreadable } = column;
  const choice = `choose another column by the option columns: { ${role}: … }`;
  return {
    code: 'not-numbers',
    line: unreadable.lines[0]!,
    column: index + 1,
    message: `${quoted(header)} is read as ${role} but holds ${quoted(unreadable.example)}, which is no ${role === 'time' ? 'time' : 'possible number'}${others(unreadable)}`,
    remedy:
      role === 'time'
        ? `write times as numbers, as h:mm:ss or as ISO 8601 (2031-05-09T14:30:00), or ${choice}`
        : `${choice}${column.required ? '' : `, or leave it out by columns: { ${role}: false }`}; the decimal mark was taken to be ${quoted(decimal)}`,
  };
}

/** Temperatures end at absolute zero, everything else but time at zero. */
function floorOf({ role, unit }: RoleColumn): number {
  if (role === 'time') return Number.NEGATIVE_INFINITY;
  return fromOwnUnit(unit.quantity === 'temperature' ? -273.15 : 0, unit);
}

/** Drops the room that was reserved and not used; large arrays keep it, since a copy would cost more. */
function fitted<T extends Float64Array | Uint32Array>(values: T, count: number): T {
  const isWasteful = values.length - count > count / 8 || count < 1 << 16;
  return (isWasteful ? values.slice(0, count) : values.subarray(0, count)) as T;
}

/** Fills NaN by straight lines over time between the readings around it; before the first and after the last one, by that reading. */
function interpolateMissing(values: Float64Array, timeS: Float64Array): void {
  let before = -1;
  for (let i = 0; i < values.length; i++) {
    if (Number.isNaN(values[i]!)) continue;
    for (let j = before + 1; j < i; j++) {
      if (before === -1) {
        values[j] = values[i]!;
        continue;
      }
      const share = (timeS[j]! - timeS[before]!) / (timeS[i]! - timeS[before]!);
      // Where time runs backward the share means nothing, and the reading before is held.
      values[j] =
        share >= 0 && share <= 1 ? values[before]! + share * (values[i]! - values[before]!) : values[before]!;
    }
    before = i;
  }
  for (let j = before + 1; j < values.length; j++) values[j] = values[before]!;
}

/** What is usual in our own unit; a column without a unit whose median lies outside is refused, not guessed at. */
const USUAL: Readonly<Record<ColumnRole, readonly [low: number, high: number, alternatives: string]>> = {
  time: [0.001, 60, 's, ms, min, h'],
  temperature: [-20, 115, '°C, °F, K'],
  ambient: [-20, 60, '°C, °F, K'],
  power: [0, 2000, 'W, mW, kW'],
  frequency: [50, 20_000, 'MHz, GHz, Hz'],
  throughput: [0, Number.POSITIVE_INFINITY, '1/s, 1/min, 1/h'],
  fanSpeed: [0, 40_000, 'rpm'],
  voltage: [0.2, 3, 'V, mV'],
};

function requireUsualUnit(column: CollectedColumn, isNumeric: boolean, findings: Finding[]): void {
  // Throughput has the unit of the log, whatever that is.
  if (!column.isUnitAssumed || !isNumeric || column.role === 'throughput') return;
  const { role, header, index, values, unit } = column;
  const [low, high, alternatives] = USUAL[role];
  const typical = role === 'time' ? median(steps(values)) : median(values);
  if (!(typical >= low && typical <= high)) {
    throw new LogFormatError([
      {
        code: 'unit-not-stated',
        column: index + 1,
        message: `${quoted(header)} (${role}) states no unit, and ${role === 'time' ? 'steps' : 'values'} around ${Number(typical.toPrecision(4))} are not usual in ${unit.symbol}`,
        remedy: `write the option units: { ${role}: '…' } with the unit it has (${alternatives})`,
      },
    ]);
  }
  findings.push({
    code: 'assumed-unit',
    severity: 'note',
    message: `${quoted(header)} (${role}) states no unit; it was read as ${unit.symbol}.`,
    remedy: `state the unit in the header, or write the option units: { ${role}: '${unit.symbol}' }`,
  });
}

/** Positive steps of at most about a thousand places spread over the column. */
function steps(values: Float64Array): Float64Array {
  const stride = Math.max(1, Math.floor(values.length / 1000));
  const found: number[] = [];
  for (let i = 1; i < values.length; i += stride) {
    const step = values[i]! - values[i - 1]!;
    if (step > 0) found.push(step);
  }
  return Float64Array.from(found);
}

/** Median of at most about a thousand values spread over the column, those that are numbers. */
function median(values: Float64Array): number {
  const stride = Math.max(1, Math.floor(values.length / 1000));
  const picked: number[] = [];
  for (let i = 0; i < values.length; i += stride) if (!Number.isNaN(values[i]!)) picked.push(values[i]!);
  picked.sort((a, b) => a - b);
  return picked[picked.length >> 1] ?? Number.NaN;
}
