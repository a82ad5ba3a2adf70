// The kernel's second thread: hears what must be heard while a cell runs.
import { Socket } from 'node:net';
import { setTimeout as pause } from 'node:timers/promises';
import { parentPort, workerData } from 'node:worker_threads';
import { isJupyterMessage, type JupyterMessage } from '../messages/jupyter-message.js';
import { createMessageMaker } from '../messages/message-maker.js';
import type { PulseReply } from '../pulse.js';
import type { ConnectionInfo } from '../zeromq/connection-info.js';
import { ControlFlags } from './control-flags.js';
import { Interrupter, type InterruptRequest } from './interrupter.js';
import { LinePipe } from './line-pipe.js';

/** Where control messages come from: a pipe from the process that started us, or Jupyter's sockets. */
export type ControlLink =
  | { readonly kind: 'pipe'; readonly fileDescriptor: number }
  | { readonly kind: 'sockets'; readonly connection: ConnectionInfo };

/** What the control thread is started with. */
export interface ControlThreadData {
  readonly link: ControlLink;
  readonly session: string;
  readonly memory: SharedArrayBuffer;
}

/** What the control thread tells the main thread; everything that is not its own business is passed on. */
export type ControlThreadMessage =
  | { readonly type: 'listening' }
  | InterruptRequest
  | { readonly type: 'pulse' }
  | { readonly type: 'shutdown' }
  | { readonly type: 'message'; readonly message: JupyterMessage };

/** How long the main thread may take to end the process in good order. */
const goodOrderMs = 300;
const parentCheckMs = 1000;
/** How long the main thread may take for a turn where it is in no loop. */
const turnMs = 200;

const { link, session, memory } = workerData as ControlThreadData;
const maker = createMessageMaker({ username: 'kernel', session });
let close = (): void => {};
const post = (message: ControlThreadMessage): void => parentPort?.postMessage(message);
const flags = new ControlFlags(memory);
const interrupter = new Interrupter(flags, post);

async function handle(
  message: JupyterMessage,
  answer: (reply: JupyterMessage) => Promise<void>,
): Promise<void> {
  const type = message.header.msg_type;
  if (type === 'interrupt_request') {
    await interrupter.interrupt();
    await answer(maker.make('control', 'interrupt_reply', { status: 'ok' }, message));
  } else if (type === 'shutdown_request') {
    const content = { status: 'ok', restart: message.content['restart'] === true };
    await answer(maker.make('control', 'shutdown_reply', content, message));
    close();
    post({ type: 'shutdown' });
    await pause(goodOrderMs);
    process.kill(process.pid, 'SIGKILL');
  } else if (type === 'pulse_request') {
    await answer(maker.make('control', 'pulse_reply', { ...(await pulse()) }, message));
  } else post({ type: 'message', message });
}

async function pulse(): Promise<PulseReply> {
  const before = flags.turns;
  post({ type: 'pulse' });
  for (let waitedMs = 0; waitedMs < turnMs && flags.turns === before; waitedMs += turnMs / 20)
    await pause(turnMs / 20);
  return { turned: flags.turns !== before, atWork: flags.phase !== 'idle' };
}

function listenToPipe(fileDescriptor: number): void {
  const pipe = new LinePipe(new Socket({ fd: fileDescriptor, readable: true, writable: true }), (value) => {
    if (isJupyterMessage(value)) void handle(value, (reply) => pipe.send(reply));
  });
  // The process that started us is gone.
  pipe.onClose(() => process.kill(process.pid, 'SIGKILL'));
}

/** A client that was killed closes no socket; its kernel would stay for ever. */
function endWithParent(): void {
  if (process.platform === 'win32') return; // there a process keeps the number of its parent
  const parent = process.ppid;
  setInterval(() => {
    if (process.ppid !== parent) process.kill(process.pid, 'SIGKILL');
  }, parentCheckMs).unref();
}

if (link.kind === 'pipe') listenToPipe(link.fileDescriptor);
else {
  endWithParent();
  const { listenForControl } = await import('../zeromq/zeromq-control.js');
  close = await listenForControl(link.connection, handle);
}
post({ type: 'listening' });
