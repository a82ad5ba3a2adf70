import { ArgumentError } from '../errors.js';
import type { Conditions, Run } from './run.js';

/** Runs that share one condition. */
export interface RunGroup {
  /** The condition as text: `flat 41 mm`, `65`. */
  readonly name: string;
  /** In the order given. */
  readonly runs: readonly Run[];
}

/**
 * Groups runs by one of their conditions: by cooler for a fit of each, by enclosure for a comparison.
 *
 * @param runs - runs whose conditions all state `key`
 * @param key - name of a condition: `cooler`, `processor`, `enclosure`, `mount`, `powerCapW` …
 * @returns the groups in the order in which their names first occur
 * @throws ArgumentError if a run lacks the condition; the message names these runs
 * @example
 * const samples = { timeS: [0, 1], temperatureC: [30, 31], powerW: [50, 50] };
 * const runs = ['flat 41 mm', 'tower 88 mm', 'flat 41 mm'].map((cooler, i) =>
 *   makeRun(samples, { label: `run ${i}`, conditions: { cooler } }),
 * );
 * groupRuns(runs, 'cooler').map(({ name, runs }) => [name, runs.length]); // => [['flat 41 mm', 2], ['tower 88 mm', 1]]
 */
export function groupRuns(runs: readonly Run[], key: keyof Conditions): readonly RunGroup[] {
  if (!Array.isArray(runs)) {
    throw new ArgumentError({
      caller: 'groupRuns',
      argument: 'runs',
      expected: 'an array of runs',
      received: runs,
    });
  }
  const lacking = runs.filter((run) => run.conditions[key] === undefined).map(({ label }) => label);
  if (lacking.length > 0) {
    throw new ArgumentError({
      caller: 'groupRuns',
      argument: 'runs',
      expected: `runs that all state conditions.${key}`,
      received: `none in ${lacking.join(', ')}`,
      remedy: `add "${key}" to the conditions of these runs, or leave them out`,
    });
  }
  const groups = new Map<string, Run[]>();
  for (const run of runs) {
    const name = String(run.conditions[key]);
    const group = groups.get(name);
    if (group === undefined) groups.set(name, [run]);
    else group.push(run);
  }
  return [...groups].map(([name, members]) => ({ name, runs: members }));
}
