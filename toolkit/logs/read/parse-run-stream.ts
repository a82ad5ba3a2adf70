import { ArgumentError, type KnownNames } from '../../errors.js';
import type { Run } from '../../runs/run.js';
import { isGzip } from '../cells/decode.js';
import { LogFormatError } from '../log-format-error.js';
import type { CollectedSamples } from '../samples/collected-samples.js';
import { LogReader } from './log-reader.js';
import { PARSE_RUN_NAMES, type ParseRunOptions, requireOptions, runFrom } from './parse-run.js';

/** How a log is read that comes piece by piece. */
export interface ReadingOptions {
  /**
   * Called after each piece with the share of the log that has been read, from 0 to 1 (0 where its size is not known), and
   * the number of samples so far.
   */
  readonly onProgress?: (doneFraction: number, sampleCount: number) => void;
  /** Ends the reading: the promise is rejected with the signal's reason. */
  readonly signal?: AbortSignal;
}

export const READING_NAMES: KnownNames<ReadingOptions> = { onProgress: true, signal: true };

/** What a caller may say about a log that comes piece by piece. */
export interface ParseRunStreamOptions extends ParseRunOptions, ReadingOptions {}

const STREAM_NAMES: KnownNames<ParseRunStreamOptions> = { ...PARSE_RUN_NAMES, ...READING_NAMES };

/**
 * Reads the log of a load run from a file that was picked in a browser, from a response, or from bytes; unpacks gzip
 * [RFC1952]. The log need never be in memory as a whole. For the rules of the text see `parseRun`.
 *
 * @param source - a `Blob` or `File`, a stream of bytes, or bytes
 * @param options - as for `parseRun`, and progress and an abort signal
 * @returns the run
 * @throws LogFormatError if the log cannot be read without guessing
 * @throws ArgumentError if an option or the source is not what it must be
 * @example
 * const blob = new Blob(['time_s,temp_c,power_w\n0,31,65\n1,33,65\n']);
 * (await parseRunStream(blob, { label: 'picked' })).temperatureC; // => [31, 33]
 */
export async function parseRunStream(
  source: Blob | ReadableStream<Uint8Array> | Uint8Array,
  options: ParseRunStreamOptions = {},
): Promise<Run> {
  requireOptions(options, STREAM_NAMES, 'parseRunStream');
  const blob = source instanceof Uint8Array ? new Blob([source.slice()]) : source;
  if (!(blob instanceof Blob) && !(blob instanceof ReadableStream)) {
    throw new ArgumentError({
      caller: 'parseRunStream',
      argument: 'source',
      expected: 'a Blob, a ReadableStream of bytes or a Uint8Array',
      received: source,
    });
  }
  const size = blob instanceof Blob ? blob.size : undefined;
  const stream = blob instanceof Blob ? (blob.stream() as ReadableStream<Uint8Array>) : blob;
  return runFrom(await samplesOf(piecesOf(stream), size, options), options);
}

/**
 * Reads pieces of bytes to the end; unpacks them where they are packed.
 *
 * @param pieces - may be overwritten once the next is asked for
 * @param size - of all pieces together, bytes, where it is known
 */
export async function samplesOf(
  pieces: AsyncIterable<Uint8Array>,
  size: number | undefined,
  options: ParseRunStreamOptions,
): Promise<CollectedSamples> {
  const { onProgress, signal } = options;
  signal?.throwIfAborted();
  let readBytes = 0;
  let isPacked: boolean | undefined;
  const counted = counting(pieces, (piece) => {
    signal?.throwIfAborted();
    readBytes += piece.length;
    isPacked ??= isGzip(piece);
  });
  const iterator = counted[Symbol.asyncIterator]();
  const first = await iterator.next();
  const whole = continued(first, iterator);
  const reader = new LogReader({
    ...options,
    ...(size === undefined || isPacked === true ? {} : { expectedBytes: size }),
  });
  for await (const piece of isPacked === true ? unpacked(whole) : whole) {
    reader.push(piece);
    onProgress?.(size === undefined || size === 0 ? 0 : Math.min(1, readBytes / size), reader.sampleCount);
  }
  signal?.throwIfAborted();
  return reader.finish();
}

async function* counting(
  pieces: AsyncIterable<Uint8Array>,
  count: (piece: Uint8Array) => void,
): AsyncGenerator<Uint8Array> {
  for await (const piece of pieces) {
    count(piece);
    yield piece;
  }
}

/** What an iterator gave first, and then all the rest; ends the iterator when it is left early. */
async function* continued(
  first: IteratorResult<Uint8Array>,
  iterator: AsyncIterator<Uint8Array>,
): AsyncGenerator<Uint8Array> {
  try {
    for (let next = first; next.done !== true; next = await iterator.next()) yield next.value;
  } finally {
    await iterator.return?.();
  }
}

/** The pieces of a stream; lets go of it when it is left early. */
async function* piecesOf(stream: ReadableStream<Uint8Array>): AsyncGenerator<Uint8Array> {
  const reader = stream.getReader();
  let isDone = false;
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) {
        isDone = true;
        return;
      }
      yield value;
    }
  } finally {
    if (!isDone) await reader.cancel();
    reader.releaseLock();
  }
}

async function* unpacked(pieces: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
  const iterator = pieces[Symbol.asyncIterator]();
  const packed = new ReadableStream<Uint8Array>({
    async pull(controller) {
      const { done, value } = await iterator.next();
      if (done === true) controller.close();
      // A copy, since the piece may be overwritten before it is unpacked.
      else controller.enqueue(value.slice());
    },
    async cancel() {
      await iterator.return?.();
    },
  });
  const gunzip = new DecompressionStream('gzip') as unknown as ReadableWritablePair<Uint8Array, Uint8Array>;
  try {
    yield* piecesOf(packed.pipeThrough(gunzip));
  } catch (error) {
    // The platform's own message differs from one to the next.
    if (
      error instanceof TypeError ||
      (error instanceof Error && 'code' in error && String(error.code).startsWith('Z_'))
    ) {
      throw new LogFormatError([
        {
          code: 'broken-gzip',
          message: `the packed log ends too early or is damaged (${error.message})`,
          remedy: 'copy the file again, or unpack as much of it as can be had',
        },
      ]);
    }
    throw error;
  }
}
