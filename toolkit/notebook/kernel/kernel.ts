import { type ChildProcess, fork } from 'node:child_process';
import { existsSync } from 'node:fs';
import { delimiter, dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { KernelReply, KernelRequest } from './messages.js';
import { appendOutput, type CellOutput } from './outputs.js';

/** How a cell ended and everything it put out, in order. */
export interface CellExecution {
  readonly status: 'ok' | 'error';
  readonly outputs: readonly CellOutput[];
}

/** A running kernel: evaluates one cell after the other in a process of its own. */
export interface Kernel {
  /** Runs a cell. A failure is an error output; a kernel that dies or takes too long throws `KernelError`. */
  execute(
    code: string,
    options: { readonly executionCount: number; readonly timeoutS?: number },
  ): Promise<CellExecution>;
  /** Ends the running cell, which then fails; between cells it does nothing. */
  interrupt(): void;
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

const startTimeoutS = 60;
const keptStandardErrorCharacters = 2000;

/** Starts a kernel whose cells resolve files and packages from the working directory. */
export async function startKernel(options: { readonly workingDirectory: string }): Promise<Kernel> {
  const child = fork(fileURLToPath(new URL('./kernel-process.js', import.meta.url)), {
    cwd: options.workingDirectory,
    execArgv: [],
    env: {
      ...process.env,
      NODE_PATH: [toolkitFolder(), process.env['NODE_PATH']].filter(Boolean).join(delimiter),
    },
    stdio: ['ignore', 'pipe', 'pipe', 'ipc'],
  });
  const endWithUs = (): void => {
    child.kill('SIGKILL');
  };
  process.once('exit', endWithUs);
  const kernel = new ChildKernel(child, () => process.removeListener('exit', endWithUs));
  await kernel.ready();
  return kernel;
}

/** A folder in which `require` finds this toolkit by name, for notebooks that lie anywhere. */
function toolkitFolder(): string | undefined {
  const packageFolder = fileURLToPath(new URL('../../../../', import.meta.url));
  // A checkout links to itself in its own node_modules; an installed package lies in somebody else's.
  return [join(packageFolder, 'node_modules'), dirname(packageFolder)].find((folder) =>
    existsSync(join(folder, 'kelvin-per-watt')),
  );
}

class ChildKernel implements Kernel {
  readonly #child: ChildProcess;
  readonly #gone: Promise<void>;
  #receive: (reply: KernelReply) => void = () => {};
  #fail: (problem: KernelError) => void = () => {};
  #outputs: CellOutput[] = [];
  #standardError = '';
  #exit: string | undefined;
  #running = false;
  #interrupting: NodeJS.Timeout | undefined;

  constructor(child: ChildProcess, onGone: () => void) {
    this.#child = child;
    child.on('message', (reply: KernelReply) => {
      if (reply.type === 'output') appendOutput(this.#outputs, reply.output);
      else this.#receive(reply);
    });
    // Written past the process's own streams: by native code, by programs it starts, or by a dying runtime.
    for (const name of ['stdout', 'stderr'] as const)
      child[name]?.setEncoding('utf8').on('data', (text: string) => {
        appendOutput(this.#outputs, { output_type: 'stream', name, text });
        if (name === 'stderr')
          this.#standardError = (this.#standardError + text).slice(-keptStandardErrorCharacters);
      });
    this.#gone = new Promise((resolve) => {
      child.once('close', (code, signal) => {
        this.#exit = signal === null ? `exit code ${code}` : `signal ${signal}`;
        this.#fail(this.#death());
        onGone();
        resolve();
      });
    });
  }

  async ready(): Promise<void> {
    const reply = await this.#reply(startTimeoutS, 'start');
    if (reply.type === 'ready') return;
    await this.stop();
    throw new KernelError(reply.type === 'cannot-start' ? reply.message : 'the kernel did not start');
  }

  async execute(
    code: string,
    options: { readonly executionCount: number; readonly timeoutS?: number },
  ): Promise<CellExecution> {
    this.#outputs = [];
    const outputs = this.#outputs;
    const answer = this.#reply(options.timeoutS, `run cell ${options.executionCount}`);
    this.#send({ type: 'execute', code, executionCount: options.executionCount });
    this.#running = true;
    try {
      const reply = await answer;
      return { status: reply.type === 'done' ? reply.status : 'error', outputs };
    } finally {
      this.#running = false;
      clearInterval(this.#interrupting);
    }
  }

  interrupt(): void {
    clearInterval(this.#interrupting);
    if (!this.#running) return;
    this.#interruptOnce();
    // A signal that comes while the cell is being compiled is lost on the loop that follows: ask until it ends.
    this.#interrupting = setInterval(() => this.#interruptOnce(), 250);
  }

  #interruptOnce(): void {
    // SIGINT also reaches a loop that never yields; Windows has no such signal.
    if (process.platform === 'win32') this.#send({ type: 'interrupt' });
    else this.#child.kill('SIGINT');
  }

  async stop(): Promise<void> {
    if (this.#exit === undefined) this.#child.kill('SIGKILL');
    await this.#gone;
  }

  #send(request: KernelRequest): void {
    if (this.#exit === undefined) this.#child.send(request);
  }

  #reply(timeoutS: number | undefined, task: string): Promise<KernelReply> {
    if (this.#exit !== undefined) return Promise.reject(this.#death());
    return new Promise((resolve, reject) => {
      const timer =
        timeoutS === undefined
          ? undefined
          : setTimeout(() => {
              reject(new KernelError(`the kernel did not ${task} within ${timeoutS} s`));
              void this.stop();
            }, timeoutS * 1000);
      this.#receive = (reply) => {
        clearTimeout(timer);
        resolve(reply);
      };
      this.#fail = (problem) => {
        clearTimeout(timer);
        reject(problem);
      };
    });
  }

  #death(): KernelError {
    const said = this.#standardError.trim();
    return new KernelError(`the kernel ended with ${this.#exit}${said === '' ? '' : `; it said: ${said}`}`);
  }
}
