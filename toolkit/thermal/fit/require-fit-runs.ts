import { ArgumentError } from '../../errors.js';
import { requireSamples } from '../../runs/require-samples.js';
import type { Run } from '../../runs/run.js';
import type { FitRecord } from './fit-record.js';
import { meanLoadPowerW } from './load-power.js';

export function requireFiniteSamples(runs: readonly Run[], caller: string): void {
  runs.forEach((run, j) => {
    requireSamples(run, caller, `runs[${j}]`);
  });
}

/** The same log twice would count as twice the evidence. */
export function requireDifferentRuns(runs: readonly Run[], caller: string): void {
  runs.forEach((run, j) => {
    const twin = runs
      .slice(0, j)
      .find(
        (earlier) =>
          earlier.timeS.length === run.timeS.length &&
          run.temperatureC.every((value, i) => value === earlier.temperatureC[i]) &&
          run.powerW.every((value, i) => value === earlier.powerW[i]),
      );
    if (twin === undefined) return;
    throw new ArgumentError({
      caller,
      argument: `runs[${j}]`,
      expected: 'a run of its own',
      received: `"${run.label}", which holds the samples of "${twin.label}" again`,
      remedy: 'give each run once: leave one of the two out',
    });
  });
}

export function requireOneSubject(
  runs: readonly Run[],
  caller: string,
  keys: readonly ('cooler' | 'enclosure' | 'processor')[] = ['cooler', 'enclosure', 'processor'],
): void {
  if (runs.length === 0) {
    throw new ArgumentError({ caller, argument: 'runs', expected: 'one run or more', received: runs });
  }
  for (const key of keys) {
    const names = [...new Set(runs.map((run) => run.conditions[key]).filter((name) => name !== undefined))];
    if (names.length < 2) continue;
    throw new ArgumentError({
      caller,
      argument: 'runs',
      expected: `runs with one ${key}`,
      received: names.join(', '),
      remedy: `fit each group of groupRuns(runs, '${key}') on its own`,
    });
  }
  for (const run of runs) {
    if (meanLoadPowerW(run) > 0) continue;
    throw new ArgumentError({
      caller,
      argument: 'runs',
      expected: 'runs with a package power above 0 W',
      received: `run "${run.label}" without any load`,
      remedy: 'check the power column and its unit',
    });
  }
}

/** Fewer samples than this without a gap carry no transient. */
const LEAST_SAMPLES = 20;

export function requireEnoughSamples(record: FitRecord, caller: string): void {
  record.runs.forEach((run, runIndex) => {
    const longest = Math.max(
      0,
      ...record.pieces.filter((piece) => piece.runIndex === runIndex).map((piece) => piece.stepS.length),
    );
    if (longest >= LEAST_SAMPLES) return;
    throw new ArgumentError({
      caller,
      argument: 'runs',
      expected: `runs with at least ${LEAST_SAMPLES} samples without a gap`,
      received: `run "${run.label}" with ${longest}`,
      remedy:
        'leave it out; log at about 1 Hz for 10 minutes or more, or use coolerFromSteadyPoints for averages',
    });
  });
}
