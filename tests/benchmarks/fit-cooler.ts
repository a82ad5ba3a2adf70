/**
 * A two-stage fit of one run of 1,500 samples against SciPy on the same problem: `least_squares` with method "lm"
 * over the same exact zero-order-hold recursion, computed by `scipy.signal.lfilter`, from the same start to the same
 * optimum. The start is what is known before a fit: the sampling interval and a third of the record as time
 * constants. Beside it stands the whole of `fitCooler` for that structure, which also estimates noise, correlation,
 * covariance and findings. Processor time is compared, which a busy machine disturbs less than the clock does.
 *
 * Run with: npm run build && node dist/tests/benchmarks/fit-cooler.js
 */
import { minimizeSeparable } from '../../toolkit/numerics/least-squares/separable-least-squares.js';
import { createWorkspace } from '../../toolkit/numerics/workspace.js';
import { coarsenRecord } from '../../toolkit/thermal/fit/coarse-record.js';
import { fitCooler } from '../../toolkit/thermal/fit/fit-cooler.js';
import { createFitEvaluation } from '../../toolkit/thermal/fit/fit-evaluation.js';
import { type FitRecord, recordOfRuns } from '../../toolkit/thermal/fit/fit-record.js';
import { type FitStructure, layoutParameters } from '../../toolkit/thermal/fit/fit-structure.js';
import { askPeer, hasPeer } from './python-peer.js';
import { twoStageRun } from './staged-run.js';
import { median } from './time-of.js';

const SAMPLES = 1500;
const REPEATS = 7;

const SCIPY = `
import json, sys, time
import numpy, scipy
from scipy.optimize import least_squares
from scipy.signal import lfilter
data = json.load(open(sys.argv[1])); repeats, fits = data["repeats"], data["fits"]
power = numpy.array(data["powerW"]); rise = numpy.array(data["temperatureC"]) - 23.0
def model(p):
    total = numpy.zeros_like(rise)
    for tau, r in ((numpy.exp(p[0]), p[2]), (numpy.exp(p[1]), p[3])):
        a = numpy.exp(-1.0 / tau)
        y = numpy.empty_like(rise); y[0] = p[4]
        y[1:] = lfilter([1 - a], [1, -a], power[1:], zi=[a * p[4]])[0]
        total += r * y
    return total - rise
start = [numpy.log(1.0), numpy.log(500.0), 0.3, 0.3, 0.0]
seconds = []
for _ in range(repeats):
    begin = time.process_time()
    for _ in range(fits):
        found = least_squares(model, start, method="lm", x_scale="jac")
    seconds.append((time.process_time() - begin) / fits)
print(json.dumps({"version": f"SciPy {scipy.__version__}, NumPy {numpy.__version__}", "seconds": seconds,
                  "sumOfSquares": 2 * found.cost, "nfev": int(found.nfev), "x": list(found.x)}))
`;

/** Milliseconds of processor time one call takes: median over repeats, after warming up. */
function processorTimeMs(call: () => void, callsPerRepeat: number): number {
  for (let i = 0; i < 40 * callsPerRepeat; i++) call();
  const times = Array.from({ length: REPEATS }, () => {
    const begin = process.cpuUsage();
    for (let i = 0; i < callsPerRepeat; i++) call();
    const { user, system } = process.cpuUsage(begin);
    return (user + system) / 1000 / callsPerRepeat;
  });
  return median(times);
}

const workspace = createWorkspace();
const equalWeights = new Float64Array(SAMPLES).fill(1);

/** The bare search: a draft on the coarse record from the start, finished on the full one. Returns the sum of squares. */
function searchTwoStages(record: FitRecord, structure: FitStructure): number {
  const layout = layoutParameters(record, structure);
  const coarse = coarsenRecord(record);
  const draft = minimizeSeparable(
    createFitEvaluation(coarse.record, structure, layout, coarse.sampleWeights, workspace),
    [Math.log(1), Math.log(500), 0],
  );
  const found = minimizeSeparable(
    createFitEvaluation(record, structure, layout, equalWeights, workspace),
    draft.parameters,
  );
  workspace.release();
  return found.cost;
}

function main(): void {
  const run = twoStageRun(SAMPLES);
  const record = recordOfRuns([run], 0);
  const structure = { stageCount: 2, sensorLag: false, fitExponent: false, powerExponent: 0, atPowerW: 95 };
  const searchMs = processorTimeMs(() => searchTwoStages(record, structure), 100);
  const sumOfSquares = searchTwoStages(record, structure);
  const options = { stageCount: 2, sensorLag: false, powerExponent: 0 };
  const fitMs = processorTimeMs(() => fitCooler(run, options), 20);
  console.log(
    `kelvin-per-watt on Node ${process.version}: search ${searchMs.toFixed(3)} ms, ` +
      `all of fitCooler ${fitMs.toFixed(2)} ms of processor time; sum of squares ${sumOfSquares.toFixed(6)} K²`,
  );

  if (!hasPeer('scipy')) return;
  const peer = askPeer<{ version: string; seconds: number[]; sumOfSquares: number; nfev: number }>(SCIPY, {
    powerW: Array.from(run.powerW),
    temperatureC: Array.from(run.temperatureC),
    repeats: REPEATS,
    fits: 5,
  });
  const peerMs = 1000 * median(peer.seconds);
  const same = Math.abs(sumOfSquares / peer.sumOfSquares - 1) < 1e-6;
  console.log(
    `${peer.version}: ${peerMs.toFixed(3)} ms of processor time, ${peer.nfev} evaluations; ` +
      `sum of squares ${peer.sumOfSquares.toFixed(6)} K²`,
  );
  console.log(
    `same optimum: ${same ? 'yes' : 'NO'}; SciPy takes ${(peerMs / searchMs).toFixed(1)} times as long as the search, ` +
      `${(peerMs / fitMs).toFixed(1)} times as long as all of fitCooler`,
  );
  if (!same) process.exitCode = 1;
}

main();
