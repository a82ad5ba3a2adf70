import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { KernelConnection } from '../../../../toolkit/notebook/kernel/kernel-connection.js';
import type {
  JupyterMessage,
  MessageContent,
} from '../../../../toolkit/notebook/kernel/messages/jupyter-message.js';
import { createMessageMaker } from '../../../../toolkit/notebook/kernel/messages/message-maker.js';

// The kernel is a process of the built toolkit: its source cannot run in plain Node.
const built = pathToFileURL(resolve('dist/toolkit/notebook/kernel/start-kernel-connection.js')).href;
const { startKernelConnection } = (await import(
  built
)) as typeof import('../../../../toolkit/notebook/kernel/start-kernel-connection.js');

const maker = createMessageMaker({ username: 'test' });
let kernel: KernelConnection;

/** Sends a request and resolves to everything that answers it once the kernel is idle again. */
function ask(type: string, content: MessageContent): Promise<readonly JupyterMessage[]> {
  const request = maker.make('shell', type, content);
  const answers: JupyterMessage[] = [];
  return new Promise((done) => {
    const unsubscribe = kernel.onMessage((message) => {
      if (message.parent_header.msg_id !== request.header.msg_id) return;
      answers.push(message);
      if (message.content['execution_state'] !== 'idle') return;
      unsubscribe();
      done(answers);
    });
    kernel.send(request);
  });
}

const replyTo = async (type: string, content: MessageContent): Promise<MessageContent> =>
  (await ask(type, content)).find(({ channel }) => channel === 'shell')?.content ?? {};
const run = (code: string): Promise<MessageContent> => replyTo('execute_request', { code });
const valueIn = async (code: string): Promise<unknown> => {
  const answers = await ask('execute_request', { code });
  const result = answers.find(({ header }) => header.msg_type === 'execute_result');
  return (result?.content['data'] as Record<string, unknown> | undefined)?.['text/plain'];
};

beforeAll(async () => {
  kernel = startKernelConnection({ workingDirectory: resolve('notebooks') });
  // Before it is ready: kept until then.
  expect(kernel.state).toBe('starting');
  expect(await valueIn('1 + 1')).toBe('2');
  expect(kernel.state).toBe('ready');
});
afterAll(() => kernel.shutdown());

describe('a kernel', () => {
  it('says what it is, in the version of the protocol it speaks', async () => {
    const info = await replyTo('kernel_info_request', {});
    expect(info).toMatchObject({
      protocol_version: '5.3',
      implementation: 'kelvin-per-watt',
      language_info: { name: 'typescript', file_extension: '.ts', mimetype: 'text/typescript' },
    });
  });

  it('completes names of the toolkit and of earlier cells, and says what they are', async () => {
    await run('const drawerVolumeL = 7;');
    const own = await replyTo('complete_request', { code: 'drawerVol', cursor_pos: 9 });
    expect(own).toMatchObject({ matches: ['drawerVolumeL'], cursor_start: 0, cursor_end: 9 });
    const kpw = await replyTo('complete_request', { code: 'kpw.fitCoo', cursor_pos: 10 });
    expect(kpw).toMatchObject({ matches: ['fitCooler', 'fitCoolers'], cursor_start: 4, cursor_end: 10 });
  });

  it.each([
    ['kpw.show', 8],
    ['kpw.show', 5],
    ['kpw.show(', 9],
    ['const shown = kpw.show([1, (2)], { limitC: 85, ', 45],
  ])('shows our doc comment at %j, place %i', async (code, place) => {
    const { found, data } = await replyTo('inspect_request', { code, cursor_pos: place });
    expect(found).toBe(true);
    const { 'text/markdown': markdown, 'text/plain': text } = data as Record<string, string>;
    expect(markdown).toContain('show(value: unknown): void');
    expect(markdown).toContain('Shows a value in the notebook below the cell');
    expect(markdown).toContain('- `value` - what to show');
    expect(markdown).toContain('**Example**\n\n```ts\nshow({ limitC: 85 });');
    expect(text).toContain('@param value - what to show');
  });

  it('refuses to wait for input, in words', async () => {
    expect(await run('process.stdin.read()')).toMatchObject({
      status: 'error',
      evalue: 'a notebook cell has no standard input: put the value into the cell, or read it from a file',
    });
  });

  it('keeps the values of its own cell in a closure, as the documentation says', async () => {
    await run('let speed = 2; const current = () => speed;');
    await run('speed = 5;');
    expect(await valueIn('current()')).toBe('2');
    expect(await valueIn('speed')).toBe('5');
  });
});

describe('interrupt', () => {
  // Each is stopped from outside while it runs; all but the second never let the kernel read a message.
  it.each([
    'while (true) {}',
    'await new Promise(() => {})',
    'await null; while (true) {}',
    'await new Promise((r) => setTimeout(r, 10)); while (true) {}',
    'while (true) await null',
    'setTimeout(() => { while (true) {} }, 0); await new Promise((r) => setTimeout(r, 60_000))',
    'setImmediate(() => { while (true) {} }); await new Promise(() => {})',
    'for (let i = 0; i < 50; i++) setTimeout(() => {}, 20 + (i % 3)); await new Promise((r) => setTimeout(r, 20)); while (true) {}',
    'await require("node:timers/promises").setTimeout(20); while (true) {}',
    'await require("node:fs/promises").readFile("01-from-logs-to-a-cap.ipynb"); while (true) {}',
    'while (true) console.log("x".repeat(50))',
  ])('stops %s, and the next cell runs', async (code) => {
    const running = run(code);
    await pause(400);
    await kernel.interrupt();
    expect(await running).toMatchObject({
      status: 'error',
      ename: 'Interrupted',
      evalue: 'the cell was stopped',
    });
    // Timers, immediates and awaits work as before.
    const after =
      'await new Promise((r) => setTimeout(r, 5)); await new Promise((r) => setImmediate(r)); drawerVolumeL';
    expect(await valueIn(after)).toBe('7');
  });

  it('leaves the next cell alone', async () => {
    await kernel.interrupt();
    expect(await valueIn('await new Promise((r) => setTimeout(() => r(3), 50))')).toBe('3');
  });
});

describe('restart', () => {
  it('brings a kernel without the values of the old one, whatever that was doing', async () => {
    void run('await null; while (true) {}');
    await pause(200);
    const old = kernel.processId;
    const states: string[] = [];
    const unsubscribe = kernel.onState((state) => states.push(state));
    const restarted = kernel.restart();
    const early = valueIn('typeof drawerVolumeL');
    await restarted;
    unsubscribe();
    expect(states).toEqual(['restarting', 'ready']);
    expect(kernel.processId).not.toBe(old);
    expect(isAlive(old)).toBe(false);
    expect(await early).toBeUndefined(); // does not compile: the name is unknown
    expect(await valueIn('1')).toBe('1');
  });

  it('follows a death, which is told with its reason', async () => {
    const death = new Promise((told) => kernel.onDeath(told));
    await run('const fs = require("node:fs");');
    kernel.send(
      maker.make('shell', 'execute_request', {
        code: 'fs.writeSync(2, "out of breath\\n"); process.exit(7)',
      }),
    );
    expect(await death).toEqual({
      message: 'the kernel ended with exit code 7; it said: out of breath',
      exitCode: 7,
      signal: null,
    });
    expect(kernel.state).toBe('dead');
    await kernel.restart();
    expect(await valueIn('2')).toBe('2');
  });

  it('follows a kill from outside', async () => {
    const death = new Promise((told) => kernel.onDeath(told));
    process.kill(kernel.processId ?? 0, 'SIGKILL');
    expect(await death).toMatchObject({ message: 'the kernel ended with signal SIGKILL', signal: 'SIGKILL' });
    await kernel.restart();
    expect(await valueIn('3')).toBe('3');
  });

  it('ten times leaves no process and no open file behind', async () => {
    const before = openFiles();
    const ids = new Set<number>();
    for (let i = 0; i < 10; i += 1) {
      await kernel.restart();
      ids.add(kernel.processId ?? 0);
    }
    expect(ids.size).toBe(10);
    expect([...ids].filter(isAlive)).toEqual([kernel.processId]);
    if (before !== undefined) expect(openFiles()).toBeLessThanOrEqual(before);
  }, 300_000);
});

describe('programs that cells have started', () => {
  it.skipIf(process.platform !== 'linux')('end with their kernel, at a restart and at a death', async () => {
    const startSleeper = async (): Promise<number> => {
      await run(
        'import { spawn } from "node:child_process";\nconst sleeper = spawn("sleep", ["600"], { stdio: "inherit" });',
      );
      return Number(await valueIn('sleeper.pid'));
    };
    const isThere = (processId: number): boolean => {
      try {
        return !/\) [ZX] /.test(readFileSync(`/proc/${processId}/stat`, 'utf8')); // dead ones wait for their parent
      } catch {
        return false;
      }
    };
    const first = await startSleeper();
    expect(isThere(first)).toBe(true);
    await kernel.restart();
    await pause(200);
    expect(isThere(first)).toBe(false);
    const second = await startSleeper();
    const death = new Promise((heard) => kernel.onDeath(heard));
    process.kill(kernel.processId!, 'SIGKILL');
    await death;
    await pause(200);
    expect(isThere(second)).toBe(false);
    await kernel.restart();
  });
});

describe('the end', () => {
  it('comes with shutdown, also in the middle of a loop, and a start that fails says why', async () => {
    const other = startKernelConnection({ workingDirectory: resolve('notebooks') });
    await other.ready();
    other.send(maker.make('shell', 'execute_request', { code: 'await null; while (true) {}' }));
    await pause(200);
    const id = other.processId;
    await other.shutdown();
    await other.shutdown();
    expect(other.state).toBe('closed');
    expect(isAlive(id)).toBe(false);
    await expect(other.restart()).rejects.toThrow('the kernel has been shut down: start another one');
    const nowhere = startKernelConnection({ workingDirectory: resolve('no-such-folder') });
    await expect(nowhere.ready()).rejects.toThrow(/the kernel process could not be started: .*ENOENT/);
    expect(nowhere.state).toBe('dead');
  });
});

function isAlive(id: number | undefined): boolean {
  if (id === undefined) return false;
  try {
    process.kill(id, 0);
  } catch {
    return false;
  }
  // A process that has ended but whose end nobody has read yet is no running process.
  const status = `/proc/${id}/stat`;
  return !existsSync(status) || !readFileSync(status, 'utf8').includes(') Z ');
}

/** Open files of this process, where the system tells. */
function openFiles(): number | undefined {
  return existsSync('/proc/self/fd') ? readdirSync('/proc/self/fd').length : undefined;
}
