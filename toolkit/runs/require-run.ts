import { ArgumentError } from '../errors.js';
import type { Run } from './run.js';

const REMEDY = 'take it from parseRun, readRun or makeRun';

/** Throws an `ArgumentError` unless the value is a run with at least two samples. */
export function requireRun(value: unknown, caller: string, argument: string = 'run'): asserts value is Run {
  if (isRun(value)) return;
  throw new ArgumentError({
    caller,
    argument,
    expected: 'one run with at least two samples',
    received: value,
    remedy: REMEDY,
  });
}

/** One run, or several, as a list; throws an `ArgumentError` where any of them is none. */
export function requireRuns(value: unknown, caller: string): readonly Run[] {
  if (!Array.isArray(value)) {
    if (isRun(value)) return [value];
    throw new ArgumentError({
      caller,
      argument: 'runs',
      expected: 'one run or an array of runs',
      received: value,
      remedy: REMEDY,
    });
  }
  value.forEach((run: unknown, i) => {
    requireRun(run, caller, `runs[${i}]`);
  });
  return value as readonly Run[];
}

function isRun(value: unknown): value is Run {
  if (typeof value !== 'object' || value === null) return false;
  const { timeS, temperatureC, powerW, conditions } = value as Partial<Run>;
  return (
    (timeS?.length ?? 0) >= 2 &&
    temperatureC !== undefined &&
    powerW !== undefined &&
    typeof conditions === 'object' &&
    conditions !== null
  );
}
