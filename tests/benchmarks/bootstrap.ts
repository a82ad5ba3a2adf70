/**
 * 1,000 bootstrap refits of a two-stage run of 1,500 samples against the same in SciPy: moving blocks of the same length
 * over the same fitted course, each refitted by `least_squares` with method "lm" from the fitted parameters, the model
 * computed by `scipy.signal.lfilter`. SciPy does 50 of them; its times are scaled to 1,000.
 *
 * Run with: npm run build && node dist/tests/benchmarks/bootstrap.js
 */
import { availableParallelism } from 'node:os';
import type { Estimate } from '../../toolkit/numerics/estimate.js';
import { bootstrapCooler } from '../../toolkit/thermal/check/bootstrap.js';
import { bootstrapCoolerInParallel } from '../../toolkit/thermal/check/parallel-refits-node.js';
import { fitCooler } from '../../toolkit/thermal/fit/fit-cooler.js';
import { fitOf } from '../../toolkit/thermal/fit/fit-of.js';
import { askPeer, hasPeer } from './python-peer.js';
import { BENCH_AIR_C, twoStageRun } from './staged-run.js';
import { timeOf } from './time-of.js';

const COUNT = 1000;
const PEER_COUNT = 50;

const SCIPY = `
import json, sys, time
import numpy, scipy
from scipy.optimize import least_squares
from scipy.signal import lfilter
data = json.load(open(sys.argv[1]))
power, fitted, residual = (numpy.array(data[key]) for key in ("powerW", "fittedK", "residualK"))
block, count, start = data["block"], data["count"], numpy.array(data["start"])
def model(p, measured):
    total = -measured
    for tau, r in ((numpy.exp(p[0]), p[2]), (numpy.exp(p[1]), p[3])):
        a = numpy.exp(-1.0 / tau)
        y = numpy.empty_like(measured); y[0] = p[4]
        y[1:] = lfilter([1 - a], [1, -a], power[1:], zi=[a * p[4]])[0]
        total = total + r * y
    return total
random = numpy.random.default_rng(1)
n = len(power)
def replicate():
    starts = random.integers(0, n - block + 1, -(-n // block))
    drawn = numpy.concatenate([residual[s:s + block] for s in starts])[:n]
    return least_squares(model, start, method="lm", x_scale="jac", args=(fitted + drawn,)).x
for _ in range(3): replicate()
cpu, wall = time.process_time(), time.perf_counter()
found = numpy.array([replicate() for _ in range(count)])
cpu, wall = time.process_time() - cpu, time.perf_counter() - wall
print(json.dumps({"version": f"SciPy {scipy.__version__}, NumPy {numpy.__version__}", "processorS": cpu, "wallS": wall,
                  "standardErrorKPerW": float(numpy.std(found[:, 2] + found[:, 3], ddof=1))}))
`;

interface PeerResult {
  readonly version: string;
  readonly processorS: number;
  readonly wallS: number;
  readonly standardErrorKPerW: number;
}

function standardErrorOf(estimate: Estimate): number {
  return estimate.kind === 'estimated' ? estimate.standardError : Number.NaN;
}

async function main(): Promise<void> {
  const run = twoStageRun(1500);
  const model = fitCooler(run, { stageCount: 2, sensorLag: false, powerExponent: 0 });
  const options = { count: COUNT, seed: 1 };
  const first = await timeOf(() => bootstrapCooler(model, run, options));
  for (let n = 0; n < 3; n++) await bootstrapCooler(model, run, options);
  const single = await timeOf(() => bootstrapCooler(model, run, options));
  const parallel = await timeOf(() => bootstrapCoolerInParallel(model, run, options));
  const standardError = standardErrorOf(single.result.thermalResistanceKPerW);
  console.log(
    `kelvin-per-watt on Node ${process.version}, ${COUNT} refits: ${single.processorMs.toFixed(0)} ms of processor time, ` +
      `${single.wallMs.toFixed(0)} ms by the clock (${first.processorMs.toFixed(0)} and ${first.wallMs.toFixed(0)} ms the first time, code being compiled); on ${availableParallelism()} new worker threads ${parallel.wallMs.toFixed(0)} ms ` +
      `by the clock, their start included; standard error of the resistance ${standardError.toPrecision(3)} K/W, blocks of ${single.result.blockS} s`,
  );
  if (!hasPeer('scipy')) return;
  const { residualK, modelledC } = fitOf(model, run);
  const { timeConstantsS = [], resistancesKPerW = [] } = model.poles ?? {};
  const peer = askPeer<PeerResult>(SCIPY, {
    powerW: Array.from(run.powerW),
    fittedK: Array.from(modelledC, (modelled) => modelled - BENCH_AIR_C),
    residualK: Array.from(residualK),
    block: single.result.blockS,
    count: PEER_COUNT,
    start: [...timeConstantsS.map(Math.log), ...resistancesKPerW, model.starts[0].startPowerW[0]],
  });
  const scale = (1000 * COUNT) / PEER_COUNT;
  const [processorMs, wallMs] = [scale * peer.processorS, scale * peer.wallS];
  console.log(
    `${peer.version}, ${PEER_COUNT} refits scaled to ${COUNT}: ${processorMs.toFixed(0)} ms of processor time, ` +
      `${wallMs.toFixed(0)} ms by the clock; standard error ${peer.standardErrorKPerW.toPrecision(3)} K/W`,
  );
  console.log(
    `SciPy takes ${(processorMs / single.processorMs).toFixed(1)} times the processor time and ` +
      `${(wallMs / single.wallMs).toFixed(1)} times as long by the clock; ` +
      `${(processorMs / first.processorMs).toFixed(1)} and ${(wallMs / first.wallMs).toFixed(1)} times the first time`,
  );
  // A standard deviation from 50 is known to 10 %.
  const same = Math.abs(peer.standardErrorKPerW / standardError - 1) < 0.35;
  console.log(`same standard error within the scatter of ${PEER_COUNT}: ${same ? 'yes' : 'NO'}`);
  if (!same || single.result.failedCount > 0) process.exitCode = 1;
}

await main();
