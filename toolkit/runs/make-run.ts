import { ArgumentError, type KnownNames, requireKnownNames } from '../errors.js';
import { requireValidConditions } from './conditions-check.js';
import type { Finding } from './finding.js';
import { qualityFindings } from './quality/quality.js';
import { keepIncreasing } from './quality/time-order.js';
import type { Conditions, PowerSample, Run, RunSamples } from './run.js';

/** The columns of a run as a caller has them: one number per sample, all of one length. */
export interface RunColumns {
  /** Time, s, from any origin at or after zero (epoch seconds will do); `makeRun` shifts it to start at 0. */
  readonly timeS: ArrayLike<number>;
  /** Die or package temperature, degrees Celsius. */
  readonly temperatureC: ArrayLike<number>;
  /** Package power, W. */
  readonly powerW: ArrayLike<number>;
  readonly frequencyMHz?: ArrayLike<number>;
  /** Work done per second, in any unit that stays the same between runs. */
  readonly throughputPerS?: ArrayLike<number>;
  /** Air temperature at the cooler's intake, degrees Celsius. */
  readonly ambientC?: ArrayLike<number>;
  readonly fanSpeedRpm?: ArrayLike<number>;
  readonly voltageV?: ArrayLike<number>;
}

/** What goes with the columns of a run. */
export interface MakeRunOptions {
  /** What the run is called in tables, figures and messages. */
  readonly label: string;
  readonly conditions?: Conditions;
  /** What a power sample means. Default `interval-mean`, which is what an energy counter gives. */
  readonly powerSample?: PowerSample;
  /** Line of the log each sample came from, 1-based, so that findings can point at it. */
  readonly lineNumbers?: ArrayLike<number>;
  /** Findings made before, while reading; they come first. */
  readonly findings?: readonly Finding[];
}

export const MAKE_RUN_NAMES: KnownNames<MakeRunOptions> = {
  label: true,
  conditions: true,
  powerSample: true,
  lineNumbers: true,
  findings: true,
};

/** Columns, and what else a run has, so that the columns of a run can be changed: `{ ...run, temperatureC }`. */
const SAMPLE_NAMES: KnownNames<RunColumns & Run> = {
  timeS: true,
  temperatureC: true,
  powerW: true,
  frequencyMHz: true,
  throughputPerS: true,
  ambientC: true,
  fanSpeedRpm: true,
  voltageV: true,
  label: true,
  conditions: true,
  powerSample: true,
  findings: true,
};

type ColumnName = keyof RunColumns & keyof RunSamples;

/** Lowest value each column can physically have, with its name in a sentence. */
const COLUMN_FLOORS: Readonly<Record<ColumnName, { readonly floor: number; readonly inWords: string }>> = {
  timeS: { floor: 0, inWords: 'a time at or after zero, s' },
  temperatureC: { floor: -273.15, inWords: 'a temperature above absolute zero, degrees Celsius' },
  powerW: { floor: 0, inWords: 'a power of at least 0 W' },
  frequencyMHz: { floor: 0, inWords: 'a frequency of at least 0 MHz' },
  throughputPerS: { floor: 0, inWords: 'a throughput of at least 0 per second' },
  ambientC: { floor: -273.15, inWords: 'a temperature above absolute zero, degrees Celsius' },
  fanSpeedRpm: { floor: 0, inWords: 'a speed of at least 0 rpm' },
  voltageV: { floor: 0, inWords: 'a voltage of at least 0 V' },
};

const COLUMN_NAMES = Object.keys(COLUMN_FLOORS) as readonly ColumnName[];

/**
 * Makes a `Run` from columns of numbers: the one way a run comes into being, from a log or from code.
 *
 * Time is shifted to start at 0. Samples whose stamp repeats or runs backward are left out, the fewest that make
 * time strictly increasing (of samples with one stamp the last is kept), and a finding counts them and names
 * their lines. Then the samples are checked for their number, gaps, stuck and coarse sensors, spikes, drifting air and wrong
 * units; each adds a finding, and none of them changes a sample.
 *
 * @param samples - columns of one length n >= 2; time in s, temperatures in degrees Celsius, power in W,
 *   frequency in MHz; copied, never changed
 * @param options - label, and what else is known about the run
 * @returns the run, with at least two samples
 * @throws ArgumentError if columns differ in length, a value is no number, not finite or physically impossible,
 *   fewer than two samples with different stamps remain, or a condition is not what `conditionsSchema` allows
 * @example
 * const run = makeRun(
 *   { timeS: [100, 101, 102], temperatureC: [31, 34, 36], powerW: [60, 60, 61] },
 *   { label: 'drawer, flat 41 mm', conditions: { powerCapW: 60 } },
 * );
 * run.timeS; // => [0, 1, 2]
 * makeRun({ timeS: [0, 1], temperatureC: [31, NaN], powerW: [60, 60] }, { label: 'x' }); // => throws /temperatureC\[1\]/
 */
export function makeRun(samples: RunColumns, options: MakeRunOptions): Run {
  if (typeof samples === 'object' && samples !== null)
    requireKnownNames(samples, SAMPLE_NAMES, { caller: 'makeRun', argument: 'samples' });
  requireAll(samples, options);
  const copies: Partial<Record<ColumnName, Float64Array>> = {};
  for (const name of COLUMN_NAMES) {
    const column = samples[name];
    if (column !== undefined) copies[name] = new Float64Array(column);
  }
  return assemble(copies as unknown as RunSamples, options);
}

/**
 * `makeRun` without the copy, for a reader that has just filled the columns and lets go of them: the run keeps
 * the arrays themselves and shifts the times in place.
 */
export function adoptRun(samples: RunSamples, options: MakeRunOptions): Run {
  requireAll(samples, options);
  return assemble(samples, options);
}

function requireAll(samples: RunColumns, options: MakeRunOptions): void {
  requireSamples(samples);
  requireOptions(options, samples.timeS.length);
  requireValues(samples, options.lineNumbers);
}

/** Puts checked columns in order of time and makes the run of them. */
function assemble(samples: RunSamples, options: MakeRunOptions): Run {
  const ordered = keepIncreasing(samples.timeS, options.lineNumbers);
  const kept = ordered.keptIndices;
  const columns: Partial<Record<ColumnName, Float64Array>> = {};
  for (const name of COLUMN_NAMES) {
    const column = samples[name];
    if (column !== undefined) columns[name] = kept === undefined ? column : pick(column, kept);
  }
  const ownSamples = columns as unknown as RunSamples;
  if (ownSamples.timeS.length < 2) {
    throw new ArgumentError({
      caller: 'makeRun',
      argument: 'samples.timeS',
      expected: 'at least two samples with different time stamps',
      ...withoutCourse(samples.timeS),
    });
  }
  shiftToZero(ownSamples.timeS);

  const lineNumbers =
    options.lineNumbers === undefined || kept === undefined
      ? options.lineNumbers
      : pick(options.lineNumbers, kept);
  const powerSample = options.powerSample ?? 'interval-mean';
  const conditions = { ...options.conditions };
  return {
    label: options.label,
    conditions,
    powerSample,
    ...ownSamples,
    findings: [
      ...(options.findings ?? []),
      ...ordered.findings,
      ...qualityFindings(ownSamples, { conditions, ...(lineNumbers === undefined ? {} : { lineNumbers }) }),
    ],
  };
}

/** Times of which not even two increase, in words, and what to do. */
function withoutCourse(timeS: Float64Array): { readonly received: string; readonly remedy: string } {
  if (timeS.some((time) => time < timeS[0])) {
    return {
      received: 'time that runs backwards throughout',
      remedy: 'give the samples in order of time',
    };
  }
  const { length } = timeS;
  return {
    received:
      length === 0 ? 'no sample' : length === 1 ? 'one sample' : `one time stamp in all ${length} samples`,
    remedy: 'a run needs a course over time; for averages alone there is coolerFromSteadyPoints',
  };
}

function requireSamples(samples: RunColumns): void {
  if (samples === null || typeof samples !== 'object') {
    throw new ArgumentError({
      caller: 'makeRun',
      argument: 'samples',
      expected: 'an object with the columns timeS, temperatureC and powerW',
      received: samples,
    });
  }
  for (const name of COLUMN_NAMES) {
    const column: unknown = samples[name];
    const required = name === 'timeS' || name === 'temperatureC' || name === 'powerW';
    if (column === undefined && !required) continue;
    if (column === null || typeof column !== 'object' || !('length' in column)) {
      throw new ArgumentError({
        caller: 'makeRun',
        argument: `samples.${name}`,
        expected: 'an array of numbers, one per sample',
        received: column,
        ...(required ? { remedy: 'time, temperature and power are needed in every run' } : {}),
      });
    }
  }
  for (const name of COLUMN_NAMES) {
    const column = samples[name];
    if (column === undefined || column.length === samples.timeS.length) continue;
    throw new ArgumentError({
      caller: 'makeRun',
      argument: `samples.${name}`,
      expected: `as long as samples.timeS, ${samples.timeS.length} values`,
      received: column.length,
      remedy: 'give one value per time stamp in every column',
    });
  }
}

function requireOptions(options: MakeRunOptions, sampleCount: number): void {
  requireKnownNames(options, MAKE_RUN_NAMES, { caller: 'makeRun', argument: 'options' });
  if (options.conditions !== undefined) requireValidConditions(options.conditions, 'makeRun');
  if (typeof options.label !== 'string') {
    throw new ArgumentError({
      caller: 'makeRun',
      argument: 'options.label',
      expected: 'a text that names the run',
      received: options.label,
    });
  }
  if (!['interval-mean', 'instant', undefined].includes(options.powerSample)) {
    throw new ArgumentError({
      caller: 'makeRun',
      argument: 'options.powerSample',
      expected: "'interval-mean' or 'instant'",
      received: options.powerSample,
    });
  }
  const { lineNumbers } = options;
  if (lineNumbers !== undefined && lineNumbers.length !== sampleCount) {
    throw new ArgumentError({
      caller: 'makeRun',
      argument: 'options.lineNumbers',
      expected: `as long as samples.timeS, ${sampleCount} values`,
      received: lineNumbers.length,
    });
  }
}

function requireValues(samples: RunColumns, lineNumbers: ArrayLike<number> | undefined): void {
  for (const name of COLUMN_NAMES) {
    const column = samples[name];
    if (column === undefined) continue;
    const { floor, inWords } = COLUMN_FLOORS[name];
    const i = indexOfImpossible(column, floor);
    if (i === -1) continue;
    throw new ArgumentError({
      caller: 'makeRun',
      argument: `samples.${name}[${i}]${lineNumbers === undefined ? '' : ` (line ${lineNumbers[i]})`}`,
      expected: inWords,
      received: column[i],
      remedy: 'correct the value or leave the whole sample out',
    });
  }
}

/** Where the first value stands that is no finite number of at least `floor`, or -1. */
function indexOfImpossible(column: ArrayLike<unknown>, floor: number): number {
  for (let i = 0; i < column.length; i++) {
    // An array from code that is not typed may hold null or text, which a copy would turn into numbers.
    const value = column[i];
    // Written so that NaN fails too.
    if (!(typeof value === 'number' && value >= floor && value < Number.POSITIVE_INFINITY)) return i;
  }
  return -1;
}

function pick(column: ArrayLike<number>, indices: Uint32Array): Float64Array {
  const picked = new Float64Array(indices.length);
  for (let i = 0; i < indices.length; i++) picked[i] = column[indices[i]];
  return picked;
}

function shiftToZero(timeS: Float64Array): void {
  const startS = timeS[0];
  if (startS === 0) return;
  for (let i = 0; i < timeS.length; i++) timeS[i] = timeS[i] - startS;
}
