/**
 * `readRun` of a 50 MB log of 1,000,000 rows and 8 columns against the C reader of pandas on the same file:
 * time, and memory as the growth of the peak resident set over an idle process.
 *
 * Run with: npm run build && node dist/tests/benchmarks/parse-run.js
 */
import { execFileSync } from 'node:child_process';
import { createWriteStream, mkdtempSync, rmSync, statSync } from 'node:fs';
import { once } from 'node:events';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { performance } from 'node:perf_hooks';
import { fileURLToPath } from 'node:url';
import { readRun } from '../../toolkit/logs/read-run-node.js';

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

/** Answers of the two readers run in processes of their own: seconds per repeat, and bytes of memory. */
interface Measured {
  readonly version: string;
  readonly seconds: readonly number[];
  readonly peakGrowthBytes: number;
}

const PANDAS = `
import json, resource, sys, time
import pandas
path, repeats = sys.argv[1], int(sys.argv[2])
idle = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
seconds = []
for _ in range(repeats):
    start = time.perf_counter()
    frame = pandas.read_csv(path, engine='c')
    seconds.append(time.perf_counter() - start)
    assert frame.shape == (${ROWS}, 8)
    del frame
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(json.dumps({'version': pandas.__version__, 'seconds': seconds, 'peakGrowthBytes': (peak - idle) * 1024}))
`;

function pandas(path: string, repeats: number): Measured | undefined {
  for (const python of ['/usr/bin/python3', 'python3']) {
    try {
      return JSON.parse(
        execFileSync(python, ['-c', PANDAS, path, String(repeats)], {
          stdio: ['ignore', 'pipe', 'ignore'],
        }).toString(),
      ) as Measured;
    } catch {
      // Not this one: try the next.
    }
  }
  return undefined;
}

function ours(path: string, repeats: number): Measured {
  const own = fileURLToPath(import.meta.url);
  return JSON.parse(
    execFileSync(process.execPath, [own, 'measure', path, String(repeats)]).toString(),
  ) as Measured;
}

/** What the process of its own does: reads the file and prints what it took. */
async function measure(path: string, repeats: number): Promise<void> {
  const idleKiB = process.resourceUsage().maxRSS;
  const seconds: number[] = [];
  for (let k = 0; k < repeats; k++) {
    const start = performance.now();
    const run = await readRun(path);
    seconds.push((performance.now() - start) / 1000);
    if (run.timeS.length !== ROWS || run.voltageV?.length !== ROWS) throw new Error('rows were lost');
  }
  const peakGrowthBytes = (process.resourceUsage().maxRSS - idleKiB) * 1024;
  console.log(JSON.stringify({ version: process.version, seconds, peakGrowthBytes } satisfies Measured));
}

const best = (values: readonly number[]): number => Math.min(...values);
const megabytes = (bytes: number): string => (bytes / 1e6).toFixed(0);

async function compare(): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'kelvin-per-watt-'));
  const path = join(folder, 'long-run.csv');
  try {
    await writeLog(path);
    const size = statSync(path).size;
    console.log(
      `log: ${ROWS} rows, 8 columns, ${megabytes(size)} MB`,
    );

    const our: Measured[] = [];
    const their: Measured[] = [];
    // Fresh processes, interleaved, so that both see the machine in the same state.
    for (let k = 0; k < REPEATS; k++) {
      our.push(ours(path, 1));
      const measured = pandas(path, 1);
      if (measured !== undefined) their.push(measured);
    }
    const ourS = best(our.flatMap(({ seconds }) => seconds));
    const growth = Math.max(...our.map(({ peakGrowthBytes }) => peakGrowthBytes));
    console.log(
      `readRun (Node ${our[0]!.version}): ${ourS.toFixed(3)} s best of ${REPEATS} first reads, ` +
        `${megabytes(growth)} MB more memory at most = ${(growth / size).toFixed(2)} times the file`,
    );
    if (their.length === 0) {
      console.log('pandas: skipped, no python3 with pandas found');
      return;
    }
    const theirS = best(their.flatMap(({ seconds }) => seconds));
    const theirGrowth = Math.max(...their.map(({ peakGrowthBytes }) => peakGrowthBytes));
    console.log(
      `pandas ${their[0]!.version}: ${theirS.toFixed(3)} s best of ${their.length}, ` +
        `${megabytes(theirGrowth)} MB = ${(theirGrowth / size).toFixed(2)} times the file`,
    );
    console.log(
      `ratio readRun / pandas: ${(ourS / theirS).toFixed(2)} (wanted: at most 1); memory wanted: at most 4`,
    );
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const [command, path, repeats] = process.argv.slice(2);
if (command === 'measure') await measure(path!, Number(repeats));
else await compare();
