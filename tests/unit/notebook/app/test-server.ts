import { mkdir, mkdtemp, rm } from 'node:fs/promises';
import { type IncomingHttpHeaders, request } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { emptyNotebook } from '../../../../toolkit/notebook/app/empty-notebook.js';
import { type AppServer, startAppServer } from '../../../../toolkit/notebook/app/server/app-server.js';
import type {
  KernelConnection,
  KernelDeath,
  KernelState,
} from '../../../../toolkit/notebook/kernel/kernel-connection.js';
import type { JupyterMessage } from '../../../../toolkit/notebook/kernel/messages/jupyter-message.js';

/** What came back. */
export interface Answer {
  readonly status: number;
  readonly headers: IncomingHttpHeaders;
  readonly text: string;
  // biome-ignore lint/suspicious/noExplicitAny: answers are looked into field by field
  readonly json: any;
}

/** A kernel that does nothing by itself; what it is told is kept. */
export class IdleKernel implements KernelConnection {
  readonly id: string = `kernel-${Math.random().toString(36).slice(2)}`;
  readonly processId = undefined;
  readonly workingDirectory: string;
  readonly sent: JupyterMessage[] = [];
  readonly calls: string[] = [];
  state: KernelState = 'ready';
  #listeners: ((message: JupyterMessage) => void)[] = [];
  #states: ((state: KernelState) => void)[] = [];
  #deaths: ((death: KernelDeath) => void)[] = [];

  constructor(workingDirectory: string) {
    this.workingDirectory = workingDirectory;
  }

  send(message: JupyterMessage): void {
    this.sent.push(message);
  }
  say(message: JupyterMessage): void {
    for (const listener of this.#listeners) listener(message);
  }
  die(message: string): void {
    this.state = 'dead';
    for (const listener of this.#states) listener('dead');
    for (const listener of this.#deaths) listener({ message, exitCode: null, signal: 'SIGKILL' });
  }
  onMessage(listener: (message: JupyterMessage) => void): () => void {
    this.#listeners.push(listener);
    return () => {};
  }
  onState(listener: (state: KernelState) => void): () => void {
    this.#states.push(listener);
    return () => {};
  }
  onDeath(listener: (death: KernelDeath) => void): () => void {
    this.#deaths.push(listener);
    return () => {};
  }
  async ready(): Promise<void> {}
  async interrupt(): Promise<void> {
    this.calls.push('interrupt');
  }
  async restart(): Promise<void> {
    this.calls.push('restart');
    this.state = 'ready';
    for (const listener of this.#states) listener('ready');
  }
  async shutdown(): Promise<void> {
    this.calls.push('shutdown');
    this.state = 'closed';
  }
}

/** A server on a folder of its own, and a way to ask it that can also lie. */
export interface TestServer {
  readonly app: AppServer;
  /** The served folder. */
  readonly folder: string;
  /** Its parent, which must never be seen. */
  readonly outside: string;
  readonly token: string;
  readonly kernels: IdleKernel[];
  readonly faults: unknown[];
  ask(
    method: string,
    path: string,
    options?: {
      readonly body?: unknown;
      readonly headers?: Record<string, string>;
      readonly anonymous?: boolean;
    },
  ): Promise<Answer>;
  close(): Promise<void>;
}

/** Starts one. */
export async function startTestServer(): Promise<TestServer> {
  const outside = await mkdtemp(join(tmpdir(), 'kpw-app-'));
  const folder = join(outside, 'served');
  await mkdir(folder);
  await mkdir(join(outside, 'page'));
  const kernels: IdleKernel[] = [];
  const faults: unknown[] = [];
  const app = await startAppServer({
    folder,
    pageFolder: join(outside, 'page'),
    userFolder: join(outside, 'user'),
    port: 0,
    startKernel: ({ workingDirectory }) => {
      const kernel = new IdleKernel(workingDirectory);
      kernels.push(kernel);
      return kernel;
    },
    emptyNotebook,
    version: '0.0.0',
    onFault: (problem) => faults.push(problem),
  });
  const token = new URL(app.link()).searchParams.get('token')!;
  return {
    app,
    folder,
    outside,
    token,
    kernels,
    faults,
    ask: (method, path, { body, headers = {}, anonymous = false } = {}) =>
      new Promise((resolve, reject) => {
        const text = body === undefined ? undefined : typeof body === 'string' ? body : JSON.stringify(body);
        const call = request(
          {
            host: '127.0.0.1',
            port: app.port,
            agent: false,
            method,
            path,
            headers: {
              ...(anonymous ? {} : { Authorization: `token ${token}` }),
              ...(text === undefined ? {} : { 'Content-Type': 'application/json' }),
              ...headers,
            },
          },
          (response) => {
            const chunks: Buffer[] = [];
            response.on('data', (chunk: Buffer) => chunks.push(chunk));
            response.on('end', () => {
              const answer = Buffer.concat(chunks).toString('utf8');
              let json: unknown;
              try {
                json = JSON.parse(answer);
              } catch {
                json = undefined;
              }
              resolve({ status: response.statusCode ?? 0, headers: response.headers, text: answer, json });
            });
          },
        );
        call.on('error', reject);
        call.end(text);
      }),
    async close() {
      await app.close();
      await rm(outside, { recursive: true, force: true });
    },
  };
}
