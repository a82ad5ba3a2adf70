import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, expect, test } from 'vitest';

// A process of its own, so that nothing else is measured; it runs the built toolkit, which plain Node can load.
const built = 'dist/toolkit/logs/read/read-run-node.js';
if (!existsSync(built)) throw new Error('this runs the built toolkit: run `npm run build` first');

const MEGABYTE = 1e6;
const ROWS = 500_000;
let folder: string;
let path: string;
let sizeMegabytes: number;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'kelvin-per-watt-'));
  path = join(folder, 'long.csv');
  const tail = ',3812.5000,41.123456,23.12345,1512.125,1.023456';
  let text =
    'time_s,temperature_c,power_w,frequency_mhz,throughput_per_s,ambient_c,fan_speed_rpm,voltage_v\n';
  for (let i = 0; i < ROWS; i++)
    text += `${(i / 10).toFixed(1)},${60 + (i % 97) / 10}0000,95.123456${tail}\n`;
  writeFileSync(path, text);
  sizeMegabytes = statSync(path).size / MEGABYTE;
});
afterAll(() => rmSync(folder, { recursive: true }));

/** Growth of the peak resident set over the idle process, MB, and the number of samples. */
function read(options: object): { readonly grown: number; readonly count: number } {
  const script = `
    const { readRun } = await import(${JSON.stringify(pathToFileURL(resolve(built)).href)});
    const idle = process.resourceUsage().maxRSS;
    const run = await readRun(${JSON.stringify(path)}, ${JSON.stringify(options)});
    console.log(JSON.stringify({ grown: (process.resourceUsage().maxRSS - idle) * 1024 / ${MEGABYTE}, count: run.timeS.length }));`;
  return JSON.parse(
    execFileSync(process.execPath, ['--input-type=module', '-e', script]).toString(),
  ) as ReturnType<typeof read>;
}

test('a log takes the memory of its columns and no more: no copy of the text, no second copy of a column', () => {
  const { grown, count } = read({});
  expect(count).toBe(ROWS);
  // Eight columns of eight bytes and four bytes for the line; 30 MB for the pieces and what the engine takes for itself.
  const columnsMegabytes = (ROWS * 68) / MEGABYTE;
  expect(grown).toBeLessThan(1.06 * columnsMegabytes + 30);
});

test('in stretches of a second it takes next to none', () => {
  const { grown, count } = read({ blockS: 1 });
  expect(count).toBe(ROWS / 10);
  expect(grown).toBeLessThan(0.9 * sizeMegabytes);
  expect(grown).toBeLessThan(45);
});
