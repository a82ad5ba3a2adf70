import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { KernelConnection, KernelDeath } from '../../../../toolkit/notebook/kernel/kernel-connection.js';
import { createMessageMaker } from '../../../../toolkit/notebook/kernel/messages/message-maker.js';

// The kernel is a process of the built toolkit: its source cannot run in plain Node.
const built = pathToFileURL(resolve('dist/toolkit/notebook/kernel/start-kernel-connection.js')).href;
const { startKernelConnection } = (await import(
  built
)) as typeof import('../../../../toolkit/notebook/kernel/start-kernel-connection.js');

const maker = createMessageMaker({ username: 'test' });
const workingDirectory = mkdtempSync(join(tmpdir(), 'kelvin-per-watt-broken-'));
let kernel: KernelConnection;

/** What came of a cell: its value, what it printed, how it failed, or how the kernel ended meanwhile. */
function run(code: string): Promise<string> {
  const request = maker.make('shell', 'execute_request', { code });
  return new Promise((done) => {
    let said = '';
    const ends = [
      kernel.onMessage(({ header, parent_header, content }) => {
        if (parent_header.msg_id !== request.header.msg_id) return;
        if (header.msg_type === 'execute_result')
          said += (content['data'] as Record<string, unknown>)['text/plain'];
        if (header.msg_type === 'stream') said += content['text'];
        if (header.msg_type === 'error') said += content['evalue'];
        if (content['execution_state'] === 'idle') finish(said);
      }),
      kernel.onDeath(({ message }) => finish(message)),
    ];
    const finish = (what: string): void => {
      for (const end of ends) end();
      done(what);
    };
    kernel.send(request);
  });
}

beforeAll(async () => {
  kernel = startKernelConnection({ workingDirectory, pulseS: 0.5, stopTimeoutS: 1 });
  await kernel.ready();
});
afterAll(async () => {
  await kernel.shutdown();
  rmSync(workingDirectory, { recursive: true, force: true });
});

describe('a kernel goes on', () => {
  it.each([
    ['JSON is replaced', 'JSON.parse = () => ({}); JSON.stringify = () => ""; void 0', ''],
    ['the way to a parent process is looked for', 'typeof process.send', 'undefined'],
    [
      'standard output is closed',
      'process.stdout.destroy(); require("node:fs").closeSync(1); console.log("out")',
      'out\n',
    ],
    [
      'something else is written to its control pipe',
      'require("node:fs").writeSync(4, "no JSON\\n{}\\nnull\\n[1]\\n"); void 0',
      '',
    ],
    [
      'timers and clocks are gone',
      'globalThis.setTimeout = globalThis.performance = globalThis.Date = undefined; console.log("x")',
      'x\n',
    ],
  ])('where %s', async (_, code, said) => {
    expect(await run(code)).toBe(said);
    expect(await run('1 + 1')).toBe('2');
    // It still tells where a cell fails.
    expect(await run('\nnull!.x')).toMatch(/null/);
  });

  it('after failures in a timer and in a promise nobody awaited, which are told', async () => {
    await kernel.restart(); // the clocks come back
    expect(
      await run(
        'setTimeout(() => { throw new Error("late"); }, 5); await new Promise((r) => setTimeout(r, 50));',
      ),
    ).toBe('late');
    expect(await run('void Promise.reject(new Error("nobody"));')).toBe('nobody');
    expect(await run('1 + 1')).toBe('2');
  });

  it('when a loop that only awaits is interrupted', async () => {
    const endless = run('void (async () => { for (;;) await null; })();');
    await pause(1500); // longer than any patience: a kernel at work is left alone
    expect(kernel.state).toBe('ready');
    await kernel.interrupt();
    await endless;
    expect(await run('1 + 1')).toBe('2');
  });

  it('when a module is there that was not there before', async () => {
    const importing = 'import { answer } from "./helper";\nanswer';
    expect(await run(importing)).toMatch(/Cannot find module '.\/helper'/);
    writeFileSync(join(workingDirectory, 'helper.ts'), 'export const answer: number = 42;\n');
    expect(await run(importing)).toBe('42');
  });
});

describe('a kernel that can be reached no more is told, and a restart brings another', () => {
  const closed =
    /^the kernel (?:closed its connection: a cell has probably done that|ended with (?:exit code 0|signal SIGKILL))$/;
  const unreachable = /^the kernel could be reached no more: a cell has broken what it needs$/;
  const stopped = /^the kernel did not react any more$/;
  it.each([
    ['closes the channel of messages', 'require("node:fs").closeSync(3)', closed],
    ['closes the control pipe', 'require("node:fs").closeSync(4)', closed],
    ['removes the listeners of the process', 'process.removeAllListeners(); void 0', unreachable],
    ['writes to the channel of messages', 'require("node:fs").writeSync(3, "no message\\n")', unreachable],
    ['breaks what its requests wait in', 'Array.prototype.push = () => 0; void 0', unreachable],
    ['stops the whole process', 'process.kill(process.pid, "SIGSTOP")', stopped],
  ])('where a cell %s', async (_, code, reason) => {
    const death = new Promise<KernelDeath>((told) => kernel.onDeath(told));
    void run(code).then(() => run('1'));
    const { message } = await death;
    const { state } = kernel;
    await kernel.restart();
    expect(message).toMatch(reason);
    expect(state).toBe('dead');
    expect(await run('1 + 1')).toBe('2');
  });

  it('where a cell waits for another program, an interrupt says that only a restart ends it', async () => {
    void run(
      `require("node:child_process").execFileSync(process.execPath, ["-e", "setTimeout(() => {}, 60_000)"]);`,
    );
    await pause(300);
    await expect(kernel.interrupt()).rejects.toThrow(
      'the cell did not stop within 1 s: only a restart of the kernel ends it',
    );
    await kernel.restart();
    expect(await run('1 + 1')).toBe('2');
  });

  it('where a cell has broken the compiler, each cell says so', async () => {
    await run('JSON.stringify = () => { throw new Error("no"); };');
    expect(await run('1')).toBe(
      'the cell could not be compiled (no); if every cell fails so, an earlier one has changed what the compiler needs: restart the kernel',
    );
  });
});
