/**
 * `chooseCap` with 10,000 draws against NumPy on the same Monte Carlo problem: draws of resistance and exponent
 * (joint Student t), room (uniform) and enclosure rise (normal), the largest power of every draw, its 5 % quantile.
 * Twice: NumPy with the quantile alone, and with what else `chooseCap` takes from the draws (temperature interval
 * at the cap, chances at five caps, what the default cap sustains, the band over 45 caps from 1,024 draws). Ours
 * always does all of it, and frequency, cost, cautions and summary besides. Processor time on both sides, in turns.
 *
 * Run with: npm run build && node dist/tests/benchmarks/choose-cap.js
 */
import { execFileSync } from 'node:child_process';
import { chooseCap } from '../../toolkit/cap/choose/choose-cap.js';
import { median } from './time-of.js';
import { cooler, curve, law } from './uncertain-averages.js';

const DRAWS = 10_000;
const ROUNDS = 5;
const CALLS = 40;

const scenario = {
  limitC: 85,
  ambientC: { low: 22, high: 28 },
  enclosure: { riseK: { mean: 9, standardDeviation: 1 } },
  confidence: 0.95,
  defaultCapW: 118,
  drawCount: DRAWS,
};

const NUMPY = `
import json, sys, time
import numpy as np
law, draws, calls = json.loads(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
r, u, pref = law['thermalResistanceKPerW'], law['resistanceStandardErrorKPerW'], law['atPowerW']
q, uq, rho, nu = law['powerExponent'], law['exponentStandardError'], law['correlation'], law['degreesOfFreedom']
def solve(rng):
    scale = np.sqrt(nu / rng.chisquare(nu, draws))
    first, other = rng.standard_normal(draws) * scale, rng.standard_normal(draws) * scale
    resistance = r + u * first
    order = 1 - np.clip(q + uq * (rho * first + np.sqrt(1 - rho**2) * other), 0, 0.25)
    intake = rng.uniform(22, 28, draws) + np.maximum(0, rng.normal(9, 1, draws))
    rise = np.maximum(85 - intake, 0)
    power = pref * (rise / (resistance * pref)) ** (1 / order)
    return resistance, order, intake, power, np.quantile(power, 0.05)
def temperature(intake, resistance, order, watts):
    return intake + resistance * pref * (watts / pref) ** order
def everything(rng):
    resistance, order, intake, power, quantile = solve(rng)
    cap = np.floor(quantile)
    at_cap = temperature(intake, resistance, order, cap)
    at_cap.mean(), at_cap.std(), np.quantile(at_cap, [0.025, 0.95, 0.975])
    [np.mean(power < cap + step) for step in range(-2, 3)]
    sustained = np.minimum(power, 118)
    np.median(sustained), np.minimum(temperature(intake, resistance, order, 118), 85).mean(), sustained.std()
    for watts in np.linspace(0.5 * cap, 1.3 * cap, 45):
        band = temperature(intake[:1024], resistance[:1024], order[:1024], watts)
        band.mean(), np.quantile(band, [0.025, 0.95, 0.975])
    return quantile
rng = np.random.default_rng(1)
def timed(function):
    best = []
    for _ in range(calls):
        start = time.process_time()
        function(rng)
        best.append(time.process_time() - start)
    return sorted(best)[len(best) // 2] * 1000
solve(rng), everything(rng)
caps = [float(solve(rng)[4]) for _ in range(20)]
print(json.dumps({'version': np.__version__, 'python': sys.version.split()[0], 'quantileMs': timed(solve),
  'everythingMs': timed(everything), 'capW': sum(caps) / len(caps)}))
`;

interface NumpyTimes {
  readonly version: string;
  readonly python: string;
  readonly quantileMs: number;
  readonly everythingMs: number;
  /** Mean of 20 answers, W. */
  readonly capW: number;
}

function numpy(): NumpyTimes | undefined {
  for (const python of ['/usr/bin/python3', 'python3']) {
    try {
      const output = execFileSync(python, ['-c', NUMPY, JSON.stringify(law), String(DRAWS), String(CALLS)], {
        stdio: ['ignore', 'pipe', 'ignore'],
      });
      return JSON.parse(output.toString()) as NumpyTimes;
    } catch {
      // Not this one: try the next.
    }
  }
  return undefined;
}

function medianMs(seedOf: (call: number) => number): number {
  const times = Array.from({ length: CALLS }, (_, call) => {
    const seed = seedOf(call);
    const before = process.cpuUsage();
    chooseCap(cooler, curve, { ...scenario, seed });
    const { user, system } = process.cpuUsage(before);
    return (user + system) / 1000;
  });
  return median(times);
}

const best = (values: readonly number[]): number => Math.min(...values);

const { unroundedCapW } = chooseCap(cooler, curve, scenario);
medianMs(() => 1);
medianMs((call) => call);
const same: number[] = [];
const fresh: number[] = [];
const theirs: NumpyTimes[] = [];
for (let round = 0; round < ROUNDS; round++) {
  same.push(medianMs(() => 1));
  fresh.push(medianMs((call) => 1000 * (round + 1) + call));
  const times = numpy();
  if (times !== undefined) theirs.push(times);
}
console.log(
  `chooseCap, ${DRAWS} draws (Node ${process.version}): best of ${ROUNDS} medians of ${CALLS} calls`,
);
console.log(`  one seed, as a page that drags an input: ${best(same).toFixed(2)} ms (wanted: under 5)`);
console.log(`  a new seed every call, draws made anew: ${best(fresh).toFixed(2)} ms`);
if (theirs.length === 0) {
  console.log('NumPy: skipped, no python3 with numpy found');
} else {
  const { version, python, capW } = theirs[0];
  const quantileMs = best(theirs.map((times) => times.quantileMs));
  const everythingMs = best(theirs.map((times) => times.everythingMs));
  console.log(`NumPy ${version} (Python ${python}), plain random draws made anew in every call`);
  console.log(
    `  cap quantile alone: ${quantileMs.toFixed(2)} ms; with the rest: ${everythingMs.toFixed(2)} ms`,
  );
  console.log(`caps before rounding: ${unroundedCapW.toFixed(2)} W and ${capW.toFixed(2)} W`);
  console.log(
    `ratio NumPy with the rest / chooseCap: ${(everythingMs / best(same)).toFixed(1)} with one seed, ` +
      `${(everythingMs / best(fresh)).toFixed(1)} with new ones; quantile alone: ${(quantileMs / best(same)).toFixed(1)} and ${(quantileMs / best(fresh)).toFixed(1)}`,
  );
  // 20 times 10,000 plain draws leave about 0.02 W of scatter.
  if (Math.abs(capW - unroundedCapW) > 0.15) throw new Error('the two do not solve the same problem');
}
