/**
 * The best setting against SciPy on the same Monte Carlo: the same 10,000 draws of resistance, exponent and intake air, the
 * same power law, supply and limit with 95 % confidence.
 *
 * - cap alone, most throughput: `minimize_scalar(method="bounded")`, the limit as a penalty
 * - cap and fan speed, most throughput, with a fan that takes its power from the same budget:
 *   `minimize(method="SLSQP")`, limit and budget as constraints
 *
 * SciPy evaluates objective and quantile on given draws with NumPy. Against it stands `bestSetting` on the same draws,
 * which are made before as well; beside it a whole step of `createWhatIf` (scenario settled, draws made, best setting,
 * temperature's interval) and all of `chooseCap` (intervals, costs, worth, band, words). The optima must agree. Processor
 * time on both sides, in turns, so that other work on the machine counts for little.
 *
 * Run with: npm run build && node dist/tests/benchmarks/cap-optimum.js
 */
import { chooseCap } from '../../toolkit/cap/choose/choose-cap.js';
import { createWhatIf } from '../../toolkit/cap/choose/what-if.js';
import type { CapScenario } from '../../toolkit/cap/scenario/cap-scenario.js';
import { bestSetting } from '../../toolkit/cap/setting/best-setting.js';
import { prepareCap } from '../../toolkit/cap/setting/prepared-cap.js';
import type { CoolerModel } from '../../toolkit/thermal/cooler-model.js';
import { plainCooler } from '../unit/cap/plain-cooler.js';
import { plainCurve } from '../unit/cap/plain-curve.js';
import { plainFanCurve, workedCurve } from '../unit/cap/worked-curve.js';
import { askPeer, hasPeer } from './python-peer.js';
import { median } from './time-of.js';

const ROUNDS = 3;
const CALLS = 30;

const cooler: CoolerModel = plainCooler(
  {
    resistanceStandardErrorKPerW: 0.012,
    powerExponent: 0.05,
    exponentStandardError: 0.015,
    correlation: 0.3,
    degreesOfFreedom: 12,
  },
  { fanSpeedRpm: 1500 },
);
const curve = plainCurve({ throughput: workedCurve().throughput! });
const fanCurve = plainFanCurve({
  covariance: { parameters: [], matrix: Array.from({ length: 3 }, () => [0, 0, 0]) },
});
const alone: CapScenario = {
  limitC: 76,
  ambientC: { low: 22, high: 28 },
  enclosure: { riseK: { mean: 9, standardDeviation: 1 } },
  maxCapW: 118,
  minCapW: 60,
  stepW: 0.1,
  drawCount: 10_000,
};
const withFan: CapScenario = {
  ...alone,
  supply: { budgetW: 130, restOfMachineW: 30, efficiencyFraction: 0.9 },
  fan: { curve: fanCurve, stepRpm: 25, power: { powerW: 3, fanSpeedRpm: 1500 } },
};

const SCIPY = `
import json, sys, time
import numpy as np, scipy
from scipy.optimize import minimize, minimize_scalar
d = json.load(open(sys.argv[1]))
a, m, intake = (np.array(d[k]) for k in ('dieRiseK', 'riseOrder', 'intakeC'))
pref, limit = d['referencePowerW'], d['limitC']
rank = len(a) - 1 - int(0.05 * len(a))
ratio = lambda n: (0.2 + 0.3 * (n / 1500) ** -0.7) / 0.5
def high(p, n=1500.0):
    return np.partition(intake + a * ratio(n) * (p / pref) ** m, rank)[rank]
def work(p):
    return 3600 * (p / 90) ** 0.25 / 625
def alone():
    r = minimize_scalar(lambda p: -work(p) + 0.1 * max(0.0, high(p) - limit), bounds=(60, 118), method='bounded')
    return [float(r.x), -float(r.fun), int(r.nfev)]
def both():
    fan = lambda n: 3 * (n / 1500) ** 3
    r = minimize(lambda x: -work(x[0] * 100), [0.9, 1.5], method='SLSQP', bounds=[(0.6, 1.18), (0.6, 2.2)],
        constraints=[{'type': 'ineq', 'fun': lambda x: (limit - high(x[0] * 100, x[1] * 1000)) / 10},
            {'type': 'ineq', 'fun': lambda x: (130 * 0.9 - 30 - fan(x[1] * 1000) - x[0] * 100) / 10}])
    return [float(r.x[0] * 100), float(r.x[1] * 1000), -float(r.fun), int(r.nfev)]
def timed(f):
    f()
    best = []
    for _ in range(d['calls']):
        start = time.process_time(); f(); best.append(time.process_time() - start)
    return sorted(best)[len(best) // 2] * 1000
print(json.dumps({'version': scipy.__version__, 'alone': alone(), 'both': both(), 'aloneMs': timed(alone), 'bothMs': timed(both)}))
`;

interface ScipyAnswer {
  readonly version: string;
  /** Cap, objective, evaluations. */
  readonly alone: readonly [number, number, number];
  /** Cap, fan speed, objective, evaluations. */
  readonly both: readonly [number, number, number, number];
  readonly aloneMs: number;
  readonly bothMs: number;
}

/** Median of the processor time of all threads, ms. */
function medianMs(run: (call: number) => void): number {
  const times = Array.from({ length: CALLS }, (_, call) => {
    const before = process.cpuUsage();
    run(call);
    const { user, system } = process.cpuUsage(before);
    return (user + system) / 1000;
  });
  return median(times);
}

const best = (values: readonly number[]): number => Math.min(...values);

const { steady } = prepareCap(cooler, curve, alone, 'benchmark').thermalAt(undefined);
const { dieRiseK, riseOrder, intakeC, referencePowerW } = steady[0]!;
const data = {
  dieRiseK: [...dieRiseK],
  riseOrder: [...riseOrder],
  intakeC: [...intakeC],
  referencePowerW,
  limitC: alone.limitC,
  calls: CALLS,
};

const questions = { alone, both: withFan } as const;
const stepMs: Record<'alone' | 'both', number[]> = { alone: [], both: [] };
const searchMs: Record<'alone' | 'both', number[]> = { alone: [], both: [] };
const wholeMs: Record<'alone' | 'both', number[]> = { alone: [], both: [] };
const theirs: ScipyAnswer[] = [];
const peer = hasPeer('scipy');
for (let round = 0; round <= ROUNDS; round++) {
  for (const name of ['alone', 'both'] as const) {
    const whatIf = createWhatIf(cooler, curve, questions[name]);
    const step = medianMs((call) => whatIf.update({ limitC: 76 + 1e-6 * call }));
    const fresh = Array.from({ length: CALLS }, () =>
      prepareCap(cooler, curve, questions[name], 'benchmark'),
    );
    const search = medianMs((call) => bestSetting(fresh[call]!));
    const whole = medianMs(() => chooseCap(cooler, curve, questions[name]));
    if (round === 0) continue; // warm now
    searchMs[name].push(search);
    stepMs[name].push(step);
    wholeMs[name].push(whole);
  }
  if (peer && round > 0) theirs.push(askPeer<ScipyAnswer>(SCIPY, data));
}

for (const name of ['alone', 'both'] as const) {
  const answer = createWhatIf(cooler, curve, questions[name]).answer;
  if (answer.kind !== 'answer') throw new Error(answer.message);
  console.log(
    `${name === 'alone' ? 'cap alone' : 'cap and fan speed'} (Node ${process.version}): ${answer.powerCapW} W` +
      `${answer.fanSpeedRpm === undefined ? '' : `, ${answer.fanSpeedRpm} rpm`}, ${answer.throughputPerS!.toFixed(4)} per s; ` +
      `best setting ${best(searchMs[name]).toFixed(2)} ms, what-if step ${best(stepMs[name]).toFixed(2)} ms, all of chooseCap ${best(wholeMs[name]).toFixed(2)} ms`,
  );
  if (theirs.length === 0) continue;
  const [first] = theirs;
  const scipyMs = best(theirs.map((each) => (name === 'alone' ? each.aloneMs : each.bothMs)));
  const objective = name === 'alone' ? first!.alone[1] : first!.both[2];
  console.log(
    `  SciPy ${first!.version}: ${(name === 'alone' ? first!.alone : first!.both).map((x) => Number(x.toFixed(4))).join(', ')}; ${scipyMs.toFixed(2)} ms; ` +
      `ratio to the best setting ${(scipyMs / best(searchMs[name])).toFixed(1)}, to the step ${(scipyMs / best(stepMs[name])).toFixed(1)}, to all of chooseCap ${(scipyMs / best(wholeMs[name])).toFixed(1)}`,
  );
  // Ours is settable: a tenth of a watt and 25 rpm cost a few parts in ten thousand at most.
  if (Math.abs(answer.throughputPerS! / objective - 1) > 5e-4)
    throw new Error('the two do not solve the same problem');
}
