/**
 * `fitCooler` of one two-stage run of 1,500 samples against SciPy on the same problem: `least_squares` with
 * method "lm" over the same exact zero-order-hold recursion, computed by `scipy.signal.lfilter`, to the same
 * optimum. Ours also estimates noise, correlation, covariance and findings in that time. Processor time is
 * compared, which a busy machine disturbs less than the clock does.
 *
 * Run with: npm run build && node dist/tests/benchmarks/fit-cooler.js
 */
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { seededRandom } from '../../toolkit/numerics/random.js';
import { makeRun } from '../../toolkit/runs/make-run.js';
import type { Run } from '../../toolkit/runs/run.js';
import { fitCooler } from '../../toolkit/thermal/fit-cooler.js';
import { fitOf } from '../../toolkit/thermal/fit-of.js';

const SAMPLES = 1500;
const REPEATS = 7;
const FITS_PER_REPEAT = 20;

/** A run of two stages and white noise, from rest at a small idle power, with fluctuating package power. */
function twoStageRun(): Run {
  const random = seededRandom(20_260_101);
  const timeS = Array.from({ length: SAMPLES }, (_, i) => i);
  const powerW = timeS.map((t) => (t < 20 ? 15 : 95) + random.normal());
  const stages = [
    { timeConstantS: 8, resistanceKPerW: 0.22, state: 15 },
    { timeConstantS: 140, resistanceKPerW: 0.33, state: 15 },
  ];
  const temperatureC = powerW.map((power, i) => {
    let riseK = 0;
    for (const stage of stages) {
      const kept = i === 0 ? 1 : Math.exp(-1 / stage.timeConstantS);
      stage.state = kept * stage.state + (1 - kept) * power;
      riseK += stage.resistanceKPerW * stage.state;
    }
    return 23 + riseK + 0.2 * random.normal();
  });
  return makeRun({ timeS, powerW, temperatureC }, { label: 'two stages', conditions: { ambientC: 23 } });
}

const SCIPY = `
import json, sys, time
import numpy, scipy
from scipy.optimize import least_squares
from scipy.signal import lfilter
data = json.load(open(sys.argv[1])); repeats, fits = int(sys.argv[2]), int(sys.argv[3])
power = numpy.array(data["powerW"]); rise = numpy.array(data["temperatureC"]) - 23.0
def model(p):
    total = numpy.zeros_like(rise)
    for tau, r in ((numpy.exp(p[0]), p[2]), (numpy.exp(p[1]), p[3])):
        a = numpy.exp(-1.0 / tau)
        y = numpy.empty_like(rise); y[0] = p[4]
        y[1:] = lfilter([1 - a], [1, -a], power[1:], zi=[a * p[4]])[0]
        total += r * y
    return total - rise
start = [numpy.log(3.0), numpy.log(300.0), 0.3, 0.3, 0.0]
seconds = []
for _ in range(repeats):
    begin = time.process_time()
    for _ in range(fits):
        found = least_squares(model, start, method="lm", x_scale="jac")
    seconds.append((time.process_time() - begin) / fits)
print(json.dumps({"version": f"SciPy {scipy.__version__}, NumPy {numpy.__version__}", "seconds": seconds,
                  "sumOfSquares": 2 * found.cost, "nfev": int(found.nfev), "x": list(found.x)}))
`;

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1];
}

function main(): void {
  const run = twoStageRun();
  const options = { stageCount: 2, sensorLag: false, powerExponent: 0 };
  for (let i = 0; i < 30; i++) fitCooler(run, options);
  const ours: number[] = [];
  for (let repeat = 0; repeat < REPEATS; repeat++) {
    const begin = process.cpuUsage();
    for (let i = 0; i < FITS_PER_REPEAT; i++) fitCooler(run, options);
    const { user, system } = process.cpuUsage(begin);
    ours.push((user + system) / FITS_PER_REPEAT / 1e6);
  }
  const model = fitCooler(run, options);
  const sumOfSquares = fitOf(model, run).residualK.reduce((sum, residual) => sum + residual ** 2, 0);
  const { timeConstantsS = [], resistancesKPerW = [] } = model.poles ?? {};
  console.log(
    `kelvin-per-watt on Node ${process.version}: ${(1000 * median(ours)).toFixed(2)} ms of processor time a fit, ${model.evaluationCount} evaluations`,
  );
  console.log(
    `  time constants ${timeConstantsS.map((t) => t.toFixed(4)).join(', ')} s, resistances ${resistancesKPerW.map((r) => r.toFixed(6)).join(', ')} K/W, sum of squares ${sumOfSquares.toFixed(6)} K²`,
  );

  const python = '/usr/bin/python3';
  if (spawnSync(python, ['-c', 'import scipy']).status !== 0) {
    console.log('SciPy is missing (Debian: python3-scipy): no comparison.');
    return;
  }
  const folder = mkdtempSync(join(tmpdir(), 'fit-cooler-'));
  try {
    const data = join(folder, 'run.json');
    writeFileSync(
      data,
      JSON.stringify({ powerW: Array.from(run.powerW), temperatureC: Array.from(run.temperatureC) }),
    );
    const peer = JSON.parse(
      execFileSync(python, ['-c', SCIPY, data, String(REPEATS), '5'], { encoding: 'utf8' }),
    ) as { version: string; seconds: number[]; sumOfSquares: number; nfev: number; x: number[] };
    console.log(
      `${peer.version}: ${(1000 * median(peer.seconds)).toFixed(2)} ms of processor time a fit, ${peer.nfev} evaluations`,
    );
    console.log(
      `  time constants ${Math.exp(peer.x[0]).toFixed(4)}, ${Math.exp(peer.x[1]).toFixed(4)} s, resistances ${peer.x[2].toFixed(6)}, ${peer.x[3].toFixed(6)} K/W, sum of squares ${peer.sumOfSquares.toFixed(6)} K²`,
    );
    const same = Math.abs(sumOfSquares / peer.sumOfSquares - 1) < 1e-6;
    console.log(
      `same optimum: ${same ? 'yes' : 'NO'}; SciPy takes ${(median(peer.seconds) / median(ours)).toFixed(1)} times as long`,
    );
    if (!same) process.exitCode = 1;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

main();
