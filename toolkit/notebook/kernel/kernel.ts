import type { KernelConnection } from './kernel-connection.js';
import { CollectedOutputs } from './messages/collected-outputs.js';
import type { JupyterMessage } from './messages/jupyter-message.js';
import { createMessageMaker } from './messages/message-maker.js';
import type { CellOutput, KernelOutput, MimeBundle } from './messages/outputs.js';
import { startKernelConnection } from './start-kernel-connection.js';

/** How a cell ended, its number, and everything it put out, in order. */
export interface CellExecution {
  readonly status: 'ok' | 'error';
  readonly executionCount: number;
  readonly outputs: readonly CellOutput[];
}

/** A running kernel for programs: evaluates one cell after the other in a process of its own. */
export interface Kernel {
  /** Runs a cell. A failure is an error output; a kernel that dies or takes too long throws `KernelError`. */
  execute(code: string, options?: { readonly timeoutS?: number }): Promise<CellExecution>;
  /** Ends the running cell, which then fails; between cells it does nothing. */
  interrupt(): Promise<void>;
  /** Ends the process; safe to call twice. */
  stop(): Promise<void>;
}

/** The kernel process could not start, died or did not answer in time. */
export class KernelError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'KernelError';
  }
}

/** Starts a kernel whose cells resolve files and packages from the working directory. */
export async function startKernel(options: { readonly workingDirectory: string }): Promise<Kernel> {
  const connection = startKernelConnection(options);
  try {
    await connection.ready();
  } catch (error) {
    throw new KernelError(error instanceof Error ? error.message : String(error));
  }
  return new ConnectedKernel(connection);
}

class ConnectedKernel implements Kernel {
  readonly #connection: KernelConnection;
  readonly #maker = createMessageMaker({ username: 'program' });
  readonly #collected = new CollectedOutputs();
  #cell = 0;
  #death: string | undefined;

  constructor(connection: KernelConnection) {
    this.#connection = connection;
    connection.onMessage((message) => {
      const output = outputOf(message);
      if (output !== undefined) this.#collected.add(output);
    });
    connection.onDeath(({ message }) => {
      this.#death = message;
    });
  }

  execute(code: string, options: { readonly timeoutS?: number } = {}): Promise<CellExecution> {
    this.#cell += 1;
    if (this.#connection.state !== 'ready')
      return Promise.reject(new KernelError(this.#death ?? 'the kernel has been stopped'));
    const outputs = this.#collected.startCell();
    const request = this.#maker.make('shell', 'execute_request', { code, stop_on_error: false });
    return new Promise((resolve, reject) => {
      let reply: JupyterMessage['content'] = {};
      const { timeoutS } = options;
      const timer =
        timeoutS === undefined
          ? undefined
          : setTimeout(() => {
              const task = `run cell ${this.#cell}`;
              finish(() => reject(new KernelError(`the kernel did not ${task} within ${timeoutS} s`)));
              void this.stop();
            }, timeoutS * 1000);
      const unsubscribe = [
        this.#connection.onMessage(({ header, parent_header, content }) => {
          if (parent_header.msg_id !== request.header.msg_id) return;
          if (header.msg_type === 'execute_reply') reply = content;
          else if (header.msg_type === 'status' && content['execution_state'] === 'idle')
            finish(() =>
              resolve({
                status: reply['status'] === 'ok' ? 'ok' : 'error',
                executionCount: Number(reply['execution_count']),
                outputs,
              }),
            );
        }),
        this.#connection.onDeath(({ message }) => finish(() => reject(new KernelError(message)))),
      ];
      const finish = (settle: () => void): void => {
        clearTimeout(timer);
        for (const end of unsubscribe) end();
        settle();
      };
      this.#connection.send(request);
    });
  }

  interrupt(): Promise<void> {
    return this.#connection.interrupt();
  }

  stop(): Promise<void> {
    return this.#connection.shutdown();
  }
}

/** What a message adds to a cell's outputs. */
function outputOf({ channel, header, content }: JupyterMessage): KernelOutput | undefined {
  if (channel !== 'iopub') return undefined;
  const type = header.msg_type;
  if (type === 'stream' || type === 'error' || type === 'execute_result' || type === 'clear_output')
    return { output_type: type, ...content } as KernelOutput;
  if (type !== 'display_data' && type !== 'update_display_data') return undefined;
  const { display_id: id } = content['transient'] as { readonly display_id?: string };
  const data = content['data'] as MimeBundle;
  if (id === undefined) return { output_type: 'display_data', data, metadata: {} };
  return { output_type: type, data, metadata: {}, display_id: id };
}
