import { parentPort } from 'node:worker_threads';
import { ArgumentError, type ArgumentProblem } from '../../errors.js';
import type { Run } from '../../runs/run.js';
import { LogFormatError, type LogIssue } from '../log-format-error.js';
import { type ReadRunsOptions, readRunsOfFile } from './read-run-node.js';

/** What became of one file. */
export type FileOutcome = { readonly runs: readonly Run[] } | { readonly issues: readonly LogIssue[] };

/** One file to read. */
export interface ReadRequest {
  readonly index: number;
  readonly path: string;
  /** Without functions and signals, which cannot be sent. */
  readonly options: ReadRunsOptions;
}

/** What comes back: how far it is, what became of it, or why nothing could. */
export type ReadReply =
  | {
      readonly kind: 'progress';
      readonly index: number;
      readonly doneFraction: number;
      readonly sampleCount: number;
    }
  | { readonly kind: 'outcome'; readonly index: number; readonly outcome: FileOutcome }
  | { readonly kind: 'failure'; readonly message: string; readonly argument?: ArgumentProblem };

/** Between two words of progress, a share of the file. */
const PROGRESS_STEP = 0.02;

parentPort?.on('message', (request: ReadRequest) => {
  void answer(request);
});

async function answer({ index, path, options }: ReadRequest): Promise<void> {
  const send = (reply: ReadReply, transfer: readonly ArrayBuffer[] = []): void =>
    parentPort?.postMessage(reply, transfer);
  let told = 0;
  try {
    const runs = await readRunsOfFile(path, {
      ...options,
      onProgress: (doneFraction, sampleCount) => {
        if (doneFraction < told + PROGRESS_STEP) return;
        told = doneFraction;
        send({ kind: 'progress', index, doneFraction, sampleCount });
      },
    });
    send({ kind: 'outcome', index, outcome: { runs } }, buffersOf(runs));
  } catch (error) {
    if (error instanceof LogFormatError) send({ kind: 'outcome', index, outcome: { issues: error.issues } });
    else if (error instanceof ArgumentError) {
      const { caller, argument, expected, remedy } = error;
      const received = typeof error.received === 'object' ? 'a value' : error.received;
      send({
        kind: 'failure',
        message: error.message,
        argument: { caller, argument, expected, received, ...(remedy === undefined ? {} : { remedy }) },
      });
    } else
      send({
        kind: 'failure',
        message: `readRuns: ${error instanceof Error ? error.message : String(error)}`,
      });
  }
}

/** The memory behind the columns, which is handed over rather than copied. */
function buffersOf(runs: readonly Run[]): readonly ArrayBuffer[] {
  const buffers = new Set<ArrayBuffer>();
  for (const run of runs)
    for (const value of Object.values(run))
      if (value instanceof Float64Array && value.buffer instanceof ArrayBuffer) buffers.add(value.buffer);
  return [...buffers];
}
