import { ArgumentError } from '../errors.js';
import type { Run } from '../runs/run.js';

/** A temperature over time: logged, simulated or made up. A `Run` is one too. */
export interface TemperatureSeries {
  /** Name for tables and sentences. Default `series`. */
  readonly label?: string;
  /** s, strictly increasing; length n. */
  readonly timeS: ArrayLike<number>;
  /** Degrees Celsius; length n. */
  readonly temperatureC: ArrayLike<number>;
}

/** What cycles can be counted in: bare temperatures in the order of time, or temperatures with their times. */
export type TemperatureInput = ArrayLike<number> | TemperatureSeries | Run;

/** The input in one form; nothing is copied. */
export interface KnownSeries {
  readonly label: string;
  readonly temperatureC: ArrayLike<number>;
  readonly timeS?: ArrayLike<number>;
}

/**
 * Checks a series of temperatures, with their times where they are given.
 *
 * @throws ArgumentError naming the argument and the first sample at fault
 */
export function requireSeries(value: unknown, caller: string, argument: string): KnownSeries {
  const { label, temperatureC, timeS } = partsOf(value, caller, argument);
  const at = `${argument}${temperatureC === value ? '' : '.temperatureC'}`;
  if (temperatureC.length === 0)
    throw new ArgumentError({ caller, argument: at, expected: 'at least one temperature', received: value });
  requireEach(temperatureC, caller, at, 'a finite temperature, degrees Celsius, above −273.15', (value) => {
    return value > -273.15;
  });
  if (timeS === undefined) return { label, temperatureC };
  if (timeS.length !== temperatureC.length)
    throw new ArgumentError({
      caller,
      argument: `${argument}.timeS`,
      expected: `as long as temperatureC, ${temperatureC.length}`,
      received: timeS.length,
    });
  requireEach(timeS, caller, `${argument}.timeS`, 'finite and later than the one before, s', (value, i) => {
    return i === 0 || value > timeS[i - 1];
  });
  return { label, temperatureC, timeS };
}

/** The same where the times are needed. */
export function requireTimedSeries(
  value: unknown,
  caller: string,
  argument: string,
): KnownSeries & { readonly timeS: ArrayLike<number> } {
  const series = requireSeries(value, caller, argument);
  if (series.timeS === undefined || series.timeS.length < 2)
    throw new ArgumentError({
      caller,
      argument,
      expected: 'a run, or { timeS, temperatureC } with at least two samples',
      received: value,
      remedy: 'how fast a schedule ages is a rate: give the times as well',
    });
  return { ...series, timeS: series.timeS };
}

function partsOf(value: unknown, caller: string, argument: string): KnownSeries {
  if (isNumbers(value)) return { label: 'series', temperatureC: value };
  if (typeof value === 'object' && value !== null && 'temperatureC' in value) {
    const { label, temperatureC, timeS } = value as Partial<Record<keyof KnownSeries, unknown>>;
    if (isNumbers(temperatureC) && isNumbers(timeS))
      return { label: typeof label === 'string' ? label : 'series', temperatureC, timeS };
  }
  throw new ArgumentError({
    caller,
    argument,
    expected: 'a run, { timeS, temperatureC }, or a list of temperatures',
    received: value,
    remedy: 'read a log with parseRun or readRun',
  });
}

function isNumbers(value: unknown): value is ArrayLike<number> {
  return Array.isArray(value) || (ArrayBuffer.isView(value) && 'length' in value);
}

function requireEach(
  values: ArrayLike<number>,
  caller: string,
  argument: string,
  expected: string,
  fits: (value: number, index: number) => boolean,
): void {
  for (let i = 0; i < values.length; i++) {
    if (Number.isFinite(values[i]) && fits(values[i], i)) continue;
    throw new ArgumentError({
      caller,
      argument: `${argument}[${i}]`,
      expected,
      received: values[i],
      remedy: 'leave the sample out, or read the log with parseRun, which repairs and reports such samples',
    });
  }
}
