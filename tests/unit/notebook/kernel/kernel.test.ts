import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Kernel } from '../../../../toolkit/notebook/kernel/kernel.js';

// The kernel is a process of the built toolkit: its source cannot run in plain Node.
const built = pathToFileURL(resolve('dist/toolkit/notebook/kernel/kernel.js')).href;
const { startKernel } = (await import(
  built
)) as typeof import('../../../../toolkit/notebook/kernel/kernel.js');

let kernel: Kernel;
const run = (code: string, timeoutS = 20): ReturnType<Kernel['execute']> =>
  kernel.execute(code, { timeoutS });

beforeAll(async () => {
  kernel = await startKernel({ workingDirectory: resolve('notebooks') });
});
// Undefined where the start failed: that failure is the one to read.
afterAll(() => (kernel as Kernel | undefined)?.stop());

describe('a kernel process', () => {
  it('loses no line of 30,000 printed in one tick', async () => {
    const { status, outputs } = await run(
      'for (let i = 0; i < 30_000; i++) console.log("line " + i); "after"',
    );
    expect(status).toBe('ok');
    expect(outputs).toHaveLength(2);
    const [printed] = outputs;
    const expected = Array.from({ length: 30_000 }, (_, i) => `line ${i}\n`).join('');
    expect(printed).toEqual({ output_type: 'stream', name: 'stdout', text: expected });
    expect(outputs[1]).toMatchObject({ output_type: 'execute_result', data: { 'text/plain': 'after' } });
  });

  it('shows what show() is given, in order with printed text', async () => {
    const { outputs } = await run('console.log("a"); kpw.show("b"); console.error("c");');
    expect(outputs).toEqual([
      { output_type: 'stream', name: 'stdout', text: 'a\n' },
      { output_type: 'display_data', data: { 'text/plain': 'b' }, metadata: {} },
      { output_type: 'stream', name: 'stderr', text: 'c\n' },
    ]);
  });

  it('passes on what programs started by a cell write', async () => {
    const { outputs } = await run(
      'require("node:child_process").execFileSync(process.execPath, ["-e", "console.log(1 + 1)"], { stdio: "inherit" });\nawait new Promise((r) => setTimeout(r, 100));',
    );
    expect(outputs).toContainEqual({ output_type: 'stream', name: 'stdout', text: '2\n' });
  });

  it('counts a rejection nobody awaits against its cell', async () => {
    const { status, outputs } = await run(
      'const forgotten = 1;\nPromise.reject(new Error("nobody waits"));\nforgotten;',
    );
    expect(status).toBe('error');
    expect(outputs.at(-1)).toMatchObject({ output_type: 'error', evalue: 'nobody waits' });
    expect((await run('forgotten')).status).toBe('ok');
  });

  it('interrupts a loop that never yields and goes on', async () => {
    const endless = run('while (true) {}');
    setTimeout(() => kernel.interrupt(), 200);
    expect((await endless).status).toBe('error');
    expect((await run('1')).status).toBe('ok');
  });

  it('says that it died and what it said last', async () => {
    await expect(
      run('process.stderr.write; require("node:fs").writeSync(2, "out of breath\\n"); process.exit(7);'),
    ).rejects.toThrow(/the kernel ended with exit code 7; it said: out of breath/);
    await expect(run('1')).rejects.toThrow(/the kernel ended with exit code 7/);
  });

  it('ends when a cell takes longer than it may', async () => {
    kernel = await startKernel({ workingDirectory: resolve('notebooks') });
    await expect(run('await new Promise(() => {});', 0.3)).rejects.toThrow(
      /did not run cell \d+ within 0.3 s/,
    );
    await kernel.stop();
  });
});
