/**
 * A 50 MB log of 1,000,000 rows and 8 columns, read by `readRun` and `parseRun` and by the C reader of pandas: time by the
 * clock, processor time of all threads, and memory as the growth of the peak resident set over an idle process. Either
 * reads on one thread; Node compiles, and reads the next piece of the file, on others meanwhile.
 *
 * Run with: npm run build && node dist/tests/benchmarks/parse-run.js
 */
import { execFileSync } from 'node:child_process';
import { once } from 'node:events';
import { createWriteStream, mkdtempSync, rmSync, statSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseRun } from '../../toolkit/logs/read/parse-run.js';
import { readRun } from '../../toolkit/logs/read/read-run-node.js';
import { median, timeOf } from './time-of.js';

const ROWS = 1_000_000;
const REPEATS = 9;

/** Small generator with a stated seed, so that every run of the benchmark reads the same file. */
function seeded(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

async function writeLog(path: string): Promise<void> {
  const random = seeded(20_311);
  const file = createWriteStream(path);
  file.write(
    'time_s,temperature_c,power_w,frequency_mhz,throughput_per_s,ambient_c,fan_speed_rpm,voltage_v\n',
  );
  let lines: string[] = [];
  for (let row = 0; row < ROWS; row++) {
    const temperatureC = 78 - 45 * Math.exp(-row / 90_000) + random();
    lines.push(
      `${(row * 0.1).toFixed(1)},${temperatureC.toFixed(3)},${(95 + random()).toFixed(3)},${(3800 + 50 * random()).toFixed(1)},` +
        `${(41 + random()).toFixed(2)},${(23 + random() / 4).toFixed(2)},${Math.round(1500 + 40 * random())},${(1.02 + random() / 50).toFixed(4)}`,
    );
    if (lines.length === 10_000) {
      if (!file.write(`${lines.join('\n')}\n`)) await once(file, 'drain');
      lines = [];
    }
  }
  file.end();
  await once(file, 'finish');
}

/** What one reader answers from a process of its own. */
interface Measured {
  readonly version: string;
  readonly seconds: number;
  readonly processorSeconds: number;
  readonly peakGrowthBytes: number;
}

const PANDAS = `
import json, resource, sys, time
import pandas
idle = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
start, busy = time.perf_counter(), time.process_time()
frame = pandas.read_csv(sys.argv[1], engine='c')
seconds, processor = time.perf_counter() - start, time.process_time() - busy
assert frame.shape == (${ROWS}, 8)
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(json.dumps({'version': pandas.__version__, 'seconds': seconds, 'processorSeconds': processor,
  'peakGrowthBytes': (peak - idle) * 1024}))
`;

function pandas(path: string): Measured | undefined {
  for (const python of ['/usr/bin/python3', 'python3']) {
    try {
      return JSON.parse(
        execFileSync(python, ['-c', PANDAS, path], {
          stdio: ['ignore', 'pipe', 'ignore'],
        }).toString(),
      ) as Measured;
    } catch {
      // Not this one: try the next.
    }
  }
  return undefined;
}

/** Ways to a run: piece by piece from the file, from its bytes in memory, from its text in memory. */
const WAYS = {
  readRun: (path: string) => readRun(path),
  'parseRun of bytes': async (path: string) => parseRun(await readFile(path)),
  'parseRun of text': async (path: string) => parseRun(await readFile(path, 'utf8')),
} as const;
type Way = keyof typeof WAYS;

function ours(path: string, way: Way): Measured {
  const own = fileURLToPath(import.meta.url);
  return JSON.parse(execFileSync(process.execPath, [own, path, way]).toString()) as Measured;
}

/** What the process of its own does: reads the file once and prints what it took, reading from disk included. */
async function measure(path: string, way: Way): Promise<void> {
  const idleKiB = process.resourceUsage().maxRSS;
  const { result: run, wallMs, processorMs } = await timeOf(() => WAYS[way](path));
  if (run.timeS.length !== ROWS || run.voltageV?.length !== ROWS) throw new Error('rows were lost');
  const measured: Measured = {
    version: process.version,
    seconds: wallMs / 1000,
    processorSeconds: processorMs / 1000,
    peakGrowthBytes: (process.resourceUsage().maxRSS - idleKiB) * 1024,
  };
  console.log(JSON.stringify(measured));
}

const middle = (measured: readonly Measured[], what: 'seconds' | 'processorSeconds'): number =>
  median(measured.map((one) => one[what]));
const megabytes = (bytes: number): string => (bytes / 1e6).toFixed(0);

function inWords(name: string, measured: readonly Measured[], size: number): string {
  const growth = Math.max(...measured.map(({ peakGrowthBytes }) => peakGrowthBytes));
  return `${name}: ${middle(measured, 'seconds').toFixed(3)} s, ${middle(measured, 'processorSeconds').toFixed(3)} s of processor time (medians of ${measured.length}); ${megabytes(growth)} MB more memory = ${(growth / size).toFixed(2)} times the file`;
}

/** Medians of the ratios within each round, and the largest. */
function ratiosInWords(our: readonly Measured[], their: readonly Measured[]): string {
  const of = (what: 'seconds' | 'processorSeconds'): string => {
    const ratios = our.map((one, round) => one[what] / their[round][what]);
    return `${median(ratios).toFixed(2)} (at most ${Math.max(...ratios).toFixed(2)})`;
  };
  return `of pandas: ${of('seconds')} by the clock, ${of('processorSeconds')} in processor time`;
}

async function compare(): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'kelvin-per-watt-'));
  const path = join(folder, 'long-run.csv');
  try {
    await writeLog(path);
    const size = statSync(path).size;
    console.log(`log: ${ROWS} rows, 8 columns, ${megabytes(size)} MB`);

    // Fresh processes, interleaved, so that all see the machine in the same state.
    const our: Record<Way, Measured[]> = { readRun: [], 'parseRun of bytes': [], 'parseRun of text': [] };
    const their: Measured[] = [];
    for (let k = 0; k < REPEATS; k++) {
      for (const way of Object.keys(WAYS) as Way[]) our[way].push(ours(path, way));
      const measured = pandas(path);
      if (measured !== undefined) their.push(measured);
    }
    if (their.length < REPEATS) console.log('pandas: skipped, no python3 with pandas found');
    else console.log(inWords(`pandas ${their[0].version}`, their, size));
    for (const [way, measured] of Object.entries(our)) {
      console.log(inWords(`${way}, Node ${measured[0].version}`, measured, size));
      if (their.length === REPEATS) console.log(`  ${ratiosInWords(measured, their)}`);
    }
    console.log('wanted: time ratio at most 1, memory at most 4 times the file');
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const [path, way] = process.argv.slice(2);
if (path === undefined) await compare();
else await measure(path, way as Way);
