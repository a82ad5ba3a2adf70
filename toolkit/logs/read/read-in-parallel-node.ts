import { stat } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { ArgumentError, NumericalError } from '../../errors.js';
import type { Run } from '../../runs/run.js';
import { LogFormatError } from '../log-format-error.js';
import type { ReadRunsOptions } from './read-run-node.js';
import type { FileOutcome, ReadReply, ReadRequest } from './read-run-worker-node.js';

interface Ways {
  /** Below this many bytes for every thread the files are read here. */
  readonly bytesWorthAThread: number;
  readonly readHere: (
    path: string,
    onProgress: (doneFraction: number, sampleCount: number) => void,
  ) => Promise<readonly Run[]>;
}

/**
 * Reads files, each on whichever thread is free, or here one after the other where they are few or small. Outcomes come in
 * the order of the files. The progress of all is their mean, weighted by size.
 */
export async function readOnWorkers(
  paths: readonly string[],
  options: ReadRunsOptions,
  ways: Ways,
): Promise<readonly FileOutcome[]> {
  const sizes = await Promise.all(
    paths.map((path) =>
      stat(String(path)).then(
        ({ size }) => size,
        () => 0,
      ),
    ),
  );
  const total = sizes.reduce((sum, size) => sum + size, 0);
  const worth = Math.floor(total / ways.bytesWorthAThread);
  const count = Math.min(options.workerCount ?? availableParallelism(), paths.length, worth);
  const progress = progressOf(sizes, total, options);
  const outcomes = new Array<FileOutcome>(paths.length);
  if (count < 2) {
    for (const [index, path] of paths.entries()) {
      options.signal?.throwIfAborted();
      try {
        outcomes[index] = { runs: await ways.readHere(path, progress(index)) };
      } catch (error) {
        if (!(error instanceof LogFormatError)) throw error;
        outcomes[index] = { issues: error.issues };
      }
      progress(index)(1, sampleCountOf(outcomes[index]));
    }
    return outcomes;
  }
  await readAll(paths, options, { count, outcomes, progress });
  return outcomes;
}

async function readAll(
  paths: readonly string[],
  options: ReadRunsOptions,
  {
    count,
    outcomes,
    progress,
  }: {
    readonly count: number;
    readonly outcomes: FileOutcome[];
    readonly progress: ReturnType<typeof progressOf>;
  },
): Promise<void> {
  const { signal, onProgress: _, workerCount: __, ...plain } = options;
  const workers: Worker[] = [];
  let nextIndex = 0;
  let doneCount = 0;
  try {
    await new Promise<void>((resolve, reject) => {
      signal?.addEventListener('abort', () => reject(signal.reason), { once: true });
      for (let w = 0; w < count; w++) {
        const worker = new Worker(new URL('./read-run-worker-node.js', import.meta.url));
        workers.push(worker);
        const hand = (): void => {
          if (nextIndex === paths.length) return;
          const index = nextIndex++;
          worker.postMessage({ index, path: paths[index], options: plain } satisfies ReadRequest);
        };
        worker.on('message', (reply: ReadReply) => {
          if (reply.kind === 'progress') {
            progress(reply.index)(reply.doneFraction, reply.sampleCount);
            return;
          }
          if (reply.kind === 'failure') {
            reject(
              reply.argument === undefined
                ? new NumericalError(reply.message)
                : new ArgumentError(reply.argument),
            );
            return;
          }
          outcomes[reply.index] = reply.outcome;
          progress(reply.index)(1, sampleCountOf(reply.outcome));
          if (++doneCount === paths.length) resolve();
          else hand();
        });
        worker.on('error', reject);
        worker.on('exit', () => reject(new NumericalError('readRuns: a worker thread ended by itself')));
        hand();
      }
    });
  } finally {
    await Promise.all(workers.map((worker) => worker.terminate()));
  }
}

function sampleCountOf(outcome: FileOutcome | undefined): number {
  if (outcome === undefined || !('runs' in outcome)) return 0;
  return outcome.runs.reduce((sum, { timeS }) => sum + timeS.length, 0);
}

function progressOf(
  sizes: readonly number[],
  total: number,
  { onProgress }: ReadRunsOptions,
): (index: number) => (doneFraction: number, sampleCount: number) => void {
  const done = sizes.map(() => 0);
  const counts = sizes.map(() => 0);
  return (index) => (doneFraction, sampleCount) => {
    done[index] = doneFraction;
    counts[index] = sampleCount;
    const share = done.reduce((sum, fraction, i) => sum + fraction * sizes[i], 0);
    onProgress?.(
      total === 0 ? 1 : share / total,
      counts.reduce((sum, count) => sum + count, 0),
    );
  };
}
