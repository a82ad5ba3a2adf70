import { resolve } from 'node:path';
import { ArgumentError } from '../../errors.js';
import type { Finding } from '../../runs/finding.js';
import type { Run } from '../../runs/run.js';
import { LogFormatError } from '../log-format-error.js';
import { logFilesOf } from './log-files-node.js';
import { requireRunsOptions } from './parse-runs.js';
import { readOnWorkers } from './read-in-parallel-node.js';
import { READ_RUNS_NAMES, type ReadRunsOptions, readRunsOfFile } from './read-run-node.js';
import type { FileOutcome } from './read-run-worker-node.js';

/** Below this much text for every thread, bytes, threads take longer to start than they save. */
const BYTES_WORTH_A_THREAD = 16 << 20;

/**
 * Reads several logs; large ones on several threads. The runs come in the order of the paths.
 *
 * @param paths - the logs, each once; or one text: a folder, of which all logs are read, or a pattern with `*` for any part
 *   of a name, `?` for one character and `**` for any folders
 * @param options - as for `readRun`, the same for all; a label goes with a single file only; `idleS` lets each log hold
 *   several runs. A header named in `columns` holds for the logs that have it; the others, as from another logger, are
 *   read by their own headers, and a finding says so
 * @returns the runs
 * @throws LogFormatError that holds the issues of every file that cannot be read, or if no file fits
 * @throws ArgumentError if there is no path, one is there twice, or an option is not what it must be
 * @example
 * await readRuns(['no-such-log.csv', 'nor-this.csv']); // => throws /no-such-log[^]*nor-this/
 * await readRuns('no-such-folder/*.csv'); // => throws /no file fits this pattern/
 */
export async function readRuns(
  paths: readonly string[] | string,
  options: ReadRunsOptions = {},
): Promise<readonly Run[]> {
  requireRunsOptions(options, READ_RUNS_NAMES, 'readRuns');
  const { workerCount, signal, onProgress } = options;
  if (workerCount !== undefined && !(Number.isInteger(workerCount) && workerCount >= 1)) {
    throw new ArgumentError({
      caller: 'readRuns',
      argument: 'options.workerCount',
      expected: 'a whole number of at least 1',
      received: workerCount,
    });
  }
  const isPattern = typeof paths === 'string' && paths !== '';
  if (!isPattern && (!Array.isArray(paths) || paths.length === 0)) {
    throw new ArgumentError({
      caller: 'readRuns',
      argument: 'paths',
      expected: 'a list of at least one path, a folder or a pattern',
      received: paths,
    });
  }
  const files = isPattern ? await logFilesOf(paths) : (paths as readonly string[]);
  if (options.label !== undefined && files.length > 1) {
    throw new ArgumentError({
      caller: 'readRuns',
      argument: 'options.label',
      expected: 'left out for more than one file',
      received: options.label,
      remedy: "each run is labelled by its file's name",
    });
  }
  requireDistinct(files);
  signal?.throwIfAborted();
  const read = (paths: readonly string[], how: ReadRunsOptions): Promise<readonly FileOutcome[]> =>
    readOnWorkers(paths, how, {
      bytesWorthAThread: BYTES_WORTH_A_THREAD,
      readHere: (path, share) =>
        readRunsOfFile(path, { ...how, ...(onProgress === undefined ? {} : { onProgress: share }) }),
    });
  const outcomes = await readByOwnHeaders(files, await read(files, options), { options, read });
  const issues = outcomes.flatMap((outcome) => ('issues' in outcome ? outcome.issues : []));
  if (issues.length > 0) throw new LogFormatError(issues);
  return outcomes.flatMap((outcome) => ('runs' in outcome ? outcome.runs : []));
}

/** Logs without a header that was chosen, where other logs have it, once more without that choice. */
async function readByOwnHeaders(
  files: readonly string[],
  outcomes: readonly FileOutcome[],
  {
    options,
    read,
  }: {
    readonly options: ReadRunsOptions;
    readonly read: (paths: readonly string[], how: ReadRunsOptions) => Promise<readonly FileOutcome[]>;
  },
): Promise<readonly FileOutcome[]> {
  const rolesLacking = outcomes.map((outcome) =>
    'issues' in outcome && outcome.issues.every(({ code }) => code === 'no-such-column')
      ? outcome.issues.flatMap(({ role }) => (role === undefined ? [] : [role]))
      : [],
  );
  const isElsewhere = (role: string): boolean => rolesLacking.some((lacking) => !lacking.includes(role));
  return Promise.all(
    outcomes.map(async (outcome, index) => {
      const lacking = rolesLacking[index];
      if (lacking.length === 0 || !lacking.every(isElsewhere)) return outcome;
      const columns = Object.fromEntries(
        Object.entries(options.columns ?? {}).filter(([role]) => !lacking.includes(role)),
      );
      const [again] = await read([files[index]], { ...options, columns });
      return 'issues' in again ? again : { runs: again.runs.map((run) => withOwnHeaders(run, lacking)) };
    }),
  );
}

function withOwnHeaders(run: Run, roles: readonly string[]): Run {
  const finding: Finding = {
    code: 'own-headers',
    severity: 'note',
    message: `The headers chosen for ${roles.join(', ')} are in other logs, not in this one, which was read by its own headers.`,
    remedy: 'if that is wrong, read this log by itself with the columns that are meant',
  };
  return { ...run, findings: [...run.findings, finding] };
}

/** One log read twice would count as two runs that agree perfectly. */
function requireDistinct(paths: readonly string[]): void {
  const firstOf = new Map<string, number>();
  paths.forEach((path, index) => {
    if (typeof path !== 'string' || path === '') return;
    const file = resolve(path);
    const first = firstOf.get(file);
    if (first !== undefined) {
      throw new ArgumentError({
        caller: 'readRuns',
        argument: `paths[${index}]`,
        expected: `another log than paths[${first}]`,
        received: path,
        remedy: 'give each log once, or the same run would count twice',
      });
    }
    firstOf.set(file, index);
  });
}
