import { execFile } from 'node:child_process';
import { appendFile, mkdir, mkdtemp, rename, rm, truncate, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { LogFormatError } from '../../../../toolkit/logs/log-format-error.js';
import { type FollowRunOptions, followRun } from '../../../../toolkit/logs/read/follow-run-node.js';
import type { Run } from '../../../../toolkit/runs/run.js';

let folder: string;
let path: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'kelvin-per-watt-'));
  path = join(folder, 'drawer.csv');
});
afterEach(() => rm(folder, { recursive: true }));

const HEADER = 'time_s,temperature_c,power_w\n';
const rows = (from: number, to: number): string =>
  Array.from({ length: to - from }, (_, i) => `${from + i},${40 + ((from + i) % 9)}.5,95.25\n`).join('');
/** Looks often and gives up soon, so that the tests are quick. */
const QUICK: FollowRunOptions = { everyS: 0.01, endAfterS: 0.3 };

/** Follows, and after each run does the next thing to the file; returns the lengths that were seen and the last run. */
async function followed(
  steps: readonly (() => Promise<unknown>)[],
  options: FollowRunOptions = QUICK,
): Promise<{ readonly lengths: readonly number[]; readonly last: Run }> {
  const lengths: number[] = [];
  let last: Run | undefined;
  const left = [...steps];
  for await (const run of followRun(path, options)) {
    lengths.push(run.timeS.length);
    last = run;
    await left.shift()?.();
  }
  expect(left).toEqual([]);
  return { lengths, last: last! };
}

describe('followRun', () => {
  it.skipIf(process.platform === 'win32')('waits for no pipe, at the start or later', async () => {
    const pipe = join(folder, 'pipe.csv');
    await promisify(execFile)('mkfifo', [pipe]);
    await expect(followRun(pipe, QUICK).next()).rejects.toThrow(
      'pipe.csv: this is a pipe or a device, not a log',
    );
    await writeFile(path, HEADER + rows(0, 3));
    await expect(followed([() => rename(pipe, path)])).rejects.toThrow(
      'drawer.csv: this is a pipe or a device, not a log',
    );
  });

  it('says so where a folder is put in the place of the log', async () => {
    await writeFile(path, HEADER + rows(0, 3));
    await mkdir(join(folder, 'inner'));
    await expect(followed([() => rm(path).then(() => rename(join(folder, 'inner'), path))])).rejects.toThrow(
      'drawer.csv: this is a directory, not a log',
    );
  });

  it('gives the run so far whenever lines have come, and ends when none come any more', async () => {
    await writeFile(path, HEADER + rows(0, 3));
    await writeFile(join(folder, 'drawer.conditions.json'), '{ "cooler": "flat 41 mm" }');
    const { lengths, last } = await followed([
      () => appendFile(path, rows(3, 5)),
      () => appendFile(path, rows(5, 9)),
    ]);
    expect(lengths).toEqual([3, 5, 9]);
    expect(last.label).toBe('drawer');
    expect(last.conditions.cooler).toBe('flat 41 mm');
    expect(Array.from(last.timeS)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8]);
  });

  it('waits for the end of a half-written line', async () => {
    await writeFile(path, `${HEADER}${rows(0, 3)}3,4`);
    const { lengths, last } = await followed([
      () => appendFile(path, '7.5,9'),
      () => appendFile(path, '5.25\n4,4'),
    ]);
    // Looked at again, but nothing whole had come.
    expect(lengths).toEqual([3, 3, 4]);
    expect(last.temperatureC[3]).toBe(47.5);
    expect(last.findings.some(({ code }) => code.startsWith('row-'))).toBe(false);
  });

  it('follows a log longer than what is looked at first', async () => {
    await writeFile(path, HEADER + rows(0, 8000));
    const { lengths, last } = await followed([() => appendFile(path, rows(8000, 8002))]);
    expect(lengths).toEqual([8000, 8002]);
    expect(last.timeS.at(-1)).toBe(8001);
    expect(last.powerW.every((power) => power === 95.25)).toBe(true);
  });

  it.each([3, 8000])(
    'survives a file that is replaced, with %i rows before: the clock runs on',
    async (count) => {
      await writeFile(path, HEADER + rows(0, count));
      const rotate = async () => {
        await appendFile(path, rows(count, count + 2));
        await rename(path, `${path}.1`);
        await writeFile(path, HEADER + rows(count + 2, count + 4));
      };
      const { lengths, last } = await followed([rotate]);
      expect(lengths).toEqual([count, count + 4]);
      expect(last.findings.find(({ code }) => code === 'row-repeated-header')?.count).toBe(1);
    },
  );

  it.each([3, 8000])(
    'survives a file that is cut short, with %i rows before: the clock starts anew',
    async (count) => {
      await writeFile(path, HEADER + rows(0, count));
      const { lengths, last } = await followed([
        async () => {
          await truncate(path, 0);
          await appendFile(path, HEADER + rows(0, 2));
        },
        () => appendFile(path, rows(2, 5)),
      ]);
      expect(lengths).toEqual([count, 2, 5]);
      expect(Array.from(last.timeS)).toEqual([0, 1, 2, 3, 4]);
      expect(last.findings[0]).toMatchObject({ code: 'log-restarted', count: 1 });
    },
  );

  it('leaves out what was half there when the file was replaced', async () => {
    await writeFile(path, `${HEADER}${rows(0, 8000)}8000,40.5,9`);
    const { last } = await followed([
      async () => {
        await rename(path, `${path}.1`);
        await writeFile(path, rows(8001, 8003));
      },
    ]);
    expect(last.timeS).toHaveLength(8002);
    expect(last.findings.find(({ code }) => code === 'row-half-written')?.lines).toEqual([8002]);
  });

  it('waits for a file that is not there yet', async () => {
    setTimeout(() => void writeFile(path, HEADER + rows(0, 4)), 60);
    expect((await followed([])).lengths).toEqual([4]);
  });

  it('says why nothing could be read', async () => {
    const drained = async (options = QUICK) => {
      for await (const _ of followRun(path, options));
    };
    await expect(drained()).rejects.toThrow(`${path}: there is no such file`);
    await writeFile(path, `${HEADER}0,40,95\n`);
    await expect(drained()).rejects.toThrow('the log has one sample only');
    await writeFile(path, 'time_s,volts\n0,1\n1,1\n');
    await expect(drained()).rejects.toThrow(LogFormatError);
    await expect(drained({ everyS: 0 })).rejects.toThrow(
      'followRun: `options.everyS` must be a finite number above 0',
    );
    await expect(drained({ every: 1 } as never)).rejects.toThrow('did you mean everyS?');
  });

  it('stops when the loop is left, or it is told to', async () => {
    await writeFile(path, HEADER + rows(0, 4));
    for await (const run of followRun(path)) {
      expect(run.timeS).toHaveLength(4);
      break;
    }
    const ending = new AbortController();
    let count = 0;
    for await (const _ of followRun(path, { signal: ending.signal })) {
      count++;
      ending.abort();
    }
    expect(count).toBe(1);
  });
});
