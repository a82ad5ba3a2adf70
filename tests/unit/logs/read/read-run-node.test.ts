import { execFile } from 'node:child_process';
import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { LogFormatError } from '../../../../toolkit/logs/log-format-error.js';
import { conditionsPathOf } from '../../../../toolkit/logs/read/log-files-node.js';
import { readRun } from '../../../../toolkit/logs/read/read-run-node.js';
import { readRuns } from '../../../../toolkit/logs/read/read-runs-node.js';

const LOG = 'time_s,temperature_c,power_w\n0,30,65\n1,31,65\n2,32,66\n';
let folder = '';
const write = async (name: string, content: string | Uint8Array): Promise<string> => {
  await writeFile(join(folder, name), content);
  return join(folder, name);
};

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'kelvin-per-watt-'));
});
afterAll(async () => {
  await rm(folder, { recursive: true });
});

describe('readRun', () => {
  it("labels the run by the file's name", async () => {
    const path = await write('flat 41 mm, 95 W.csv', LOG);
    expect((await readRun(path)).label).toBe('flat 41 mm, 95 W');
    expect((await readRun(path, { label: 'evening' })).label).toBe('evening');
  });

  it('reads the conditions beside the log; those in code win, entry by entry', async () => {
    const path = await write('with.csv', LOG);
    await write('with.conditions.json', '{ "ambientC": 23.5, "cooler": "flat 41 mm" }');
    expect((await readRun(path)).conditions).toEqual({ ambientC: 23.5, cooler: 'flat 41 mm' });
    expect((await readRun(path, { conditions: { ambientC: 25 } })).conditions).toEqual({
      ambientC: 25,
      cooler: 'flat 41 mm',
    });
    expect((await readRun(path, { conditionsFile: false })).conditions).toEqual({});
    const other = await write('other.json', '{ "ambientC": 19 }');
    expect((await readRun(path, { conditionsFile: other })).conditions).toEqual({ ambientC: 19 });
  });

  it('names the conditions file that is wrong, or was asked for and is not there', async () => {
    const path = await write('wrong.csv', LOG);
    const file = await write('wrong.conditions.json', '{ "ambientC": 250 }');
    await expect(readRun(path)).rejects.toThrow(`${file}: /ambientC must be a number from -40 to 70`);
    await expect(readRun(path, { conditionsFile: join(folder, 'none.json') })).rejects.toThrow(
      `${join(folder, 'none.json')}: there is no such file; check the path of the conditions file`,
    );
  });

  it('reads a file of several pieces', async () => {
    const rows = Array.from({ length: 120_000 }, (_, i) => `${i},30.${i % 10},65.${i % 7}`);
    const path = await write('long.csv', `time_s,temperature_c,power_w\n${rows.join('\n')}\n`);
    const run = await readRun(path);
    expect(run.timeS).toHaveLength(120_000);
    expect(run.powerW[119_999]).toBe(65 + (119_999 % 7) / 10);
  });

  it.each([
    ['an empty file', 'empty.csv', '', 'the log is empty; give delimited text'],
    [
      'a header only',
      'header.csv',
      'time_s,temperature_c,power_w\n',
      'the log has a header but no rows; a run needs at least two rows',
    ],
    [
      'one sample',
      'one.csv',
      'time_s,temperature_c,power_w\n0,30,65\n',
      'line 2: the log has one sample only; a run needs at least two rows',
    ],
    [
      'a binary file',
      'image.csv',
      Uint8Array.from({ length: 500 }, (_, i) => (i * 37) % 256),
      'the file holds bytes that are no text; give the log as plain delimited text',
    ],
    [
      'a compressed file',
      'log.csv.gz',
      Uint8Array.of(0x1f, 0x8b, 8, 0, 0),
      'the packed log ends too early or is damaged',
    ],
  ])('refuses %s and names it', async (_, name, content, message) => {
    const path = await write(name, content);
    await expect(readRun(path)).rejects.toThrow(`${path}: ${message}`);
    await expect(readRun(path)).rejects.toBeInstanceOf(LogFormatError);
  });

  it.skipIf(process.platform === 'win32')('waits for no pipe and reads no device', async () => {
    const pipe = join(folder, 'pipe.csv');
    await promisify(execFile)('mkfifo', [pipe]);
    for (const path of [pipe, '/dev/null'])
      await expect(readRun(path)).rejects.toThrow(
        `${path}: this is a pipe or a device, not a log; give the path of a file; read what comes through a pipe with parseRunStream`,
      );
    const path = await write('beside.csv', LOG);
    await expect(readRun(path, { conditionsFile: pipe })).rejects.toThrow(
      `${pipe}: this is a pipe or a device, not a conditions file`,
    );
  });

  it.skipIf(process.platform !== 'linux')('says which log the disk could not read', async () => {
    // The kernel's documentation of /proc: a process's memory at address 0 cannot be read.
    await expect(readRun('/proc/self/mem')).rejects.toThrow(
      /^\/proc\/self\/mem: the log cannot be read \(EIO/,
    );
  });

  it('refuses a directory and a file that is not there', async () => {
    await mkdir(join(folder, 'logs.csv'));
    await expect(readRun(join(folder, 'logs.csv'))).rejects.toThrow(
      `${join(folder, 'logs.csv')}: this is a directory, not a log; give the path of one file, or of all its files`,
    );
    await expect(readRun(join(folder, 'none.csv'))).rejects.toThrow(
      `${join(folder, 'none.csv')}: there is no such file; check the path of the log; it is looked for from ${process.cwd()}`,
    );
    const file = await write('file', LOG);
    await expect(readRun(join(file, 'below.csv'))).rejects.toThrow('there is no such file');
    await expect(readRun('')).rejects.toThrow('readRun: `path` must be the path of a log (received "")');
  });
});

describe('readRuns', () => {
  it('keeps the order of the paths', async () => {
    const paths = [await write('b.csv', LOG), await write('a.csv', LOG)];
    expect((await readRuns(paths)).map(({ label }) => label)).toEqual(['b', 'a']);
  });

  it('reports every file that fails, each by its name', async () => {
    const good = await write('good.csv', LOG);
    const empty = await write('nothing.csv', '');
    const failure = await readRuns([join(folder, 'gone.csv'), good, empty]).catch((error: unknown) => error);
    expect(failure).toBeInstanceOf(LogFormatError);
    expect((failure as LogFormatError).issues.map(({ source, code }) => [source, code])).toEqual([
      [join(folder, 'gone.csv'), 'no-file'],
      [empty, 'empty'],
    ]);
    expect((failure as LogFormatError).message).toMatch(
      /gone\.csv: there is no such file[\s\S]*\n.*nothing\.csv: the log is empty/,
    );
  });

  it('refuses a log that is there twice, however its path is written', async () => {
    const path = await write('once.csv', LOG);
    const same = `${folder}/./once.csv`;
    await expect(readRuns([path, join(folder, 'a.csv'), path])).rejects.toThrow(
      `readRuns: \`paths[2]\` must be another log than paths[0] (received "${path}"); give each log once`,
    );
    await expect(readRuns([path, same])).rejects.toThrow('`paths[1]` must be another log than paths[0]');
  });

  it('refuses no path at all, and one label for several files', async () => {
    await expect(readRuns([])).rejects.toThrow('readRuns: `paths` must be a list of at least one path');
    await expect(readRuns(['a.csv', 'b.csv'], { label: 'x' })).rejects.toThrow(
      'readRuns: `options.label` must be left out for more than one file',
    );
  });
});

describe('conditionsPathOf', () => {
  it('stands beside the log', () => {
    expect(conditionsPathOf(join('logs', 'run.1.csv'))).toBe(join('logs', 'run.1.conditions.json'));
  });
});
