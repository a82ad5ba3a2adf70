// A kernel over Node's IPC channel, for the process that started it; ends when the channel closes.
import type { JupyterMessage } from '../messages/jupyter-message.js';
import { runKernel } from './run-kernel.js';

/** What the kernel process sends over its IPC channel. */
export type KernelProcessMessage =
  | { readonly type: 'ready' }
  | { readonly type: 'cannot-start'; readonly message: string }
  | { readonly type: 'message'; readonly message: JupyterMessage };

/** Number of the pipe that the control thread listens to. */
const controlFileDescriptor = 4;

let sent: Promise<void> = Promise.resolve();
const send = (message: KernelProcessMessage): void => {
  sent = new Promise((resolve) => process.send?.(message, () => resolve()));
};

process.on('disconnect', () => process.exit(0));
runKernel({
  controlLink: { kind: 'pipe', fileDescriptor: controlFileDescriptor },
  pagesLackLibrary: false,
  send: (message) => send({ type: 'message', message }),
  async listen(receive) {
    process.on('message', receive);
    send({ type: 'ready' });
  },
  close: () => sent,
}).catch((error: unknown) => {
  send({ type: 'cannot-start', message: error instanceof Error ? error.message : String(error) });
  void sent.then(() => process.exit(1));
});
