/**
 * What all of `fitCooler` costs: time per sample from 10³ to 10⁶ samples, and orders 1 to 4, with and without a sensor
 * lag, uncertainty and findings on 1,500 samples. Beside it SciPy and lmfit with the same four orders, without a lag,
 * from time constants spread over the run and without bounds, so that a fourth stage may have a negative resistance; they
 * choose nothing and state no uncertainty.
 *
 * Run with: npm run build && node dist/tests/benchmarks/fit-scaling.js
 */
import { fitCooler } from '../../toolkit/thermal/fit/fit-cooler.js';
import { askPeer, hasPeer } from './python-peer.js';
import { BENCH_AIR_C, twoStageRun } from './staged-run.js';
import { timeOf, warmTimeOf } from './time-of.js';

const SAMPLE_COUNTS = [1e3, 1e4, 1e5, 1e6];
const USUAL_COUNT = 1500;
const ALL_ORDERS = { maxStageCount: 4 };
const AIM_MS = 25;

const MODEL = `
import json, sys, time
import numpy
from scipy.signal import lfilter
data = json.load(open(sys.argv[1]))
power, rise = numpy.array(data["powerW"]), numpy.array(data["riseK"])
def residual(log_tau, r, first):
    total = -rise
    for tau, share in zip(numpy.exp(log_tau), r):
        a = numpy.exp(-1.0 / tau)
        y = numpy.empty_like(rise); y[0] = first
        y[1:] = lfilter([1 - a], [1, -a], power[1:], zi=[a * first])[0]
        total = total + share * y
    return total
def taus(order):
    return numpy.log(len(rise) / 3.0) * (numpy.arange(order) + 1) / order
def measure(fit_all, repeats):
    fit_all()
    cpu, wall = time.process_time(), time.perf_counter()
    for _ in range(repeats): best = fit_all()
    return {"processorMs": 1000 * (time.process_time() - cpu) / repeats,
            "wallMs": 1000 * (time.perf_counter() - wall) / repeats, "sumOfSquares": best}
`;

const SCIPY = `${MODEL}
import scipy
from scipy.optimize import least_squares
def fit_all():
    best = numpy.inf
    for n in (1, 2, 3, 4):
        start = numpy.concatenate([taus(n), numpy.full(n, 0.6 / n), [10.0]])
        found = least_squares(lambda p: residual(p[:n], p[n:2 * n], p[-1]), start, method="lm", x_scale="jac", max_nfev=2000)
        best = min(best, 2 * found.cost)
    return best
print(json.dumps({"version": f"SciPy {scipy.__version__}, NumPy {numpy.__version__}", **measure(fit_all, 3)}))
`;

const LMFIT = `${MODEL}
import lmfit
def fit_all():
    best = numpy.inf
    for n in (1, 2, 3, 4):
        start = lmfit.Parameters()
        for k, tau in enumerate(taus(n)): start.add(f"t{k}", tau)
        for k in range(n): start.add(f"r{k}", 0.6 / n)
        start.add("first", 10.0)
        def left(p, n=n):
            return residual([p[f"t{k}"].value for k in range(n)], [p[f"r{k}"].value for k in range(n)], p["first"].value)
        found = lmfit.minimize(left, start, method="leastsq", max_nfev=2000)
        best = min(best, float(found.chisqr))
    return best
print(json.dumps({"version": f"lmfit {lmfit.__version__}, NumPy {numpy.__version__}", **measure(fit_all, 3)}))
`;

interface PeerResult {
  readonly version: string;
  readonly processorMs: number;
  readonly wallMs: number;
  readonly sumOfSquares: number;
}

async function main(): Promise<void> {
  const usual = twoStageRun(USUAL_COUNT);
  const own = await warmTimeOf(() => fitCooler(usual, ALL_ORDERS), 15);
  const model = fitCooler(usual, ALL_ORDERS);
  console.log(
    `kelvin-per-watt on Node ${process.version}, ${USUAL_COUNT} samples, ${model.orders.length} candidates of 1 to 4 stages, ` +
      `uncertainty and findings: ${own.processorMs.toFixed(1)} ms of processor time, ${own.wallMs.toFixed(1)} ms by the clock ` +
      `(aim: ${AIM_MS} ms); ${model.evaluationCount} evaluations on all samples`,
  );
  const data = {
    powerW: Array.from(usual.powerW),
    riseK: Array.from(usual.temperatureC, (temperature) => temperature - BENCH_AIR_C),
  };
  for (const [name, script] of [
    ['scipy', SCIPY],
    ['lmfit', LMFIT],
  ] as const) {
    if (!hasPeer(name)) continue;
    const peer = askPeer<PeerResult>(script, data);
    const bestK2 = Math.min(...model.orders.map(({ residualRmsK }) => residualRmsK ** 2)) * USUAL_COUNT;
    console.log(
      `${peer.version}, 4 candidates, no choice and no findings: ${peer.processorMs.toFixed(0)} ms of processor time, ` +
        `${peer.wallMs.toFixed(0)} ms by the clock, ${(peer.processorMs / own.processorMs).toFixed(1)} and ` +
        `${(peer.wallMs / own.wallMs).toFixed(1)} times ours; least sum of squares ${peer.sumOfSquares.toFixed(3)} K², ` +
        `ours ${bestK2.toFixed(3)} K²`,
    );
  }
  console.log('\n| samples | processor time, ms | µs a sample | stages chosen |\n| --- | --- | --- | --- |');
  for (const sampleCount of SAMPLE_COUNTS) {
    const run = twoStageRun(sampleCount);
    const repeats = sampleCount >= 1e5 ? 1 : 5;
    const { processorMs } = await warmTimeOf(() => fitCooler(run, ALL_ORDERS), repeats);
    const { result } = await timeOf(() => fitCooler(run, ALL_ORDERS));
    console.log(
      `| ${sampleCount} | ${processorMs.toFixed(1)} | ${((1000 * processorMs) / sampleCount).toFixed(2)} | ${result.stages.length} |`,
    );
    // The run has two stages; whatever the length, the fit must find what it is made of.
    if (Math.abs(result.resistanceLaw.thermalResistanceKPerW - 0.55) > 0.005) process.exitCode = 1;
  }
}

await main();
