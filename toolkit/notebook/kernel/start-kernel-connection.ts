import { randomUUID } from 'node:crypto';
import { setTimeout as pause } from 'node:timers/promises';
import { ChildKernel } from './child-kernel.js';
import type { KernelConnection, KernelDeath, KernelStartOptions, KernelState } from './kernel-connection.js';
import type { JupyterMessage } from './messages/jupyter-message.js';
import { createMessageMaker } from './messages/message-maker.js';
import { OutputQueue } from './messages/output-queue.js';

const defaultStartTimeoutS = 60;
/** How long a kernel that was asked to end may take. */
const shutdownMs = 1000;
const defaultPulseS = 5;
const defaultStopTimeoutS = 10;

/** Starts a kernel in a process of its own; returns at once, in the state `starting`. */
export function startKernelConnection(options: KernelStartOptions): KernelConnection {
  return new ProcessConnection(options);
}

class ProcessConnection implements KernelConnection {
  readonly id: string = randomUUID();
  readonly #options: KernelStartOptions;
  readonly #maker = createMessageMaker({ username: 'kernel-owner' });
  readonly #messageListeners = new Set<(message: JupyterMessage) => void>();
  readonly #stateListeners = new Set<(state: KernelState) => void>();
  readonly #deathListeners = new Set<(death: KernelDeath) => void>();
  #state: KernelState = 'starting';
  #waiting: JupyterMessage[] = [];
  #child: ChildKernel;
  #starting: Promise<void>;
  #lastShown: JupyterMessage | undefined;
  /** What comes past the kernel's own streams, such as from programs that a cell has started. */
  readonly #texts = new OutputQueue(({ output_type: type, ...content }) =>
    this.#tell(this.#maker.make('iopub', type, content, this.#lastShown)),
  );

  constructor(options: KernelStartOptions) {
    this.#options = options;
    this.#child = this.#spawn();
    this.#starting = this.#becomeReady(this.#child);
    this.#starting.catch(() => {}); // for those who listen to deaths instead
  }

  get state(): KernelState {
    return this.#state;
  }

  get processId(): number | undefined {
    return this.#child.processId;
  }

  send(message: JupyterMessage): void {
    if (message.header.msg_type === 'execute_request') {
      this.#texts.beginCell();
      this.#lastShown = message;
    }
    if (this.#state === 'ready') this.#child.send(message);
    else if (this.#state === 'starting' || this.#state === 'restarting') this.#waiting.push(message);
  }

  onMessage(listener: (message: JupyterMessage) => void): () => void {
    return subscribe(this.#messageListeners, listener);
  }

  onState(listener: (state: KernelState) => void): () => void {
    return subscribe(this.#stateListeners, listener);
  }

  onDeath(listener: (death: KernelDeath) => void): () => void {
    return subscribe(this.#deathListeners, listener);
  }

  async interrupt(): Promise<void> {
    if (this.#state !== 'ready') return;
    const child = this.#child;
    const request = this.#maker.make('control', 'interrupt_request', {});
    const stopS = this.#options.stopTimeoutS ?? defaultStopTimeoutS;
    const settled = new AbortController();
    const heard = new Promise<void>((resolve) => {
      const unsubscribe = this.onMessage((message) => {
        if (message.parent_header.msg_id === request.header.msg_id) resolve();
      });
      settled.signal.addEventListener('abort', unsubscribe);
    });
    child.send(request);
    try {
      await Promise.race([
        heard,
        child.ended,
        pause(stopS * 1000, undefined, { signal: settled.signal }).then(() => {
          throw new Error(`the cell did not stop within ${stopS} s: only a restart of the kernel ends it`);
        }),
      ]);
    } finally {
      settled.abort();
    }
  }

  async restart(): Promise<void> {
    if (this.#state === 'closed') throw new Error('the kernel has been shut down: start another one');
    this.#waiting = [];
    this.#enter('restarting');
    const old = this.#child;
    // Another restart while this one waits finds a new child and replaces that one.
    this.#child = this.#spawn();
    const starting = this.#becomeReady(this.#child);
    starting.catch(() => {});
    this.#starting = starting;
    await old.kill();
    await starting;
  }

  async shutdown(): Promise<void> {
    if (this.#state !== 'closed') {
      const wasReady = this.#state === 'ready';
      this.#waiting = [];
      this.#enter('closed');
      if (wasReady) {
        this.#child.send(this.#maker.make('control', 'shutdown_request', { restart: false }));
        await Promise.race([this.#child.ended, pause(shutdownMs, undefined, { ref: false })]);
      }
    }
    await this.#child.kill();
  }

  ready(): Promise<void> {
    return this.#starting;
  }

  #spawn(): ChildKernel {
    const isCurrent = (): boolean => this.#child === child;
    const pass = (message: JupyterMessage): void => {
      if (isCurrent()) this.#tell(message);
    };
    const child: ChildKernel = new ChildKernel(
      {
        workingDirectory: this.#options.workingDirectory,
        pulseMs: (this.#options.pulseS ?? defaultPulseS) * 1000,
        maker: this.#maker,
      },
      {
        onMessage: pass,
        onText: (name, text) => {
          if (isCurrent()) this.#texts.write(name, text);
        },
      },
    );
    child.onControl((message) => {
      if (message.header.msg_type !== 'pulse_reply') pass(message);
    });
    void child.ended.then((death) => {
      if (!isCurrent() || this.#state === 'closed' || this.#state === 'dead') return;
      this.#waiting = [];
      this.#texts.flush();
      this.#enter('dead');
      for (const listener of [...this.#deathListeners]) listener(death);
    });
    return child;
  }

  async #becomeReady(child: ChildKernel): Promise<void> {
    const timeoutS = this.#options.startTimeoutS ?? defaultStartTimeoutS;
    const tooLate = new AbortController();
    try {
      await Promise.race([
        child.ready,
        pause(timeoutS * 1000, undefined, { signal: tooLate.signal }).then(() => {
          throw new Error(`the kernel did not start within ${timeoutS} s`);
        }),
      ]);
    } catch (error) {
      await child.kill();
      throw error;
    } finally {
      tooLate.abort();
    }
    if (this.#child !== child || this.#state === 'closed') return;
    this.#enter('ready');
    for (const message of this.#waiting.splice(0)) child.send(message);
  }

  #tell(message: JupyterMessage): void {
    for (const listener of [...this.#messageListeners]) listener(message);
  }

  #enter(state: KernelState): void {
    this.#state = state;
    for (const listener of [...this.#stateListeners]) listener(state);
  }
}

function subscribe<T>(listeners: Set<T>, listener: T): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}
