import type { WebSocket } from 'ws';
import type { KernelConnection } from '../../kernel/kernel-connection.js';
import type { JupyterMessage } from '../../kernel/messages/jupyter-message.js';
import { createMessageMaker, type MessageMaker } from '../../kernel/messages/message-maker.js';
import { decodeFrame, encodeFrame } from './socket-frames.js';

/** The one kernel we offer. */
export const kernelName = 'kelvin-per-watt';

/** A page's connection to the kernel; replies go to the page that asked. */
interface Attached {
  readonly socket: WebSocket;
  readonly session: string;
}

/** Output of a page that lost its connection, until it is back. */
interface Kept {
  readonly session: string;
  readonly frames: Buffer[];
  byteCount: number;
}

const mostKeptBytes = 50 * 1024 * 1024;

/** A kernel and the pages that watch it. */
export class ServedKernel {
  readonly #connection: KernelConnection;
  readonly #server: MessageMaker = createMessageMaker({ username: 'server' });
  readonly #attached = new Set<Attached>();
  #kept: Kept | undefined;
  #executionState = 'starting';
  #lastActivity = new Date();
  #death: string | undefined;

  constructor(connection: KernelConnection) {
    this.#connection = connection;
    connection.onMessage((message) => this.#receive(message));
    connection.onState((state) => {
      this.#lastActivity = new Date();
      // On a restart that a person asked for the page expects no status: it would take one for a crash.
      this.#executionState = state === 'ready' ? 'idle' : state;
      if (state === 'ready' || state === 'restarting') this.#death = undefined;
    });
    connection.onDeath(({ message }) => this.#sayDead(message));
    connection.ready().catch((problem: unknown) => {
      if (connection.state !== 'closed')
        this.#sayDead(problem instanceof Error ? problem.message : String(problem));
    });
  }

  get id(): string {
    return this.#connection.id;
  }

  /** As the REST interface describes a kernel; `reason` says why a dead one ended. */
  model(): Readonly<Record<string, unknown>> {
    return {
      id: this.id,
      name: kernelName,
      last_activity: this.#lastActivity.toISOString(),
      execution_state: this.#executionState,
      connections: this.#attached.size,
      ...(this.#death === undefined ? {} : { death: this.#death }),
    };
  }

  attach(socket: WebSocket, session: string): void {
    const page: Attached = { socket, session };
    const kept = this.#kept;
    this.#kept = undefined;
    this.#attached.add(page);
    if (kept?.session === session) for (const frame of kept.frames) socket.send(frame);
    if (this.#death !== undefined) socket.send(encodeFrame(this.#status('dead')));
    socket.on('message', (data: Buffer, isBinary: boolean) => {
      try {
        if (!isBinary) throw new RangeError('not binary');
        this.#connection.send(decodeFrame(data));
      } catch {
        socket.close(1007, 'not a message of the kernel protocol');
      }
    });
    socket.on('error', () => {});
    socket.once('close', () => {
      this.#attached.delete(page);
      // A person's page that comes back with the same session gets what it missed; a new page reads the file.
      if (this.#attached.size === 0) this.#kept = { session, frames: [], byteCount: 0 };
    });
  }

  interrupt(): Promise<void> {
    return this.#connection.interrupt();
  }

  async restart(): Promise<void> {
    this.#kept = undefined;
    await this.#connection.restart();
  }

  async shutdown(): Promise<void> {
    await this.#connection.shutdown();
    for (const { socket } of this.#attached) socket.close(1001, 'the kernel was shut down');
  }

  #receive(message: JupyterMessage): void {
    this.#lastActivity = new Date();
    const { execution_state: state } = message.content;
    if (message.header.msg_type === 'status' && typeof state === 'string') this.#executionState = state;
    const frame = encodeFrame(message);
    const asker = (message.parent_header as { readonly session?: string }).session;
    for (const { socket, session } of this.#attached)
      if (message.channel === 'iopub' || asker === undefined || asker === session) socket.send(frame);
    if (this.#kept === undefined) return;
    this.#kept.byteCount += frame.length;
    if (this.#kept.byteCount <= mostKeptBytes) this.#kept.frames.push(frame);
  }

  #sayDead(reason: string): void {
    this.#death = reason;
    this.#executionState = 'dead';
    const frame = encodeFrame(this.#status('dead'));
    for (const { socket } of this.#attached) socket.send(frame);
  }

  #status(state: string): JupyterMessage {
    return this.#server.make('iopub', 'status', { execution_state: state });
  }
}
