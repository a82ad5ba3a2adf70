import { readdir, readFile, stat } from 'node:fs/promises';
import { basename, join } from 'node:path';
import { ArgumentError, type KnownNames, requireKnownNames } from '../../errors.js';
import { conditionsSchema } from '../../runs/conditions-schema.js';
import type { Conditions, Run } from '../../runs/run.js';
import { loadSegments } from '../../runs/segments/load-segments.js';
import { decodeFile } from '../cells/decode.js';
import { type CheckedConditions, type ConditionName, checkedConditions } from '../conditions.js';
import { LogFormatError, type LogIssue } from '../log-format-error.js';
import { fileError } from '../read/file-issues-node.js';
import { conditionsPathOf, logName } from '../read/log-files-node.js';
import { isLogName } from '../read/log-name.js';
import type { ParseRunOptions } from '../read/parse-run.js';
import { readRun } from '../read/read-run-node.js';
import type { Study, StudyDisagreement, StudyLog } from './study.js';

/** How the logs of a folder are read: what they leave open, the same for all. */
export interface ReadStudyOptions
  extends Pick<ParseRunOptions, 'columns' | 'units' | 'powerSample' | 'dateOrder' | 'blockS'> {}

const OPTION_NAMES: KnownNames<ReadStudyOptions> = {
  columns: true,
  units: true,
  powerSample: true,
  dateOrder: true,
  blockS: true,
};

/** What holds for all logs of the folder that do not say otherwise. */
const COMMON_FILE = 'study.conditions.json';

/** What an answer needs of every run, in the order of messages. */
const NEEDED: readonly ConditionName[] = [
  'cooler',
  'processor',
  'enclosure',
  'ambientC',
  'powerCapW',
  'defaultCapW',
];

/** Conditions that must be the same in all logs of one study. */
const COMMON: readonly ConditionName[] = ['processor', 'defaultCapW'];

/** Load power above the stated cap by more than this share, or air away from its column by more than this, K, disagrees. */
const CAP_TOLERANCE = 0.05;
const AIR_TOLERANCE_K = 3;

/**
 * Reads a folder with logs and their conditions files as one study: everything that is there, what is missing, and what
 * disagrees. A log or a conditions file with a mistake does not keep the others from being read: its issues say where the
 * mistake is, so files can be edited by hand without fear.
 *
 * `run.conditions.json` belongs to `run.csv`; `study.conditions.json` holds what is common to all logs of the folder, and
 * a log's own file wins over it, entry by entry; where that file has a mistake, only its other entries count. Nothing in the
 * folder is changed.
 *
 * @param folder - the folder; folders within it are not looked into
 * @param options - what the logs leave open, the same for all
 * @returns the study; `runs` can be given to the fits
 * @throws LogFormatError if there is no such folder, or no log in it
 * @throws ArgumentError if an option is not what it must be
 * @example
 * await readStudy('no-such-folder'); // => throws /there is no such folder/
 */
export async function readStudy(folder: string, options: ReadStudyOptions = {}): Promise<Study> {
  requireKnownNames(options, OPTION_NAMES, { caller: 'readStudy', argument: 'options' });
  if (typeof folder !== 'string' || folder === '')
    throw new ArgumentError({
      caller: 'readStudy',
      argument: 'folder',
      expected: 'the path of a folder',
      received: folder,
    });
  const names = await namesIn(folder);
  const logNames = names.filter(isLogName);
  if (logNames.length === 0) throw noLogs(folder);

  const common = names.includes(COMMON_FILE)
    ? await conditionsIn(join(folder, COMMON_FILE))
    : { conditions: {}, issues: [] };
  const logs: StudyLog[] = [];
  for (const name of logNames) logs.push(await studyLog(folder, name, names, common.conditions, options));
  return {
    kind: 'study',
    folder,
    logs,
    runs: logs.flatMap(({ run }) => (run === undefined ? [] : [run])),
    disagreements: [...logs.flatMap(disagreementsWithin), ...disagreementsBetween(logs)],
    issues: [...common.issues, ...orphans(folder, names, logNames)],
  };
}

async function namesIn(folder: string): Promise<readonly string[]> {
  const facts = await stat(folder).catch(() => undefined);
  if (facts?.isDirectory() !== true) {
    throw new LogFormatError([
      {
        code: 'no-folder',
        source: folder,
        message: facts === undefined ? 'there is no such folder' : 'this is no folder',
        remedy: `give the folder that holds the logs; it is looked for from ${process.cwd()}`,
      },
    ]);
  }
  const entries = await readdir(folder, { withFileTypes: true });
  return entries
    .filter((entry) => entry.isFile())
    .map(({ name }) => name)
    .sort((a, b) => a.localeCompare(b, 'en', { numeric: true }));
}

function noLogs(folder: string): LogFormatError {
  return new LogFormatError([
    {
      code: 'no-file',
      source: folder,
      message: 'there is no log in this folder',
      remedy: 'put logs there: .csv, .tsv, .txt, .log, .jsonl or .ndjson, packed with gzip or not',
    },
  ]);
}

async function studyLog(
  folder: string,
  name: string,
  names: readonly string[],
  common: Conditions,
  options: ReadStudyOptions,
): Promise<StudyLog> {
  const path = join(folder, name);
  const conditionsPath = conditionsPathOf(path);
  const hasOwn = names.includes(basename(conditionsPath));
  const own = hasOwn ? await conditionsIn(conditionsPath) : { conditions: {}, issues: [] };
  // What is common might be what the entry at fault says otherwise.
  const conditions = own.issues.length > 0 ? own.conditions : { ...common, ...own.conditions };
  const issues: LogIssue[] = [...own.issues];
  let run: Run | undefined;
  try {
    run = await readRun(path, { ...options, label: logName(path), conditionsFile: false, conditions });
  } catch (error) {
    if (!(error instanceof LogFormatError)) throw error;
    issues.push(...error.issues);
  }
  return {
    file: name,
    label: logName(path),
    ...(hasOwn ? { conditionsFile: basename(conditionsPath) } : {}),
    conditions,
    ...(run === undefined ? {} : { run }),
    missing: NEEDED.filter(
      (condition) =>
        conditions[condition] === undefined && !(condition === 'ambientC' && run?.ambientC !== undefined),
    ),
    issues,
  };
}

async function conditionsIn(path: string): Promise<CheckedConditions> {
  try {
    return checkedConditions(decodeFile(await readFile(path)), path);
  } catch (error) {
    return { conditions: {}, issues: fileError(error, path, 'the conditions file').issues };
  }
}

/** Conditions files without a log. */
function orphans(folder: string, names: readonly string[], logNames: readonly string[]): readonly LogIssue[] {
  const owned = new Set([COMMON_FILE, ...logNames.map((name) => basename(conditionsPathOf(name)))]);
  return names
    .filter((name) => name.endsWith('.conditions.json') && !name.startsWith('.') && !owned.has(name))
    .map((name) => ({
      code: 'conditions-without-log',
      source: join(folder, name),
      message: 'there is no log of this name beside the conditions file',
      remedy: 'give log and conditions file the same name: run.csv, run.conditions.json',
    }));
}

/** Where a log and its own conditions contradict each other. */
function disagreementsWithin({ label, run, conditions }: StudyLog): readonly StudyDisagreement[] {
  if (run === undefined) return [];
  const found: StudyDisagreement[] = [];
  const { powerCapW, ambientC } = conditions;
  const loads = loadSegments(run).segments.filter(({ kind }) => kind === 'load');
  const loadPowerW = Math.max(0, ...loads.map(({ meanPowerW }) => meanPowerW));
  if (powerCapW !== undefined && loadPowerW > powerCapW * (1 + CAP_TOLERANCE)) {
    found.push({
      condition: 'powerCapW',
      labels: [label],
      message: `${label} states a power cap of ${powerCapW} W, but its load takes ${loadPowerW.toFixed(1)} W.`,
      remedy: 'correct powerCapW, or check whether the cap was in force',
    });
  }
  if (ambientC !== undefined && run.ambientC !== undefined) {
    const mean = run.ambientC.reduce((sum, value) => sum + value, 0) / run.ambientC.length;
    if (Math.abs(mean - ambientC) > AIR_TOLERANCE_K)
      found.push({
        condition: 'ambientC',
        labels: [label],
        message: `${label} states air of ${ambientC} °C, but its column says ${mean.toFixed(1)} °C in the mean. The column is used.`,
        remedy: 'leave out ambientC, or check the thermometer',
      });
  }
  return found;
}

/** Where logs contradict one another. */
function disagreementsBetween(logs: readonly StudyLog[]): readonly StudyDisagreement[] {
  const between = COMMON.flatMap((condition): readonly StudyDisagreement[] => {
    const byValue = new Map<string | number, string[]>();
    for (const { label, conditions } of logs) {
      const value = conditions[condition];
      if (value !== undefined) byValue.set(value, [...(byValue.get(value) ?? []), label]);
    }
    if (byValue.size < 2) return [];
    const sides = [...byValue].map(
      ([value, labels]) => `${value} in ${labels.slice(0, 3).join(', ')}${labels.length > 3 ? ' …' : ''}`,
    );
    return [
      {
        condition,
        labels: [...byValue.values()].flat(),
        message: `${conditionsSchema.properties[condition].description.replace(/\.$/, '')} differs: ${sides.join('; ')}.`,
        remedy: `if it is one processor, write one ${condition}, best into ${COMMON_FILE}; if not, make a folder for each`,
      },
    ];
  });
  return [...between, ...copies(logs)];
}

/** Two logs with the same samples would count as two runs that agree perfectly. */
function copies(logs: readonly StudyLog[]): readonly StudyDisagreement[] {
  const found: StudyDisagreement[] = [];
  const seen = new Map<string, string>();
  for (const { label, run } of logs) {
    if (run === undefined) continue;
    const key = [run.timeS, run.temperatureC, run.powerW]
      .map((column) => `${column.length}:${column.at(-1)}:${column.reduce((sum, value) => sum + value, 0)}`)
      .join(' ');
    const first = seen.get(key);
    if (first === undefined) seen.set(key, label);
    else
      found.push({
        labels: [first, label],
        message: `${first} and ${label} hold the same samples.`,
        remedy: 'take one of them away, or the same run counts twice',
      });
  }
  return found;
}
