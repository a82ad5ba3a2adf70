import { basename, dirname, join, relative } from 'node:path';
import { ArgumentError } from '../../errors.js';
import { readRuns } from '../../logs/read/read-runs-node.js';
import type { Conditions, Run } from '../../runs/run.js';
import type { YourLogs } from './your-logs-cell.js';

/** What a decision needs to know of every log, and how to say it. */
const needed: readonly {
  readonly isMissing: (run: Run) => boolean;
  readonly what: string;
  readonly example: string;
  readonly option: string;
  /** The same as an entry of an object in code. */
  readonly entry: string;
}[] = [
  {
    isMissing: (run) => run.conditions.cooler === undefined,
    what: 'which cooler was on the processor',
    example: '"cooler": "tower 88 mm"',
    option: '--cooler "tower 88 mm"',
    entry: 'cooler: "tower 88 mm"',
  },
  {
    isMissing: (run) => run.conditions.ambientC === undefined && run.ambientC === undefined,
    what: "the air temperature at the cooler's intake during the run",
    example: '"ambientC": 22.5',
    option: '--ambient-during-runs 22.5',
    entry: 'ambientC: 22.5',
  },
];

/**
 * Reads a person's logs ahead of the notebook, so that what is missing is said at once and with its remedy.
 *
 * @throws LogFormatError if a log cannot be read, ArgumentError if a log leaves open what nobody may guess
 */
export async function requireUsableLogs(
  paths: readonly string[],
  conditions: Conditions,
  typedIn: string,
  howToRead: YourLogs['howToRead'] = {},
): Promise<readonly Run[]> {
  requireDifferent(paths, typedIn);
  const stated = await readRuns(paths, howToRead);
  for (const [index, run] of stated.entries())
    requireNoContradiction(run, conditions, inWords(paths[index], typedIn));
  const runs = stated.map((run): Run => ({ ...run, conditions: { ...run.conditions, ...conditions } }));
  const gaps = needed.filter(({ isMissing }) => runs.some(isMissing));
  const first = paths[runs.findIndex((run) => gaps.some(({ isMissing }) => isMissing(run)))];
  if (first === undefined) return runs;
  const lacking = gaps.map(({ what, isMissing }) => {
    const names = paths.filter((_, i) => isMissing(runs[i])).map((path) => inWords(path, typedIn));
    return `${listed(names)} ${names.length === 1 ? 'does' : 'do'} not say ${what}`;
  });
  const file = join(dirname(first), `${basename(first).replace(/\.[^.]*$/, '')}.conditions.json`);
  throw new ArgumentError({
    caller: 'npm run decide',
    argument: 'logs',
    expected: `complete: ${lacking.join('; ')}`,
    received: paths.length === 1 ? 'one log' : `${paths.length} logs`,
    remedy: [
      `write it into a file beside each log, for the first ${inWords(file, typedIn)}:`,
      `  { ${gaps.map(({ example }) => example).join(', ')} }`,
      `or, where it is the same for all logs, add ${gaps.map(({ option }) => option).join(' ')}`,
    ].join('\n'),
  });
}

/**
 * Reads logs and says what they leave open, for a notebook in which a person fills it in.
 *
 * @throws LogFormatError if a log cannot be read
 */
export async function whatLogsLeaveOpen(
  paths: readonly string[],
  conditions: Conditions,
  howToRead: YourLogs['howToRead'] = {},
): Promise<readonly { readonly entry: string; readonly about: string }[]> {
  const runs = (await readRuns(paths, howToRead)).map(
    (run): Run => ({ ...run, conditions: { ...run.conditions, ...conditions } }),
  );
  return needed.flatMap(({ isMissing, what, entry }) => {
    const names = paths.filter((_, i) => isMissing(runs[i])).map((path) => basename(path));
    if (names.length === 0) return [];
    return [{ entry, about: `${listed(names)} ${names.length === 1 ? 'does' : 'do'} not say ${what}` }];
  });
}

/** A run that is counted twice makes every answer look surer than it is. */
function requireDifferent(paths: readonly string[], typedIn: string): void {
  const twice = paths.find((path, index) => paths.indexOf(path) !== index);
  if (twice === undefined) return;
  throw new ArgumentError({
    caller: 'npm run decide',
    argument: 'logs',
    expected: 'given once each, since a run that counts twice makes the answer look surer than it is',
    received: `${inWords(twice, typedIn)} twice`,
    remedy: 'leave one of the two out',
  });
}

const optionOf: Readonly<Partial<Record<keyof Conditions, string>>> = {
  cooler: '--cooler',
  processor: '--processor',
  ambientC: '--ambient-during-runs',
};

/** An option is for what a log leaves open; one that says otherwise than the log would merge what does not belong together. */
function requireNoContradiction(run: Run, conditions: Conditions, log: string): void {
  for (const [name, value] of Object.entries(conditions) as [keyof Conditions, string | number][]) {
    const said = run.conditions[name];
    if (said === undefined || said === value) continue;
    throw new ArgumentError({
      caller: 'npm run decide',
      argument: optionOf[name] ?? name,
      expected: `what ${log} says itself: ${JSON.stringify(said)}`,
      received: value,
      remedy: 'leave the option out, or correct the conditions file of this log',
    });
  }
}

function inWords(path: string, typedIn: string): string {
  const fromHere = relative(typedIn, path);
  return fromHere === '' || fromHere.startsWith('..') ? path : fromHere;
}

function listed(names: readonly string[]): string {
  const most = 4;
  return names.length <= most
    ? names.join(', ')
    : `${names.slice(0, most).join(', ')} and ${names.length - most} more`;
}
