import { randomUUID } from 'node:crypto';
import { Worker } from 'node:worker_threads';
import { LibraryCarrier } from '../../display/display-library.js';
import { createTslabEvaluator } from '../evaluator/evaluator.js';
import type { JupyterMessage } from '../messages/jupyter-message.js';
import { kernelInfo } from '../messages/kernel-info.js';
import { MessageCore, type MessageCoreOptions } from '../messages/message-core.js';
import { createMessageMaker } from '../messages/message-maker.js';
import { captureStandardStreams, OutputQueue } from '../messages/output-queue.js';
import { fireTimersFromMessages } from './cell-timers.js';
import { ControlFlags } from './control-flags.js';
import type { ControlLink, ControlThreadData, ControlThreadMessage } from './control-thread.js';
import { installNotebookHook } from './notebook-hook.js';
import { refuseStandardInput } from './standard-input.js';

/** What carries the messages of a kernel process. */
export interface Transport {
  readonly controlLink: ControlLink;
  /** Whether pages behind it may lack the drawing library, so that a notebook has to carry it. */
  readonly pagesLackLibrary: boolean;
  /** Sends a message; an answer goes back to where its request came from. */
  send(message: JupyterMessage, request?: JupyterMessage): void;
  /** From now on messages may come. */
  listen(receive: (message: JupyterMessage) => void): Promise<void>;
  /** Resolves when everything sent is on its way. */
  close(): Promise<void>;
}

/** How long a client that is about to ask something may take after the start. */
const quietMs = 150;

/** Turns this process into a kernel. */
export async function runKernel(transport: Transport): Promise<void> {
  const session = randomUUID();
  const flags = new ControlFlags();
  const control = startControlThread({ link: transport.controlLink, session, memory: flags.memory });

  fireTimersFromMessages(); // before anything takes a timer
  let core: MessageCore | undefined;
  const outputs = new OutputQueue((output) => core?.publish(output));
  captureStandardStreams(outputs);
  refuseStandardInput();
  const evaluator = await createTslabEvaluator({
    output: (output) => outputs.push(output),
    onPhase: (phase) => flags.enter(phase),
  });
  const shutdown = (): void => {
    void transport.close().finally(() => process.exit(0));
  };
  core = new MessageCore({
    evaluator,
    outputs,
    shutdown,
    maker: createMessageMaker({ username: 'kernel', session }),
    info: kernelInfo(),
    ...(transport.pagesLackLibrary ? { refine: carryLibrary() } : {}),
    send: (message, request) => transport.send(message, request),
  });
  installNotebookHook(outputs, core.comms);

  const { reportOutside, receive } = bound(core);
  process.on('uncaughtException', reportOutside);
  process.on('unhandledRejection', reportOutside);
  process.on('SIGINT', () => evaluator.interrupt());
  control.worker.on('message', (message: ControlThreadMessage) => {
    if (message.type === 'interrupt') {
      if (message.cell === flags.cell) evaluator.interrupt();
      flags.hear(message.interruption);
    } else if (message.type === 'pulse') flags.takeTurn();
    else if (message.type === 'shutdown') shutdown();
    else if (message.type === 'message') receive(message.message);
  });
  await control.listening;
  await transport.listen(receive);
  core.announce();
  setTimeout(() => evaluator.warmUp(), quietMs).unref();
}

function carryLibrary(): NonNullable<MessageCoreOptions['refine']> {
  const carrier = new LibraryCarrier();
  return (output, cell, execution) => carrier.carry(output, cell, execution);
}

function bound(core: MessageCore): {
  reportOutside: (error: unknown) => void;
  receive: (message: JupyterMessage) => void;
} {
  return {
    reportOutside: (error) => core.reportOutside(error),
    receive: (message) => core.receive(message),
  };
}

function startControlThread(data: ControlThreadData): { worker: Worker; listening: Promise<void> } {
  const worker = new Worker(new URL('./control-thread.js', import.meta.url), { workerData: data });
  const listening = new Promise<void>((resolve, reject) => {
    worker.once('error', reject);
    worker.on('message', ({ type }: ControlThreadMessage) => {
      if (type === 'listening') resolve();
    });
  });
  return { worker, listening };
}
