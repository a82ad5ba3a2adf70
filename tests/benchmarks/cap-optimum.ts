/**
 * The best setting against SciPy on the same Monte Carlo: the same 10,000 draws of resistance, exponent and intake air, the
 * same power law, supply and limit with 95 % confidence.
 *
 * - cap alone, most throughput: `minimize_scalar(method="bounded")`, the limit as a penalty
 * - cap and fan speed, most throughput, with a fan that takes its power from the same budget:
 *   `minimize(method="SLSQP")`, limit and budget as constraints
 *
 * SciPy evaluates objective and quantile on given draws with NumPy, then rounds to what can be set: the cap to 0.1 W, the
 * largest that holds; the speed to the 25 rpm on either side, each with its largest cap. Against it stands `bestSetting`
 * on the same draws, which are made before as well; it searches all speeds and proves its answer. Beside it a whole step
 * of `createWhatIf` (scenario settled, draws made, best setting, temperature's interval) and all of `chooseCap`
 * (intervals, costs, worth, band, words). The answers must be the same. Processor time on both sides, in turns, so that
 * other work on the machine counts for little.
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

const ROUNDS = 5;
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
import json, math, sys, time
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
def settable(p, n, most):
    k = math.floor(min(p, most) / 0.1 + 1e-9)
    while high(k * 0.1, n) > limit: k -= 1
    while (k + 1) * 0.1 <= most and high((k + 1) * 0.1, n) <= limit: k += 1
    return k * 0.1
def alone():
    r = minimize_scalar(lambda p: -work(p) + 0.1 * max(0.0, high(p) - limit), bounds=(60, 118), method='bounded')
    p = settable(r.x, 1500.0, 118)
    return [p, 1500.0, work(p), int(r.nfev)]
def both():
    fan = lambda n: 3 * (n / 1500) ** 3
    r = minimize(lambda x: -work(x[0] * 100), [0.9, 1.5], method='SLSQP', bounds=[(0.6, 1.18), (0.6, 2.2)],
        constraints=[{'type': 'ineq', 'fun': lambda x: (limit - high(x[0] * 100, x[1] * 1000)) / 10},
            {'type': 'ineq', 'fun': lambda x: (130 * 0.9 - 30 - fan(x[1] * 1000) - x[0] * 100) / 10}])
    down = math.floor(r.x[1] * 1000 / 25) * 25.0
    p, n = max((settable(r.x[0] * 100, n, min(118, 130 * 0.9 - 30 - fan(n))), n) for n in (down, down + 25))
    return [p, n, work(p), int(r.nfev)]
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
  /** Cap, fan speed, objective, evaluations before rounding. */
  readonly alone: readonly [number, number, number, number];
  readonly both: readonly [number, number, number, number];
  readonly aloneMs: number;
  readonly bothMs: number;
}

/** Median of the processor time of all threads, ms; what is made before each call does not count. */
function medianMs<Made>(make: (call: number) => Made, run: (made: Made) => void): number {
  const times = Array.from({ length: CALLS }, (_, call) => {
    const made = make(call);
    const before = process.cpuUsage();
    run(made);
    const { user, system } = process.cpuUsage(before);
    return (user + system) / 1000;
  });
  return median(times);
}

const { steady } = prepareCap(cooler, curve, alone, 'benchmark').thermalAt(undefined);
const { dieRiseK, riseOrder, intakeC, referencePowerW } = steady[0];
const data = {
  dieRiseK: [...dieRiseK],
  riseOrder: [...riseOrder],
  intakeC: [...intakeC],
  referencePowerW,
  limitC: alone.limitC,
  calls: CALLS,
};

const questions = { alone, both: withFan } as const;
const names = ['alone', 'both'] as const;
/** What is timed, from what is made before; the limit moves so little that no answer does. */
const timed = {
  'best setting': (name: (typeof names)[number]) =>
    medianMs(() => prepareCap(cooler, curve, questions[name], 'benchmark'), bestSetting),
  'what-if step': (name: (typeof names)[number]) => {
    const whatIf = createWhatIf(cooler, curve, questions[name]);
    return medianMs(
      (call) => 76 + 1e-6 * call,
      (limitC) => whatIf.update({ limitC }),
    );
  },
  'all of chooseCap': (name: (typeof names)[number]) =>
    medianMs(
      () => questions[name],
      (scenario) => chooseCap(cooler, curve, scenario),
    ),
};
type Timed = keyof typeof timed;
const taken = new Map<string, number[]>();
const theirs: ScipyAnswer[] = [];
const peer = hasPeer('scipy');
for (let round = 0; round <= ROUNDS; round++) {
  for (const name of names)
    for (const what of Object.keys(timed) as Timed[]) {
      const ms = timed[what](name);
      if (round > 0) taken.set(`${what} ${name}`, [...(taken.get(`${what} ${name}`) ?? []), ms]); // warm now
    }
  if (peer && round > 0) theirs.push(askPeer<ScipyAnswer>(SCIPY, data));
}

for (const name of names) {
  const { setting, state } = bestSetting(prepareCap(cooler, curve, questions[name], 'benchmark'));
  const speed = setting.fanSpeedRpm === undefined ? '' : `, ${setting.fanSpeedRpm} rpm`;
  console.log(
    `${name === 'alone' ? 'cap alone' : 'cap and fan speed'} (Node ${process.version}): ${setting.powerCapW} W${speed}, ${state.throughputPerS!.toFixed(4)} per s`,
  );
  const scipyMs = theirs.map((each) => (name === 'alone' ? each.aloneMs : each.bothMs));
  if (theirs.length > 0) {
    const [capW, fanSpeedRpm, objective, evaluations] = theirs[0][name];
    console.log(
      `  SciPy ${theirs[0].version}: ${capW.toFixed(1)} W, ${fanSpeedRpm} rpm, ${objective.toFixed(4)} per s after ${evaluations} evaluations: ${median(scipyMs).toFixed(2)} ms`,
    );
    // Another speed may reach the same; a better one would be a mistake.
    if (Math.abs(state.throughputPerS! / objective - 1) > 1e-9)
      throw new Error('the two do not come to the same answer');
  }
  for (const what of Object.keys(timed) as Timed[]) {
    const ms = taken.get(`${what} ${name}`)!;
    const ratios = ms.map((own, round) => scipyMs[round] / own);
    const ratio =
      theirs.length === 0
        ? ''
        : `; SciPy takes ${median(ratios).toFixed(1)} times as long (${Math.min(...ratios).toFixed(1)} to ${Math.max(...ratios).toFixed(1)} in ${ROUNDS} rounds)`;
    console.log(`  ${what} ${median(ms).toFixed(2)} ms${ratio}`);
  }
}
