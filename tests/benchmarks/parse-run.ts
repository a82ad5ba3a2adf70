/**
 * A 50 MB log of 1,000,000 rows and 8 columns, read by `readRun` and `parseRun` and by the C reader of pandas:
 * time, and memory as the growth of the peak resident set over an idle process.
 *
 * Run with: npm run build && node dist/tests/benchmarks/parse-run.js
 */
import { execFileSync } from 'node:child_process';
import { once } from 'node:events';
import { createWriteStream, mkdtempSync, rmSync, statSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { fileURLToPath } from 'node:url';
import { parseRun } from '../../toolkit/logs/read/parse-run.js';
import { readRun } from '../../toolkit/logs/read/read-run-node.js';

const ROWS = 1_000_000;
const REPEATS = 5;

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
  readonly peakGrowthBytes: number;
}

const PANDAS = `
import json, resource, sys, time
import pandas
idle = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
start = time.perf_counter()
frame = pandas.read_csv(sys.argv[1], engine='c')
seconds = time.perf_counter() - start
assert frame.shape == (${ROWS}, 8)
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(json.dumps({'version': pandas.__version__, 'seconds': seconds, 'peakGrowthBytes': (peak - idle) * 1024}))
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
  const start = performance.now();
  const run = await WAYS[way](path);
  const seconds = (performance.now() - start) / 1000;
  if (run.timeS.length !== ROWS || run.voltageV?.length !== ROWS) throw new Error('rows were lost');
  const peakGrowthBytes = (process.resourceUsage().maxRSS - idleKiB) * 1024;
  console.log(JSON.stringify({ version: process.version, seconds, peakGrowthBytes } satisfies Measured));
}

const best = (measured: readonly Measured[]): number => Math.min(...measured.map(({ seconds }) => seconds));
const megabytes = (bytes: number): string => (bytes / 1e6).toFixed(0);

function inWords(name: string, measured: readonly Measured[], size: number): string {
  const growth = Math.max(...measured.map(({ peakGrowthBytes }) => peakGrowthBytes));
  return `${name}: ${best(measured).toFixed(3)} s best of ${measured.length}, ${megabytes(growth)} MB more memory = ${(growth / size).toFixed(2)} times the file`;
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
    const theirS = best(their);
    if (their.length === 0) console.log('pandas: skipped, no python3 with pandas found');
    else console.log(inWords(`pandas ${their[0].version}`, their, size));
    for (const [way, measured] of Object.entries(our)) {
      const ratio =
        their.length === 0 ? '' : `; time ratio to pandas ${(best(measured) / theirS).toFixed(2)}`;
      console.log(`${inWords(`${way}, Node ${measured[0].version}`, measured, size)}${ratio}`);
    }
    console.log('wanted: time ratio at most 1, memory at most 4 times the file');
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const [path, way] = process.argv.slice(2);
if (path === undefined) await compare();
else await measure(path, way as Way);
