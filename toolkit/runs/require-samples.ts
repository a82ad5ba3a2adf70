import { ArgumentError } from '../errors.js';
import type { Run } from './run.js';

/**
 * Throws an `ArgumentError` unless all columns of a run are of one length and finite, its time increases and no
 * temperature is below absolute zero. Runs from `makeRun` and the log reader are so; one put together by hand may not be.
 */
export function requireSamples(run: Run, caller: string, argument: string = 'run'): void {
  const remedy = `make run "${run.label}" with makeRun or parseRun, which report and leave out such samples`;
  const count = run.timeS.length;
  for (const column of ['timeS', 'temperatureC', 'powerW', 'ambientC'] as const) {
    const values = run[column];
    if (values === undefined) continue;
    if (values.length !== count) {
      throw new ArgumentError({
        caller,
        argument: `${argument}.${column}`,
        expected: `of length ${count}, one value a sample`,
        received: `${values.length} of them`,
        remedy,
      });
    }
    const lowest = column === 'temperatureC' || column === 'ambientC' ? -273.15 : Number.NEGATIVE_INFINITY;
    for (let i = 0; i < count; i++) {
      const value = values[i];
      if (Number.isFinite(value) && value > lowest) continue;
      throw new ArgumentError({
        caller,
        argument: `${argument}.${column}[${i}]`,
        expected: Number.isFinite(value) ? 'a temperature above absolute zero' : 'a finite number',
        received: value,
        remedy,
      });
    }
  }
  for (let i = 1; i < count; i++) {
    if (run.timeS[i] > run.timeS[i - 1]) continue;
    throw new ArgumentError({
      caller,
      argument: `${argument}.timeS[${i}]`,
      expected: `later than the sample before, at ${run.timeS[i - 1]} s`,
      received: run.timeS[i],
      remedy,
    });
  }
}
