import { type ChildProcess, fork } from 'node:child_process';
import type { Duplex } from 'node:stream';
import { fileURLToPath } from 'node:url';
import type { KernelDeath } from './kernel-connection.js';
import { isJupyterMessage, type JupyterMessage } from './messages/jupyter-message.js';
import type { MessageMaker } from './messages/message-maker.js';
import type { KernelProcessMessage, Ping } from './process/kernel-process.js';
import { LinePipe } from './process/line-pipe.js';
import { type PulseReply, watchPulse } from './pulse.js';
import { kernelEnvironment } from './toolkit-folder.js';

/** Where and how a kernel process is started. */
export interface ChildKernelOptions {
  readonly workingDirectory: string;
  /** Between two questions whether it can be reached, ms. */
  readonly pulseMs: number;
  /** Signs what is asked of the control thread. */
  readonly maker: MessageMaker;
}

/** What a kernel process tells the process that started it. */
export interface ChildKernelEvents {
  readonly onMessage: (message: JupyterMessage) => void;
  /** Written past the process's own streams: by native code, by programs it starts, or by a dying runtime. */
  readonly onText: (name: 'stdout' | 'stderr', text: string) => void;
}

const keptStandardErrorCharacters = 2000;
/** How long a process whose channel has closed may take to end by itself. */
const endMs = 500;
const hasProcessGroups = process.platform !== 'win32';

/** Ends a kernel and what its cells have started; where it is gone already, what it has left behind. */
function endGroup(child: ChildProcess): void {
  if (child.pid === undefined) return;
  if (!hasProcessGroups) {
    child.kill('SIGKILL');
    return;
  }
  try {
    process.kill(-child.pid, 'SIGKILL');
  } catch {
    // Nobody is left in the group.
  }
}

/** One kernel process, from its start to its end. */
export class ChildKernel {
  readonly #child: ChildProcess;
  #standardError = '';
  #startFailure: string | undefined;
  /** Why it was given up. */
  #lost: string | undefined;
  #ended = false;
  readonly #control: LinePipe;
  readonly #controlListeners = new Set<(message: JupyterMessage) => void>();
  /** Requests that were not answered yet, with the time they were sent. */
  readonly #unanswered = new Map<string, number>();
  #pingCount = 0;
  #onPong: (ping: number) => void = ignored;
  /** Resolves when cells can be run; rejects with the reason why not. */
  readonly ready: Promise<void>;
  /** Resolves when the process is gone and everything it sent has been passed on. */
  readonly ended: Promise<KernelDeath>;

  constructor({ workingDirectory, pulseMs, maker }: ChildKernelOptions, events: ChildKernelEvents) {
    const child = fork(fileURLToPath(new URL('./process/kernel-process.js', import.meta.url)), {
      cwd: workingDirectory,
      execArgv: [],
      // As JSON, text that something else wrote to the channel would throw an error that nobody can catch.
      serialization: 'advanced',
      // Leads a process group: programs that cells have started end with it.
      detached: hasProcessGroups,
      env: kernelEnvironment(process.env),
      // The last pipe is the control thread's.
      stdio: ['ignore', 'pipe', 'pipe', 'ipc', 'overlapped'],
    });
    this.#child = child;
    const endWithUs = (): void => endGroup(child);
    process.once('exit', endWithUs);
    for (const name of ['stdout', 'stderr'] as const)
      child[name]?.setEncoding('utf8').on('data', (text: string) => {
        if (name === 'stderr')
          this.#standardError = (this.#standardError + text).slice(-keptStandardErrorCharacters);
        events.onText(name, text);
      });
    const failed = new Promise<string>((resolve) => child.once('error', (error) => resolve(error.message)));
    this.ended = new Promise((resolve) => {
      const end = (message: string, exitCode: number | null, signal: string | null): void => {
        this.#ended = true;
        process.removeListener('exit', endWithUs);
        const said = this.#standardError.trim();
        resolve({
          message: `the kernel ${message}${said === '' ? '' : `; it said: ${said}`}`,
          exitCode,
          signal,
        });
      };
      // What it leaves behind would hold its streams open, and its end would not be told.
      child.once('exit', () => endGroup(child));
      child.once('close', (exitCode, signal) => {
        const how = signal === null ? `exit code ${exitCode}` : `signal ${signal}`;
        if (this.#lost !== undefined) end(this.#lost, exitCode, signal);
        else if (this.#startFailure !== undefined)
          end(`could not start: ${this.#startFailure}`, exitCode, signal);
        else end(`ended with ${how}`, exitCode, signal);
      });
      void failed.then((reason) => {
        if (child.pid === undefined) end(`process could not be started: ${reason}`, null, null);
      });
    });
    this.ready = new Promise((resolve, reject) => {
      child.on('message', (message: KernelProcessMessage) => {
        if (message.type === 'message') {
          this.#settle(message.message);
          events.onMessage(message.message);
        } else if (message.type === 'pong') this.#onPong(message.ping);
        else if (message.type === 'ready') resolve();
        else this.#startFailure = message.message;
      });
      void this.ended.then(({ message }) => reject(new Error(message)));
    });
    this.ready.catch(ignored); // for those who do not wait for it
    this.#control = new LinePipe(child.stdio[4] as Duplex, (value) => {
      if (isJupyterMessage(value)) for (const listener of [...this.#controlListeners]) listener(value);
    });
    const giveUpUnlessEnding = (): void =>
      void setTimeout(
        () => this.#giveUp('closed its connection: a cell has probably done that'),
        endMs,
      ).unref();
    child.once('disconnect', giveUpUnlessEnding);
    this.#control.onClose(giveUpUnlessEnding);
    void this.ready.then(() => this.#watch(pulseMs, maker), ignored);
  }

  get processId(): number | undefined {
    return this.#child.pid;
  }

  send(message: JupyterMessage): void {
    if (this.#ended) return;
    if (message.channel === 'shell') this.#unanswered.set(message.header.msg_id, performance.now());
    if (message.channel === 'control') void this.#control.send(message);
    else if (this.#child.connected) this.#child.send(message, ignored);
  }

  /** Answers on the control pipe. */
  onControl(listener: (message: JupyterMessage) => void): () => void {
    this.#controlListeners.add(listener);
    return () => this.#controlListeners.delete(listener);
  }

  /** Ends the process at once. */
  async kill(): Promise<void> {
    if (!this.#ended) endGroup(this.#child);
    await this.ended;
  }

  #watch(periodMs: number, maker: MessageMaker): void {
    const endWatch = watchPulse(
      {
        askControl: () => this.#askControl(maker.make('control', 'pulse_request', {})),
        askMain: () => this.#ping(),
        waitsLongerThan: (waitMs) => this.#waitsLongerThan(waitMs),
      },
      { periodMs, onLost: (reason) => this.#giveUp(reason) },
    );
    void this.ended.then(endWatch);
  }

  #askControl(request: JupyterMessage): Promise<PulseReply> {
    return new Promise((resolve) => {
      const unsubscribe = this.onControl(({ parent_header: { msg_id: id }, content }) => {
        if (id !== request.header.msg_id) return;
        unsubscribe();
        resolve({ turned: content['turned'] === true, atWork: content['atWork'] === true });
      });
      this.send(request);
    });
  }

  #ping(): Promise<void> {
    this.#pingCount += 1;
    const ping: Ping = { ping: this.#pingCount };
    return new Promise((resolve) => {
      this.#onPong = (answered) => {
        if (answered === ping.ping) resolve();
      };
      if (this.#child.connected) this.#child.send(ping, ignored);
    });
  }

  /** A request is answered when the kernel is idle again after it. */
  #settle({ parent_header, content }: JupyterMessage): void {
    if (content['execution_state'] === 'idle') this.#unanswered.delete(parent_header.msg_id ?? '');
  }

  #waitsLongerThan(periodMs: number): boolean {
    const [oldest = Number.POSITIVE_INFINITY] = this.#unanswered.values();
    return performance.now() - oldest > periodMs;
  }

  #giveUp(reason: string): void {
    if (this.#ended || this.#lost !== undefined) return;
    this.#lost = reason;
    endGroup(this.#child);
  }
}

function ignored(): void {}
