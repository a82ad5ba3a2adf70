import { expect, it } from 'vitest';
import { ArgumentError } from '../../../toolkit/errors.js';
import { makeRun } from '../../../toolkit/runs/make-run.js';
import type { Conditions } from '../../../toolkit/runs/run.js';
import { groupRuns } from '../../../toolkit/runs/select-runs.js';

const run = (label: string, conditions: Conditions) =>
  makeRun({ timeS: [0, 1], temperatureC: [30, 31], powerW: [50, 50] }, { label, conditions });

it('groups runs by a condition in the order the names first occur', () => {
  const runs = [
    run('a', { cooler: 'tower 88 mm', powerCapW: 65 }),
    run('b', { cooler: 'flat 41 mm', powerCapW: 65 }),
    run('c', { cooler: 'tower 88 mm', powerCapW: 85 }),
  ];
  const named = (key: keyof Conditions) =>
    groupRuns(runs, key).map(({ name, runs: members }) => [name, members.map(({ label }) => label)]);
  expect(named('cooler')).toEqual([
    ['tower 88 mm', ['a', 'c']],
    ['flat 41 mm', ['b']],
  ]);
  expect(named('powerCapW')).toEqual([
    ['65', ['a', 'b']],
    ['85', ['c']],
  ]);
});

it('names the runs that lack the condition', () => {
  const runs = [run('a', { cooler: 'x' }), run('second', {}), run('third', {})];
  expect(() => groupRuns(runs, 'cooler')).toThrow(ArgumentError);
  expect(() => groupRuns(runs, 'cooler')).toThrow(
    /groupRuns: `runs` must be runs that all state conditions\.cooler \(received "none in second, third"\); add "cooler"/,
  );
});

it('refuses a single run', () => {
  expect(() => groupRuns(run('a', {}) as never, 'cooler')).toThrow(/`runs` must be an array of runs/);
});

it('makes no groups of no runs', () => {
  expect(groupRuns([], 'cooler')).toEqual([]);
});
