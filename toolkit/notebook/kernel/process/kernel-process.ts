// A kernel over Node's IPC channel, for the process that started it; ends when the channel closes.
import type { JupyterMessage } from '../messages/jupyter-message.js';
import { runKernel } from './run-kernel.js';

/** What the kernel process sends over its IPC channel. */
export type KernelProcessMessage =
  | { readonly type: 'ready' }
  | { readonly type: 'cannot-start'; readonly message: string }
  | { readonly type: 'message'; readonly message: JupyterMessage }
  | { readonly type: 'pong'; readonly ping: number };

/** What it is sent besides Jupyter messages: a question that is answered when its turn comes. */
export interface Ping {
  readonly ping: number;
}

/** Number of the pipe that the control thread listens to. */
const controlFileDescriptor = 4;

// The channel is the kernel's: cells, and libraries that look for a parent process, do not find it. A stream of our own
// would not do: one whose code is ended by force in the middle of a write sends nothing any more.
const sendToParent = process.send?.bind(process);
Object.assign(process, { send: undefined, disconnect: undefined });

let sent: Promise<void> = Promise.resolve();
const send = (message: KernelProcessMessage): void => {
  sent = new Promise((resolve) => sendToParent?.(message, () => resolve()));
};

process.on('disconnect', () => process.exit(0));
runKernel({
  controlLink: { kind: 'pipe', fileDescriptor: controlFileDescriptor },
  pagesLackLibrary: false,
  send: (message) => send({ type: 'message', message }),
  async listen(receive) {
    process.on('message', (message: JupyterMessage | Ping) => {
      if ('ping' in message) send({ type: 'pong', ping: message.ping });
      else receive(message);
    });
    send({ type: 'ready' });
  },
  close: () => sent,
}).catch((error: unknown) => {
  send({ type: 'cannot-start', message: error instanceof Error ? error.message : String(error) });
  void sent.then(() => process.exit(1));
});
