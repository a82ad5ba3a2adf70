import { open, readFile, stat } from 'node:fs/promises';
import { basename, dirname, extname, join, resolve } from 'node:path';
import { ArgumentError, type KnownNames } from '../errors.js';
import type { Conditions, Run } from '../runs/run.js';
import { parseConditions } from './conditions.js';
import { decodeBytes } from './decode.js';
import { LogFormatError, type LogIssue } from './log-format-error.js';
import { LogReader } from './log-reader.js';
import { PARSE_RUN_NAMES, type ParseRunOptions, requireOptions, runFrom } from './parse-run.js';

/** How much of a file is in memory at a time. */
const CHUNK_BYTES = 1 << 20;

/** What a caller may say about a log in a file. */
export interface ReadRunOptions extends ParseRunOptions {
  /** The conditions file, or `false` for none. Default: the one beside the log, `run.conditions.json` for `run.csv`. */
  readonly conditionsFile?: string | false;
}

const READ_RUN_NAMES: KnownNames<ReadRunOptions> = { ...PARSE_RUN_NAMES, conditionsFile: true };

/**
 * Reads the log of a load run from a file, and the conditions file beside it: `run.csv`, `run.conditions.json`.
 *
 * The label is the file's name without its extension unless one is given. Conditions given in code win over those
 * of the file, entry by entry. The file is read piece by piece; it is never in memory as a whole. For the rules of
 * the text see `parseRun`.
 *
 * @param path - the log
 * @param options - as for `parseRun`, and the conditions file
 * @returns the run
 * @throws LogFormatError if the log or its conditions file cannot be read; every issue names the file
 * @throws ArgumentError if an option is not what it must be
 * @example
 * await readRun('no-such-log.csv'); // => throws /there is no such file/
 */
export async function readRun(path: string, options: ReadRunOptions = {}): Promise<Run> {
  requireOptions(options, READ_RUN_NAMES, 'readRun');
  if (typeof path !== 'string' || path === '') {
    throw new ArgumentError({
      caller: 'readRun',
      argument: 'path',
      expected: 'the path of a log',
      received: path,
    });
  }
  try {
    const conditions = await readConditions(path, options);
    const reader = await readInto(path, options);
    return runFrom(reader.finish(), {
      ...options,
      label: options.label ?? basename(path, extname(path)),
      conditions: { ...conditions, ...options.conditions },
    });
  } catch (error) {
    throw error instanceof LogFormatError ? error.from(path) : error;
  }
}

/**
 * Reads several logs, one after the other; the runs come in the order of the paths.
 *
 * @param paths - the logs, each once
 * @param options - as for `readRun`, the same for all; a label goes with a single file only
 * @returns the runs
 * @throws LogFormatError that holds the issues of every file that cannot be read
 * @throws ArgumentError if there is no path, one is there twice, or an option is not what it must be
 * @example
 * await readRuns(['no-such-log.csv', 'nor-this.csv']); // => throws /no-such-log[^]*nor-this/
 */
export async function readRuns(
  paths: readonly string[],
  options: ReadRunOptions = {},
): Promise<readonly Run[]> {
  requireOptions(options, READ_RUN_NAMES, 'readRuns');
  if (!Array.isArray(paths) || paths.length === 0) {
    throw new ArgumentError({
      caller: 'readRuns',
      argument: 'paths',
      expected: 'a list of at least one path',
      received: paths,
    });
  }
  if (options.label !== undefined && paths.length > 1) {
    throw new ArgumentError({
      caller: 'readRuns',
      argument: 'options.label',
      expected: 'left out for more than one file',
      received: options.label,
      remedy: "each run is labelled by its file's name",
    });
  }
  requireDistinct(paths);
  const runs: Run[] = [];
  const issues: LogIssue[] = [];
  for (const path of paths) {
    try {
      runs.push(await readRun(path, options));
    } catch (error) {
      if (!(error instanceof LogFormatError)) throw error;
      issues.push(...error.issues);
    }
  }
  if (issues.length > 0) throw new LogFormatError(issues);
  return runs;
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

/** Where the conditions of a log are looked for: `logs/run.csv` → `logs/run.conditions.json`. */
export function conditionsPathOf(path: string): string {
  return join(dirname(path), `${basename(path, extname(path))}.conditions.json`);
}

async function readConditions(path: string, { conditionsFile }: ReadRunOptions): Promise<Conditions> {
  if (conditionsFile === false) return {};
  const file = conditionsFile ?? conditionsPathOf(path);
  let bytes: Uint8Array;
  try {
    bytes = await readFile(file);
  } catch (error) {
    if (conditionsFile === undefined && codeOf(error) === 'ENOENT') return {};
    // A log that is not there itself is the better news.
    if (conditionsFile === undefined && codeOf(error) === 'ENOTDIR') return {};
    throw fileError(error, file, 'the conditions file');
  }
  return parseConditions(decodeBytes(bytes), file);
}

async function readInto(path: string, options: ReadRunOptions): Promise<LogReader> {
  const size = await sizeOf(path);
  const reader = new LogReader({ ...options, expectedBytes: size });
  const buffer = new Uint8Array(CHUNK_BYTES);
  const file = await open(path).catch((error: unknown) => {
    throw fileError(error, path, 'the log');
  });
  try {
    for (;;) {
      const { bytesRead } = await file.read(buffer, 0, CHUNK_BYTES);
      if (bytesRead === 0) return reader;
      reader.push(buffer.subarray(0, bytesRead));
    }
  } finally {
    await file.close();
  }
}

async function sizeOf(path: string): Promise<number> {
  const facts = await stat(path).catch((error: unknown) => {
    throw fileError(error, path, 'the log');
  });
  if (facts.isDirectory()) {
    throw new LogFormatError([
      {
        code: 'directory',
        source: path,
        message: 'this is a directory, not a log',
        remedy: 'give the path of one file, or of all its files',
      },
    ]);
  }
  return facts.size;
}

function fileError(error: unknown, source: string, what: string): LogFormatError {
  const code = codeOf(error);
  const issue: LogIssue =
    code === 'ENOENT' || code === 'ENOTDIR'
      ? {
          code: 'no-file',
          message: 'there is no such file',
          remedy: `check the path of ${what}; it is looked for from ${process.cwd()}`,
        }
      : code === 'EACCES' || code === 'EPERM'
        ? {
            code: 'no-permission',
            message: `${what} may not be read`,
            remedy: 'give yourself the right to read it',
          }
        : {
            code: 'unreadable-file',
            message: `${what} cannot be read (${error instanceof Error ? error.message : String(error)})`,
          };
  return new LogFormatError([{ ...issue, source }]);
}

function codeOf(error: unknown): string | undefined {
  return error instanceof Error && 'code' in error ? String(error.code) : undefined;
}
