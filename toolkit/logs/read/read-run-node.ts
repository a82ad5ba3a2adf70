import { open, readFile, stat } from 'node:fs/promises';
import { ArgumentError, type KnownNames } from '../../errors.js';
import type { Conditions, Run } from '../../runs/run.js';
import { decodeFile } from '../cells/decode.js';
import { parseConditions } from '../conditions.js';
import { LogFormatError } from '../log-format-error.js';
import { codeOf, fileError, requireFile } from './file-issues-node.js';
import { conditionsPathOf, logName } from './log-files-node.js';
import { PARSE_RUN_NAMES, type ParseRunOptions, requireOptions, runFrom } from './parse-run.js';
import { READING_NAMES, type ReadingOptions, samplesOf } from './parse-run-stream.js';
import { runsFrom } from './parse-runs.js';

/** How much of a file is in memory at a time. */
const CHUNK_BYTES = 1 << 20;

/** What a caller may say about a log in a file. */
export interface ReadRunOptions extends ParseRunOptions, ReadingOptions {
  /** The conditions file, or `false` for none. Default: the one beside the log, `run.conditions.json` for `run.csv`. */
  readonly conditionsFile?: string | false;
}

/** What a caller may say about several logs. */
export interface ReadRunsOptions extends ReadRunOptions {
  /**
   * Lets every log hold several runs, parted as `parseRuns` does by idling or gaps at least this long, s. Default: every
   * log is one run.
   */
  readonly idleS?: number;
  /** On how many threads at most. Default: as many as the machine runs at once, where the logs are large enough. */
  readonly workerCount?: number;
}

const READ_RUN_NAMES: KnownNames<ReadRunOptions> = {
  ...PARSE_RUN_NAMES,
  ...READING_NAMES,
  conditionsFile: true,
};
export const READ_RUNS_NAMES: KnownNames<ReadRunsOptions> = {
  ...READ_RUN_NAMES,
  idleS: true,
  workerCount: true,
};

/**
 * Reads the log of a load run from a file, and the conditions file beside it: `run.csv`, `run.conditions.json`.
 *
 * The label is the file's name without its extension unless one is given. Conditions given in code win over those
 * of the file, entry by entry. The file is read piece by piece and unpacked if it is packed with gzip; it is never in
 * memory as a whole, only its columns are, eight bytes for every number and 300 MB at most, unless `blockS: 0` asks for
 * every row of a longer log. For the rules of the text see `parseRun`.
 *
 * @param path - the log
 * @param options - as for `parseRun`, and the conditions file, progress and an abort signal
 * @returns the run
 * @throws LogFormatError if the log or its conditions file cannot be read; every issue names the file
 * @throws ArgumentError if an option is not what it must be
 * @example
 * await readRun('no-such-log.csv'); // => throws /there is no such file/
 */
export async function readRun(path: string, options: ReadRunOptions = {}): Promise<Run> {
  requireOptions(options, READ_RUN_NAMES, 'readRun');
  requirePath(path, 'readRun');
  try {
    const conditions = await readConditions(path, options);
    const samples = await samplesOfFile(path, options);
    return runFrom(samples, {
      ...options,
      label: options.label ?? logName(path),
      conditions: { ...conditions, ...options.conditions },
    });
  } catch (error) {
    throw error instanceof LogFormatError ? error.from(path) : error;
  }
}

/** The runs of one file: one, or those that idling parts where `idleS` is given. */
export async function readRunsOfFile(path: string, options: ReadRunsOptions): Promise<readonly Run[]> {
  const { idleS, workerCount: _, ...rest } = options;
  if (idleS === undefined) return [await readRun(path, rest)];
  try {
    const conditions = await readConditions(path, options);
    const samples = await samplesOfFile(path, options);
    return runsFrom(samples, {
      ...options,
      label: options.label ?? logName(path),
      conditions: { ...conditions, ...options.conditions },
    });
  } catch (error) {
    throw error instanceof LogFormatError ? error.from(path) : error;
  }
}

function requirePath(path: unknown, caller: string): void {
  if (typeof path === 'string' && path !== '') return;
  throw new ArgumentError({ caller, argument: 'path', expected: 'the path of a log', received: path });
}

/** The conditions of a log from the file beside it, or from the file that is named. */
export async function readConditions(
  path: string,
  { conditionsFile }: Pick<ReadRunOptions, 'conditionsFile'>,
): Promise<Conditions> {
  if (conditionsFile === false) return {};
  const file = conditionsFile ?? conditionsPathOf(path);
  let bytes: Uint8Array;
  try {
    requireFile(await stat(file), file, 'a conditions file');
    bytes = await readFile(file);
  } catch (error) {
    if (error instanceof LogFormatError) throw error;
    if (conditionsFile === undefined && codeOf(error) === 'ENOENT') return {};
    // A log that is not there itself is the better news.
    if (conditionsFile === undefined && codeOf(error) === 'ENOTDIR') return {};
    throw fileError(error, file, 'the conditions file');
  }
  return parseConditions(decodeFile(bytes), file);
}

async function samplesOfFile(path: string, options: ReadRunOptions): ReturnType<typeof samplesOf> {
  const size = await sizeOf(path);
  try {
    return await samplesOf(piecesOfFile(path), size, options);
  } catch (error) {
    // What the platform says where an array finds no room.
    if (!(error instanceof RangeError)) throw error;
    throw new LogFormatError([
      {
        code: 'out-of-memory',
        message: `there is not enough memory for all samples (${error.message})`,
        remedy:
          'write the option blockS: 1 to keep one sample for every second, or leave out columns: { voltage: false }',
      },
    ]);
  }
}

/** The pieces of a file; while one is taken, the next is read into the other of two buffers. */
async function* piecesOfFile(path: string): AsyncGenerator<Uint8Array> {
  let [buffer, other] = [new Uint8Array(CHUNK_BYTES), new Uint8Array(CHUNK_BYTES)];
  const asLogError = (error: unknown): never => {
    throw fileError(error, path, 'the log');
  };
  const file = await open(path).catch(asLogError);
  let reading = file.read(buffer, 0, CHUNK_BYTES);
  try {
    for (;;) {
      const { bytesRead } = await reading.catch(asLogError);
      if (bytesRead === 0) return;
      reading = file.read(other, 0, CHUNK_BYTES);
      // Whether it failed is asked when its turn comes, which may be after an await of the caller's.
      reading.catch(() => undefined);
      yield buffer.subarray(0, bytesRead);
      [buffer, other] = [other, buffer];
    }
  } finally {
    await reading.catch(() => undefined);
    await file.close();
  }
}

async function sizeOf(path: string): Promise<number> {
  const facts = await stat(path).catch((error: unknown) => {
    throw fileError(error, path, 'the log');
  });
  requireFile(facts, path, 'a log');
  return facts.size;
}
