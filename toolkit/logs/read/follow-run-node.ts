import { type FileHandle, open, stat } from 'node:fs/promises';
import { setTimeout as wait } from 'node:timers/promises';
import { ArgumentError, type KnownNames, requireNumber } from '../../errors.js';
import type { Finding } from '../../runs/finding.js';
import type { Run } from '../../runs/run.js';
import { LogFormatError } from '../log-format-error.js';
import type { CollectedSamples } from '../samples/collected-samples.js';
import { partOfSamples } from '../samples/part-of-samples.js';
import { codeOf, fileError, requireFile } from './file-issues-node.js';
import { logName } from './log-files-node.js';
import { LogReader } from './log-reader.js';
import { PARSE_RUN_NAMES, type ParseRunOptions, requireOptions, runFrom } from './parse-run.js';
import { readConditions } from './read-run-node.js';

/** How a growing log is followed. */
export interface FollowRunOptions extends ParseRunOptions {
  /** The conditions file, or `false` for none. Default: the one beside the log. */
  readonly conditionsFile?: string | false;
  /** How often the file is looked at, s. Default 1. */
  readonly everyS?: number;
  /** The log has ended when nothing came for so long, s. Default 30. */
  readonly endAfterS?: number;
  /** Ends the following: no further run comes. */
  readonly signal?: AbortSignal;
}

export const FOLLOW_RUN_NAMES: KnownNames<FollowRunOptions> = {
  ...PARSE_RUN_NAMES,
  conditionsFile: true,
  everyS: true,
  endAfterS: true,
  signal: true,
};

/** How much of a file is read at a time. */
const CHUNK_BYTES = 1 << 20;

/** Faults that more lines may cure: the log has only begun. */
const EARLY_FAULTS = new Set([
  'empty',
  'no-rows',
  'one-sample',
  'line-too-long',
  'time-stands-still',
  'missing-value',
]);

/**
 * Follows a log that is being written: gives the run so far whenever whole lines have come, until nothing comes any more.
 *
 * Only whole lines count; a half-written one waits for its end. A file that is replaced (rotation) is read to its end
 * before the new one is begun; one that is cut short (truncation) is begun anew. Where the clock then runs on, the run runs
 * on; where it starts anew, so does the run, and a finding says so. A file that is not there yet is waited for. Looks at the
 * file at intervals, so it works on network drives too.
 *
 * @param path - the log
 * @param options - as for `parseRun`, how often to look, and when the log has ended
 * @returns the run so far, again and again; the last one is the whole run. Leave the loop to stop earlier
 * @throws LogFormatError if the log cannot be read without guessing, or never had two samples
 * @throws ArgumentError if an option is not what it must be
 * @example
 * const runs = followRun('no-such-log.csv', { endAfterS: 0.01, everyS: 0.01 });
 * await runs.next(); // => throws /there is no such file/
 */
export async function* followRun(
  path: string,
  options: FollowRunOptions = {},
): AsyncGenerator<Run, void, void> {
  requireFollowOptions(path, options);
  const { everyS = 1, endAfterS = 30, signal } = options;
  try {
    const conditions = await readConditions(path, options);
    const label = options.label ?? logName(path);
    const log = new GrowingLog(path, options);
    let lastNews = Date.now();
    let early: LogFormatError | undefined;
    let hasRun = false;
    try {
      for (;;) {
        if (signal?.aborted === true) return;
        if (await log.read()) {
          lastNews = Date.now();
          const samples = soFar(log);
          if (samples instanceof LogFormatError) early = samples;
          else if (samples !== undefined) {
            hasRun = true;
            yield runFrom(samples, {
              ...options,
              label,
              conditions: { ...conditions, ...options.conditions },
            });
            // What the reader of the runs did meanwhile was no silence of the log.
            lastNews = Date.now();
          }
        }
        if (Date.now() - lastNews >= 1000 * endAfterS) break;
        await wait(1000 * everyS, undefined, signal === undefined ? {} : { signal }).catch(() => undefined);
      }
    } finally {
      await log.close();
    }
    if (!hasRun) throw early ?? log.missing();
  } catch (error) {
    throw error instanceof LogFormatError ? error.from(path) : error;
  }
}

function soFar(log: GrowingLog): CollectedSamples | LogFormatError | undefined {
  try {
    return log.snapshot();
  } catch (error) {
    if (error instanceof LogFormatError && error.issues.every(({ code }) => EARLY_FAULTS.has(code)))
      return error;
    throw error;
  }
}

/** A file that grows, and may be replaced or cut short meanwhile. */
class GrowingLog {
  private file: FileHandle | undefined;
  private inode = 0;
  private at = 0;
  private readonly reader: LogReader;
  private isEmpty = true;
  private failure: unknown;
  /** Line of the last sample when the file was begun anew, where that has not been looked at yet. */
  private restartLine: number | undefined;
  /** Line of the last sample before the last restart: up to there it is another run. */
  private lineBefore = 0;
  private restarts = 0;
  private readonly buffer: Uint8Array = new Uint8Array(CHUNK_BYTES);

  constructor(
    private readonly path: string,
    options: FollowRunOptions,
  ) {
    this.reader = new LogReader(options);
  }

  /** Takes what has come; says whether anything has. */
  async read(): Promise<boolean> {
    const facts = await stat(this.path).catch((error: unknown) => {
      this.failure = error;
      if (codeOf(error) !== 'ENOENT') throw fileError(error, this.path, 'the log');
      return undefined;
    });
    if (facts !== undefined) requireFile(facts, this.path, 'a log');
    let isNews = false;
    if (this.file !== undefined) {
      const { size } = await this.file.stat();
      if (size < this.at) this.beginAnew();
      isNews = await this.takeRest(this.file);
      if (facts !== undefined && facts.ino !== this.inode) {
        await this.file.close();
        this.file = undefined;
        this.beginAnew();
      }
    }
    if (this.file === undefined && facts !== undefined) {
      this.file = await open(this.path).catch((error: unknown) => {
        throw fileError(error, this.path, 'the log');
      });
      this.inode = (await this.file.stat()).ino;
      isNews = (await this.takeRest(this.file)) || isNews;
    }
    return isNews;
  }

  /** The whole lines of the present run, or undefined where none has come since it was begun anew. */
  snapshot(): CollectedSamples | undefined {
    if (this.isEmpty) return undefined;
    const samples = this.reader.snapshot();
    const times = samples.columns.time!;
    // Lines, since samples may become fewer meanwhile: those of a long log are merged.
    const countUpTo = (line: number): number => samples.lineNumbers.findLastIndex((one) => one <= line) + 1;
    if (this.restartLine !== undefined) {
      const at = countUpTo(this.restartLine);
      if (times.length > at + 1) {
        if (at > countUpTo(this.lineBefore) && times[at] <= times[at - 1]) {
          this.lineBefore = this.restartLine;
          this.restarts++;
        }
        this.restartLine = undefined;
      }
    }
    const from = countUpTo(this.lineBefore);
    if (from === 0) return samples;
    if (times.length < from + 2) return undefined;
    const part = partOfSamples(samples, from, times.length);
    return { ...part, findings: [restarted(this.restarts), ...part.findings] };
  }

  missing(): LogFormatError {
    return fileError(this.failure, this.path, 'the log');
  }

  async close(): Promise<void> {
    await this.file?.close();
    this.file = undefined;
  }

  private async takeRest(file: FileHandle): Promise<boolean> {
    let isNews = false;
    for (;;) {
      const { bytesRead } = await file.read(this.buffer, 0, CHUNK_BYTES, this.at).catch((error: unknown) => {
        throw fileError(error, this.path, 'the log');
      });
      if (bytesRead === 0) return isNews;
      this.at += bytesRead;
      this.reader.push(this.buffer.subarray(0, bytesRead));
      this.isEmpty = false;
      isNews = true;
    }
  }

  /** Another file, or the same from its beginning: what is left of a half-written line is not its beginning. */
  private beginAnew(): void {
    this.at = 0;
    this.reader.dropHalfLine();
    this.restartLine = this.isEmpty ? undefined : this.lastLine();
  }

  private lastLine(): number {
    try {
      return this.reader.snapshot().lineNumbers.at(-1)!;
    } catch {
      return 0;
    }
  }
}

function restarted(count: number): Finding {
  return {
    code: 'log-restarted',
    severity: 'note',
    message: `The log was begun anew ${count === 1 ? 'once' : `${count} times`} while it was followed, and its time with it: this is the run since then. Line numbers count on from the file before.`,
    remedy: 'read the older file with readRun',
    count,
  };
}

function requireFollowOptions(path: unknown, options: FollowRunOptions): void {
  const caller = 'followRun';
  requireOptions(options, FOLLOW_RUN_NAMES, caller);
  if (typeof path !== 'string' || path === '')
    throw new ArgumentError({ caller, argument: 'path', expected: 'the path of a log', received: path });
  for (const name of ['everyS', 'endAfterS'] as const)
    if (options[name] !== undefined)
      requireNumber(options[name], { caller, argument: `options.${name}` }, { above: 0 });
}
