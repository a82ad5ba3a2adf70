import { type ChildProcess, fork } from 'node:child_process';
import type { Writable } from 'node:stream';
import { fileURLToPath } from 'node:url';
import type { KernelDeath } from './kernel-connection.js';
import type { JupyterMessage } from './messages/jupyter-message.js';
import type { KernelProcessMessage } from './process/kernel-process.js';
import { kernelEnvironment } from './toolkit-folder.js';

/** What a kernel process tells the process that started it. */
export interface ChildKernelEvents {
  readonly onMessage: (message: JupyterMessage) => void;
  /** Written past the process's own streams: by native code, by programs it starts, or by a dying runtime. */
  readonly onText: (name: 'stdout' | 'stderr', text: string) => void;
}

const keptStandardErrorCharacters = 2000;
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
  #ended = false;
  /** Resolves when cells can be run; rejects with the reason why not. */
  readonly ready: Promise<void>;
  /** Resolves when the process is gone and everything it sent has been passed on. */
  readonly ended: Promise<KernelDeath>;

  constructor(workingDirectory: string, events: ChildKernelEvents) {
    const child = fork(fileURLToPath(new URL('./process/kernel-process.js', import.meta.url)), {
      cwd: workingDirectory,
      execArgv: [],
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
        end(
          this.#startFailure === undefined ? `ended with ${how}` : `could not start: ${this.#startFailure}`,
          exitCode,
          signal,
        );
      });
      void failed.then((reason) => {
        if (child.pid === undefined) end(`process could not be started: ${reason}`, null, null);
      });
    });
    this.ready = new Promise((resolve, reject) => {
      child.on('message', (message: KernelProcessMessage) => {
        if (message.type === 'message') events.onMessage(message.message);
        else if (message.type === 'ready') resolve();
        else this.#startFailure = message.message;
      });
      void this.ended.then(({ message }) => reject(new Error(message)));
    });
    this.ready.catch(() => {}); // for those who do not wait for it
    // Writing to a process that is just ending is no failure of ours.
    this.#controlPipe?.on('error', () => {});
  }

  get processId(): number | undefined {
    return this.#child.pid;
  }

  send(message: JupyterMessage): void {
    if (this.#ended) return;
    if (message.channel === 'control') this.#controlPipe?.write(`${JSON.stringify(message)}\n`);
    else if (this.#child.connected) this.#child.send(message, () => {});
  }

  /** Answers on the control pipe. */
  onControl(listener: (message: JupyterMessage) => void): void {
    let rest = '';
    const pipe = this.#child.stdio[4];
    if (pipe === null || pipe === undefined || !('setEncoding' in pipe)) return;
    pipe.setEncoding('utf8').on('data', (text: string) => {
      const lines = (rest + text).split('\n');
      rest = lines.pop() ?? '';
      for (const line of lines) listener(JSON.parse(line) as JupyterMessage);
    });
  }

  /** Ends the process at once. */
  async kill(): Promise<void> {
    if (!this.#ended) endGroup(this.#child);
    await this.ended;
  }

  get #controlPipe(): Writable | undefined {
    const pipe = this.#child.stdio[4];
    return pipe !== null && pipe !== undefined && 'write' in pipe ? pipe : undefined;
  }
}
