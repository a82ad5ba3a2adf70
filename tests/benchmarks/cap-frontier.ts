/**
 * `capFrontier` of 100 caps against a plain NumPy loop on the same problem: draws of resistance and exponent (joint
 * Student t), room (uniform) and enclosure rise (normal); at each cap mean, standard deviation and 95 % interval of the
 * temperature, the chance of passing the limit, and a power law of frequency with its standard error. Ours makes the same
 * draws and finds the highest cap allowed, the knee, extrapolation, dominance, sentence and cautions besides; its bands
 * come from 512 of the draws, so NumPy is timed with 512 for them as well as with all.
 *
 * Run with: npm run build && node dist/tests/benchmarks/cap-frontier.js
 */
import { capFrontier } from '../../toolkit/cap/frontier/cap-frontier.js';
import { askPeer, hasPeer } from './python-peer.js';
import { warmTimeOf } from './time-of.js';
import { cooler, curve, law } from './uncertain-averages.js';

const DRAWS = 4096;
const CALLS = 30;
const AIM_MS = 20;

const scenario = {
  limitC: 85,
  ambientC: { low: 22, high: 28 },
  enclosure: { riseK: { mean: 9, standardDeviation: 1 } },
  stepW: 0.5,
  defaultCapW: 118,
  drawCount: DRAWS,
};

const NUMPY = `
import json, sys, time
import numpy as np
data = json.load(open(sys.argv[1]))
law, draws, caps = data['law'], data['draws'], np.array(data['caps'])
r, u, pref = law['thermalResistanceKPerW'], law['resistanceStandardErrorKPerW'], law['atPowerW']
q, uq, rho, nu = law['powerExponent'], law['exponentStandardError'], law['correlation'], law['degreesOfFreedom']
def frontier(rng, band):
    scale = np.sqrt(nu / rng.chisquare(nu, draws))
    first, other = rng.standard_normal(draws) * scale, rng.standard_normal(draws) * scale
    resistance = r + u * first
    order = 1 - np.clip(q + uq * (rho * first + np.sqrt(1 - rho**2) * other), 0, 0.25)
    intake = rng.uniform(22, 28, draws) + np.maximum(0, rng.normal(9, 1, draws))
    power = pref * (np.maximum(85 - intake, 0) / (resistance * pref)) ** (1 / order)
    rows = []
    for cap in caps:
        t = intake[:band] + resistance[:band] * pref * (cap / pref) ** order[:band]
        low, high = np.quantile(t, [0.025, 0.975])
        f = 3600 * (cap / 90) ** 0.25
        rows.append((cap, t.mean(), t.std(), low, high, np.mean(power < cap), f, np.hypot(6 * f / 3600, 0.01 * f * np.log(cap / 90)) + 3 * t.std()))
    return rows
rng = np.random.default_rng(1)
def timed(band):
    taken = []
    for _ in range(2 * data['calls']):
        start = time.process_time()
        frontier(rng, band)
        taken.append(time.process_time() - start)
    return 1000 * float(np.median(taken[data['calls']:]))
print(json.dumps({'all': timed(draws), 'some': timed(512), 'version': np.__version__}))
`;

const frontier = capFrontier(cooler, curve, scenario);
const capsW = frontier.points.map(({ powerCapW }) => powerCapW);
const warm = await warmTimeOf(() => capFrontier(cooler, curve, scenario), CALLS);
let seed = 2;
const fresh = await warmTimeOf(() => capFrontier(cooler, curve, { ...scenario, seed: seed++ }), CALLS);
console.log(
  `capFrontier, ${capsW.length} caps, ${DRAWS} draws, Node ${process.version}: ${warm.processorMs.toFixed(1)} ms of processor time with one seed, ${fresh.processorMs.toFixed(1)} ms with new draws in each call (${warm.wallMs.toFixed(1)} and ${fresh.wallMs.toFixed(1)} ms by the clock); aim below ${AIM_MS} ms: ${warm.processorMs < AIM_MS ? 'met' : 'missed'}`,
);
if (hasPeer('numpy')) {
  const peer = askPeer<{ all: number; some: number; version: string }>(NUMPY, {
    law,
    draws: DRAWS,
    caps: capsW,
    calls: CALLS,
  });
  console.log(
    `NumPy ${peer.version}: ${peer.all.toFixed(1)} ms with bands from all draws, ${peer.some.toFixed(1)} ms with bands from 512; ratios with new draws in each call, as NumPy has: ${(peer.all / fresh.processorMs).toFixed(2)} and ${(peer.some / fresh.processorMs).toFixed(2)}; with one seed ${(peer.all / warm.processorMs).toFixed(2)} and ${(peer.some / warm.processorMs).toFixed(2)}`,
  );
}
