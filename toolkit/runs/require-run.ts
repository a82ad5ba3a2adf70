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

/** Throws an `ArgumentError` where two runs have one label and what is said of them is said by label. */
export function requireDifferentLabels(runs: readonly { readonly label: string }[], caller: string): void {
  const labels = runs.map(({ label }) => label);
  const twice = labels.find((label, index) => labels.indexOf(label) !== index);
  if (twice === undefined) return;
  throw new ArgumentError({
    caller,
    argument: 'runs',
    expected: 'told apart by their labels where their work is compared',
    received: `'${twice}' twice`,
    remedy: 'give each run a label of its own: parseRun(text, { label })',
  });
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
