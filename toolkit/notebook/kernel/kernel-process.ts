// The kernel's own process: started by `startKernel`, speaks over Node's IPC channel, ends when the channel closes.
import { setTimeout as pause } from 'node:timers/promises';
import { displayHookKey } from '../show.js';
import { createTslabEvaluator, type Evaluator } from './evaluator.js';
import type { KernelReply, KernelRequest } from './messages.js';
import { captureStandardStreams, OutputQueue } from './output-queue.js';

const send = (reply: KernelReply): void => {
  process.send?.(reply);
};
const queue = new OutputQueue((output) => send({ type: 'output', output }));
let failedOutsideCell = false;

async function start(): Promise<void> {
  captureStandardStreams(queue);
  const evaluator = await createTslabEvaluator({ output: (output) => queue.push(output) });
  Object.assign(globalThis, {
    [displayHookKey]: (data: Record<string, string | object>) =>
      queue.push({ output_type: 'display_data', data, metadata: {} }),
  });
  const reportOutsideCell = (error: unknown): void => {
    failedOutsideCell = true;
    queue.push(evaluator.describeError(error));
  };
  process.on('uncaughtException', reportOutsideCell);
  process.on('unhandledRejection', reportOutsideCell);
  process.on('SIGINT', () => evaluator.interrupt());

  let running: Promise<void> = Promise.resolve();
  process.on('message', (request: KernelRequest) => {
    if (request.type === 'interrupt') evaluator.interrupt();
    else running = running.then(() => execute(evaluator, request.code, request.executionCount));
  });
  send({ type: 'ready' });
}

async function execute(evaluator: Evaluator, code: string, executionCount: number): Promise<void> {
  failedOutsideCell = false;
  const status = await evaluator.evaluate(code, executionCount);
  // One turn of the event loop, so that a rejection nobody awaits counts against the cell that caused it.
  await pause(0);
  queue.flush();
  send({ type: 'done', status: failedOutsideCell ? 'error' : status });
}

process.on('disconnect', () => process.exit(0));
start().catch((error: unknown) => {
  send({ type: 'cannot-start', message: error instanceof Error ? error.message : String(error) });
  process.disconnect?.();
});
