import { existsSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { gzipSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { conditionsPathOf, logFilesOf, logName } from '../../../../toolkit/logs/read/log-files-node.js';
import { isLogName } from '../../../../toolkit/logs/read/log-name.js';
import { readRun } from '../../../../toolkit/logs/read/read-run-node.js';
import { readRuns } from '../../../../toolkit/logs/read/read-runs-node.js';

// Worker threads run the built toolkit, which plain Node can load.
const built = 'dist/toolkit/logs/read/read-runs-node.js';
if (!existsSync(built)) throw new Error('worker threads run the built toolkit: run `npm run build` first');
const { readRuns: readRunsBuilt } = (await import(
  pathToFileURL(resolve(built)).href
)) as typeof import('../../../../toolkit/logs/read/read-runs-node.js');

let folder: string;
const small = (from: number): string =>
  `time_s,temperature_c,power_w\n${[0, 1, 2].map((i) => `${i},${from + i},65`).join('\n')}\n`;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'kelvin-per-watt-'));
  mkdirSync(join(folder, 'flat', 'older'), { recursive: true });
  writeFileSync(join(folder, 'a10.csv'), small(40));
  writeFileSync(join(folder, 'a2.csv'), small(50));
  writeFileSync(join(folder, 'a2.conditions.json'), '{ "cooler": "flat 41 mm" }');
  writeFileSync(join(folder, 'b.tsv'), small(60).replaceAll(',', '\t'));
  writeFileSync(join(folder, 'packed.csv.gz'), gzipSync(small(70)));
  writeFileSync(join(folder, 'packed.conditions.json'), '{ "cooler": "tower 88 mm" }');
  writeFileSync(join(folder, 'README.txt'), 'about these logs\n');
  writeFileSync(join(folder, 'flat', 'c.csv'), small(80));
  writeFileSync(join(folder, 'flat', 'older', 'd.csv'), small(90));
});
afterAll(() => rmSync(folder, { recursive: true }));

const firsts = async (...args: Parameters<typeof readRuns>): Promise<readonly string[]> =>
  (await readRuns(...args)).map(({ label, temperatureC }) => `${label} ${temperatureC[0]}`);

describe('readRuns of a text', () => {
  it('reads all logs of a folder in the order of their names, packed ones too', async () => {
    expect(await firsts(folder)).toEqual(['a2 50', 'a10 40', 'b 60', 'packed 70']);
  });

  it('reads what a pattern fits', async () => {
    expect(await firsts(join(folder, 'a*.csv'))).toEqual(['a2 50', 'a10 40']);
    expect(await firsts(join(folder, 'a?.csv'))).toEqual(['a2 50']);
    expect(await firsts(join(folder, '**', '[cd].csv').replace('[cd]', '?'))).toEqual(['c 80', 'd 90']);
    expect(await firsts(join(folder, 'fl*', '**', '*.csv'))).toEqual(['c 80', 'd 90']);
    expect(await firsts(join(folder, 'b.tsv'))).toEqual(['b 60']);
  });

  it('says where nothing fits', async () => {
    await expect(readRuns(join(folder, 'x*.csv'))).rejects.toThrow('x*.csv: no file fits this pattern');
    mkdirSync(join(folder, 'empty'));
    await expect(readRuns(join(folder, 'empty'))).rejects.toThrow('there is no log in this folder');
    await expect(readRuns('')).rejects.toThrow(
      '`paths` must be a list of at least one path, a folder or a pattern',
    );
    await expect(readRuns(folder, { label: 'x' })).rejects.toThrow('left out for more than one file');
    await expect(readRuns(folder, { workerCount: 0 })).rejects.toThrow(
      '`options.workerCount` must be a whole number of at least 1',
    );
  });

  it('reads the logs of several loggers, each by its own headers where a chosen one is not in it', async () => {
    const evening = join(folder, 'evening.txt');
    writeFileSync(evening, 'Uhr;Die;Leistung (W)\n20:00:00;40,5;65\n20:00:01;41,5;65\n');
    const paths = [evening, join(folder, 'a2.csv')];
    const columns = { time: 'Uhr', temperature: 'Die', power: 'Leistung (W)' };
    const [read, own] = await readRuns(paths, { columns, units: { temperature: '°C' } });
    expect(Array.from(read.temperatureC)).toEqual([40.5, 41.5]);
    expect(read.findings.map(({ code }) => code)).not.toContain('own-headers');
    expect(Array.from(own.temperatureC)).toEqual([50, 51, 52]);
    expect(own.conditions.cooler).toBe('flat 41 mm');
    expect(own.findings.find(({ code }) => code === 'own-headers')?.message).toBe(
      'The headers chosen for time, temperature, power are in other logs, not in this one, which was read by its own headers.',
    );
    // A header that no log has is a slip.
    await expect(readRuns(paths, { columns: { ...columns, frequency: 'Takt' } })).rejects.toThrow(
      /evening.*no column "Takt"[\s\S]*a2.*no column "Takt"/,
    );
    rmSync(evening);
  });

  it('finds the conditions of a packed log', async () => {
    expect((await readRun(join(folder, 'packed.csv.gz'))).conditions.cooler).toBe('tower 88 mm');
    expect(conditionsPathOf(join('x', 'run.csv.gz'))).toBe(join('x', 'run.conditions.json'));
    expect(logName('logs/run.1.csv.gz')).toBe('run.1');
    expect(['a.CSV', 'a.jsonl.gz', 'a.conditions.json', 'readme.txt', 'a.pdf'].map(isLogName)).toEqual([
      true,
      true,
      false,
      false,
      false,
    ]);
    expect(await logFilesOf(join(folder, 'b.tsv'))).toEqual([join(folder, 'b.tsv')]);
  });

  it('lets a log hold several runs', async () => {
    const course = (from: number): string[] =>
      Array.from({ length: 300 }, (_, i) => `${from + i},${i < 200 ? 35 : 70},${i < 200 ? 12 : 95}`);
    const path = join(folder, 'flat', 'several.csv');
    writeFileSync(path, `time_s,temperature_c,power_w\n${[...course(0), ...course(300)].join('\n')}\n`);
    expect((await readRuns([path], { idleS: 120 })).map(({ label }) => label)).toEqual([
      'several 1',
      'several 2',
    ]);
    expect(await readRuns([path])).toHaveLength(1);
    rmSync(path);
  });

  it('tells how far it is, over all logs', async () => {
    const told: number[] = [];
    await readRuns(folder, { onProgress: (done) => told.push(done) });
    expect(told.at(-1)).toBe(1);
    expect(told.every((done, i) => i === 0 || done >= told[i - 1])).toBe(true);
  });
});

describe('readRuns on worker threads', () => {
  let large: string;
  beforeAll(() => {
    large = join(folder, 'large');
    mkdirSync(large);
    for (const [k, name] of ['x', 'y', 'z'].entries()) {
      let text = 'time_s,temperature_c,power_w,note\n';
      const note = 'n'.repeat(80);
      for (let i = 0; i < 130_000; i++) text += `${i},${40 + ((i + k) % 9)}.5,95.25,${note}\n`;
      writeFileSync(join(large, `${name}.csv`), text);
    }
  });

  it('gives the runs that one thread gives, in the order of the paths', async () => {
    const told: number[] = [];
    const options = { conditions: { cooler: 'flat 41 mm' } };
    const parallel = await readRunsBuilt(large, {
      ...options,
      workerCount: 2,
      onProgress: (done) => told.push(done),
    });
    expect(parallel).toEqual(await readRuns(large, { ...options, workerCount: 1 }));
    expect(parallel.map(({ label }) => label)).toEqual(['x', 'y', 'z']);
    // One thread would say nothing between the files but for its own pieces; here both are heard.
    expect(told.length).toBeGreaterThan(10);
    expect(told.at(-1)).toBe(1);
  });

  it('reports every file that fails, and stops when it is told to', async () => {
    writeFileSync(join(large, 'w.csv'), 'Dear diary\n');
    await expect(readRunsBuilt(large, { workerCount: 2 })).rejects.toThrow(
      /w\.csv: line 1: the first line has one cell only/,
    );
    rmSync(join(large, 'w.csv'));
    const ending = new AbortController();
    const reason = new Error('enough');
    const reading = readRunsBuilt(large, {
      workerCount: 2,
      signal: ending.signal,
      onProgress: () => ending.abort(reason),
    });
    await expect(reading).rejects.toBe(reason);
  });
});
