/**
 * A log of 1 GB, read by `readRun`: time, memory as the growth of the peak resident set over an idle process, progress, and
 * how soon it stops when it is told to. Four ways: eight columns of numbers as they come, which are too many for every row
 * to be kept, the same with every row asked for, the same in stretches of a second, and a wide log of which eight columns
 * count.
 *
 * Run with: npm run build && node dist/tests/benchmarks/read-large-log.js [megabytes, default 1000]
 */
import { execFileSync } from 'node:child_process';
import { once } from 'node:events';
import { createWriteStream, mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { fileURLToPath } from 'node:url';
import { type ReadRunOptions, readRun } from '../../toolkit/logs/read/read-run-node.js';

const HEADERS =
  'time_s,temperature_c,power_w,frequency_mhz,throughput_per_s,ambient_c,fan_speed_rpm,voltage_v';
/** Columns of the wide log that are not read, such as counters of every core. */
const OTHER_COLUMNS = 48;

/** The ways the log is read. */
const WAYS: Readonly<Record<string, { readonly isWide: boolean; readonly options: ReadRunOptions }>> = {
  'eight columns': { isWide: false, options: {} },
  'every row of eight columns': { isWide: false, options: { blockS: 0 } },
  'one sample a second': { isWide: false, options: { blockS: 1 } },
  'eight columns among 56': { isWide: true, options: {} },
};

async function writeLog(path: string, bytes: number, isWide: boolean): Promise<void> {
  const file = createWriteStream(path);
  const extra = isWide ? Array.from({ length: OTHER_COLUMNS }, (_, i) => `,counter_${i}`).join('') : '';
  file.write(`${HEADERS}${extra}\n`);
  const others = isWide ? Array.from({ length: OTHER_COLUMNS }, (_, i) => `,${1000 + i}`).join('') : '';
  let state = 20_311;
  const random = (): number => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
  let row = 0;
  for (let written = 0; written < bytes; ) {
    let text = '';
    for (let k = 0; k < 20_000; k++, row++) {
      const temperatureC = 78 - 45 * Math.exp(-row / 900_000) + random();
      text +=
        `${(row * 0.1).toFixed(1)},${temperatureC.toFixed(6)},${(95 + random()).toFixed(6)},${(3800 + 50 * random()).toFixed(4)},` +
        `${(41 + random()).toFixed(6)},${(23 + random() / 4).toFixed(5)},${(1500 + 40 * random()).toFixed(3)},${(1.02 + random() / 50).toFixed(6)}${others}\n`;
    }
    written += text.length;
    if (!file.write(text)) await once(file, 'drain');
  }
  file.end();
  await once(file, 'finish');
}

/** What the process of its own does. */
async function measure(path: string, options: ReadRunOptions): Promise<void> {
  const idleKiB = process.resourceUsage().maxRSS;
  let told = 0;
  const start = performance.now();
  const run = await readRun(path, {
    ...options,
    onProgress: () => {
      told++;
    },
  });
  const seconds = (performance.now() - start) / 1000;
  const megabytes = ((process.resourceUsage().maxRSS - idleKiB) * 1024) / 1e6;
  const ending = new AbortController();
  const began = performance.now();
  let abortedAt = began;
  await readRun(path, {
    ...options,
    signal: ending.signal,
    onProgress: () => {
      if (ending.signal.aborted) return;
      abortedAt = performance.now();
      ending.abort();
    },
  }).catch(() => undefined);
  const stopMs = performance.now() - abortedAt;
  console.log(
    `${run.timeS.length} samples in ${seconds.toFixed(1)} s, ${megabytes.toFixed(0)} MB more memory, told ${told} times how far it is, stopped after ${stopMs.toFixed(0)} ms`,
  );
}

async function compare(megabytes: number): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'kelvin-per-watt-'));
  try {
    for (const isWide of [false, true]) {
      const path = join(folder, 'large.csv');
      await writeLog(path, megabytes * 1e6, isWide);
      console.log(
        `log: ${(statSync(path).size / 1e6).toFixed(0)} MB${isWide ? ', 56 columns' : ', 8 columns'}`,
      );
      for (const [way] of Object.entries(WAYS).filter(([, one]) => one.isWide === isWide)) {
        const answer = execFileSync(process.execPath, [fileURLToPath(import.meta.url), path, way]).toString();
        console.log(`${way}: ${answer.trim()}`);
      }
      rmSync(path);
    }
    console.log('wanted: 600 MB of memory at most, unless every row is asked for');
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const [first, way] = process.argv.slice(2);
if (way === undefined) await compare(Number(first ?? 1000));
else await measure(first, WAYS[way].options);
