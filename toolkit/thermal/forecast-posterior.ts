import { choleskyFactor, choleskySolve } from '../numerics/cholesky.js';
import { airAtDie } from './air-at-die.js';
import { ASSUMED_EXPONENT } from './assumed-exponent.js';
import { LOWEST_POWER_SHARE } from './convection.js';
import type { ForecastRecord } from './forecast-record.js';
import { allocatePoleResponse, fillPoleResponse } from './pole-response.js';

/** What is taken for granted of the slowest time constant before the run says anything: log-normal. */
export interface SlowStagePrior {
  readonly medianS: number;
  /** Standard deviation of the natural logarithm. */
  readonly logStandardDeviation: number;
}

/** What one pair of time constants, middle and slowest, says. */
export interface ForecastCell {
  readonly slowestS: number;
  readonly middleS: number;
  readonly weight: number;
  /** Total resistance at the load's power, K/W. */
  readonly resistanceKPerW: number;
  readonly standardErrorKPerW: number;
  /** Modelled temperature of each sample, degrees Celsius; for the likeliest cell only. */
}

export interface ForecastPosterior {
  readonly cells: readonly ForecastCell[];
  /** Slow departures that no stage explains, K. */
  readonly slowNoiseK: number;
  /** Rise of the likeliest cell above the air, at the end. */
  readonly predict: (record: ForecastRecord) => Float64Array;
}

export const tune = {
  fast: [0.8, 2.5, 7],
  middle: [14, 24, 40, 66],
  slowLow: 45,
  slowHigh: 1300,
  slowCount: 14,
  slowCount2: 24,
  fastMean: 0.12,
  fastSd: 0.15,
  middleMean: 0.2,
  middleSd: 0.3,
  slowMean: 0.6,
  slowSd: 0.6,
  traceS: 900,
  traceMean: 0.003,
  traceSd: 0.003,
  slowNoise: [0.1],
  slowNoiseMedian: 0.08,
  slowNoiseLogSd: 0.7,
  correlationS: 150,
  fastFilterS: 8,
  fastK: 0.02,
  minRatio: 1.8,
};

interface Column {
  readonly white: Float64Array;
}

export function forecastPosterior(
  record: ForecastRecord,
  prior: SlowStagePrior,
  slowNoises: readonly number[] = tune.slowNoise,
): ForecastPosterior {
  let best: ForecastPosterior | undefined;
  // Slow departures are integrated over as well, on a coarse grid.
  const all: { cell: ForecastCell; log: number }[] = [];
  let bestLog = -Infinity;
  for (const s of slowNoises) {
    const p = posteriorWith(record, prior, s);
    const noisePrior =
      slowNoises.length === 1 ? 0 : -0.5 * (Math.log(s / tune.slowNoiseMedian) / tune.slowNoiseLogSd) ** 2;
    for (const c of p.cells) all.push({ cell: c, log: c.weight + noisePrior });
    const top = Math.max(...p.cells.map((c) => c.weight)) + noisePrior;
    if (top > bestLog) {
      bestLog = top;
      best = { cells: [], slowNoiseK: s, predict: p.predict };
    }
  }
  const total = all.reduce((sum, { log }) => sum + Math.exp(log - bestLog), 0);
  const cells = all.map(({ cell, log }) => ({ ...cell, weight: Math.exp(log - bestLog) / total }));
  return { ...best!, cells };
}

function blockMean(record: ForecastRecord, values: Float64Array): Float64Array {
  const { blockEdges, kept } = record;
  const means = new Float64Array(blockEdges.length - 1);
  for (let b = 0; b < means.length; b++) {
    let sum = 0,
      count = 0;
    for (let i = blockEdges[b]; i < blockEdges[b + 1]; i++) {
      sum += kept[i] * values[i];
      count += kept[i];
    }
    means[b] = count > 0 ? sum / count : values[blockEdges[b]];
  }
  return means;
}

function posteriorWith(record: ForecastRecord, prior: SlowStagePrior, slowNoiseK: number): ForecastPosterior {
  const { timeS, ambientC, temperatureC, loadPowerW, blockEdges } = record;
  const m = timeS.length;
  const B = blockEdges.length - 1;
  const scratch = allocatePoleResponse(m);
  const roughK = temperatureC[m - 1] - record.endAmbientC;
  const roughR = Math.max(roughK, 1) / loadPowerW;
  const startK = temperatureC[0] - ambientC[0];

  // noise
  const centre = blockMean(record, timeS);
  const follow = allocatePoleResponse(m);
  fillPoleResponse(tune.fastFilterS, record, follow);
  const apart = new Float64Array(m);
  const p0 = record.startsUnderLoad ? record.drivePowerW[0] : Math.max(0, startK / roughR);
  for (let i = 0; i < m; i++) apart[i] = record.drivePowerW[i] - (follow.fromRest[i] + p0 * follow.decay[i]);
  const apartW = blockMean(record, apart);
  const K = new Float64Array(B * B);
  const s2 = slowNoiseK ** 2 + record.roundingK ** 2;
  for (let a = 0; a < B; a++) {
    for (let b = 0; b <= a; b++)
      K[a * B + b] = s2 * Math.exp(-Math.abs(centre[a] - centre[b]) / tune.correlationS);
    let n = 0;
    for (let i = blockEdges[a]; i < blockEdges[a + 1]; i++) n += record.kept[i] * record.readingsPerSample[i];
    K[a * B + a] +=
      (record.readingNoiseK ** 2 + 1e-6) / Math.max(n, 0.1) +
      (tune.fastK * apartW[a]) ** 2 +
      (n === 0 ? 1e6 : 0);
  }
  if (!choleskyFactor(K, B)) throw new Error('K');
  let logDetK = 0;
  for (let a = 0; a < B; a++) logDetK += Math.log(K[a * B + a]);
  const whiten = (v: Float64Array): Float64Array => {
    const w = v.slice();
    for (let i = 0; i < B; i++) {
      let sum = w[i];
      for (let k = 0; k < i; k++) sum -= K[i * B + k] * w[k];
      w[i] = sum / K[i * B + i];
    }
    return w;
  };
  const white = (v: Float64Array): Float64Array => whiten(blockMean(record, v));

  let slow = Array.from(
    { length: tune.slowCount },
    (_, k) => tune.slowLow * (tune.slowHigh / tune.slowLow) ** (k / (tune.slowCount - 1)),
  );
  const poleCols = (tau: number, startW: number) => {
    fillPoleResponse(tau, record, scratch);
    const x = new Float64Array(m);
    for (let i = 0; i < m; i++) x[i] = scratch.fromRest[i] + startW * scratch.decay[i];
    const decays: Float64Array[] = [];
    const starts = [...(record.startsUnderLoad ? [0] : []), ...record.gapEnds];
    for (const s of starts) {
      const d = new Float64Array(m);
      for (let i = s; i < m; i++) d[i] = scratch.decay[i] / (s === 0 ? 1 : scratch.decay[s]);
      decays.push(d);
    }
    return { x, decay: scratch.decay.slice(), decays };
  };

  let startW = p0;
  let result: { cells: ForecastCell[]; predict: (r: ForecastRecord) => Float64Array } | undefined;
  for (let pass = 0; pass < 2; pass++) {
    const fast = tune.fast.map((t) => ({ t, ...poleCols(t, startW) }));
    const middle = tune.middle.map((t) => ({ t, ...poleCols(t, startW) }));
    const trace = { t: tune.traceS, ...poleCols(tune.traceS, startW) };
    const wf = fast.map((f) => white(f.x));
    const wm = middle.map((f) => white(f.x));
    const wt = white(trace.x);
    const wfd = fast.map((f) => f.decays.map(white));
    const wmd = middle.map((f) => f.decays.map(white));
    const cells: ForecastCell[] = [];
    let bestCell: { log: number; beta: Float64Array; s: number; mid: number } | undefined;
    for (let is = 0; is < slow.length; is++) {
      const ts = slow[is];
      const sp = poleCols(ts, startW);
      const air = airAtDie(timeS, ambientC, ts);
      const y = new Float64Array(m);
      for (let i = 0; i < m; i++) y[i] = temperatureC[i] - air[i];
      const wy = white(y);
      const bend = new Float64Array(m),
        bendQ = new Float64Array(m),
        startCol = new Float64Array(m);
      const q = ASSUMED_EXPONENT.mean;
      for (let i = 0; i < m; i++) {
        const share = Math.max(sp.x[i] / loadPowerW, LOWEST_POWER_SHARE);
        const psi = share ** -q;
        bend[i] = (psi - 1) * sp.x[i];
        bendQ[i] = -roughR * sp.x[i] * psi * Math.log(share);
        startCol[i] = roughR * (0.3 * fast[2].decay[i] + 0.2 * middle[0].decay[i] + 0.5 * sp.decay[i]);
      }
      const wb = white(bend),
        wq = white(bendQ),
        wst = white(startCol);
      const ws = white(sp.x),
        wsd = sp.decays.map(white);
      const plus = (a: Float64Array, b: Float64Array) => a.map((v, i) => v + b[i]);
      for (let im = 0; im < middle.length; im++) {
        if (ts < tune.minRatio * middle[im].t) continue;
        const cols: Float64Array[] = [];
        const mean: number[] = [];
        const sd: number[] = [];
        const c: number[] = [];
        const add = (col: Float64Array, mu: number, s: number, inTotal: number) => {
          cols.push(col);
          mean.push(mu);
          sd.push(s);
          c.push(inTotal);
        };
        wf.forEach((w) => add(plus(w, wb), tune.fastMean * roughR, tune.fastSd * roughR, 1));
        add(plus(wm[im], wb), tune.middleMean * roughR, tune.middleSd * roughR, 1);
        add(plus(ws, wb), tune.slowMean * roughR, tune.slowSd * roughR, 1);
        add(plus(wt, wb), tune.traceMean * roughR, tune.traceSd * roughR, 1);
        add(wq, 0, ASSUMED_EXPONENT.standardDeviation, 0);
        if (!record.startsUnderLoad) add(wst, 0, 0.5 * startW + 3, 0);
        const nStarts = wsd.length;
        for (let s = 0; s < nStarts; s++) {
          const free = s === 0 && record.startsUnderLoad;
          const scale = free ? roughK : 0.3 * roughK;
          wfd.forEach((d) => add(d[s], 0, 0.3 * scale, 0));
          add(wmd[im][s], 0, 0.5 * scale, 0);
          add(wsd[s], 0, scale, 0);
        }
        const n = cols.length;
        const A = new Float64Array(n * n),
          g = new Float64Array(n);
        const r = wy.slice();
        cols.forEach((col, k) => {
          for (let i = 0; i < B; i++) r[i] -= mean[k] * col[i];
        });
        let rr = 0;
        for (let i = 0; i < B; i++) rr += r[i] * r[i];
        let logPrior = 0;
        for (let a = 0; a < n; a++) {
          for (let b = 0; b <= a; b++) {
            let sum = 0;
            for (let i = 0; i < B; i++) sum += cols[a][i] * cols[b][i];
            A[a * n + b] = sum * sd[a] * sd[b];
          }
          A[a * n + a] += 1;
          let sum = 0;
          for (let i = 0; i < B; i++) sum += cols[a][i] * r[i];
          g[a] = sum * sd[a];
        }
        if (!choleskyFactor(A, n)) throw new Error('A');
        const beta = g.slice();
        choleskySolve(A, n, beta);
        let gain = 0,
          logDetA = 0;
        for (let a = 0; a < n; a++) {
          gain += beta[a] * g[a];
          logDetA += Math.log(A[a * n + a]);
        }
        const cc = Float64Array.from(c, (v, k) => v * sd[k]);
        const v = cc.slice();
        choleskySolve(A, n, v);
        let R = 0,
          varR = 0;
        for (let a = 0; a < n; a++) {
          R += c[a] * (mean[a] + sd[a] * beta[a]);
          varR += cc[a] * v[a];
        }
        const log =
          -0.5 * (rr - gain) -
          logDetA -
          logDetK -
          0.5 * (Math.log(ts / prior.medianS) / prior.logStandardDeviation) ** 2 +
          logPrior;
        cells.push({
          slowestS: ts,
          middleS: middle[im].t,
          weight: log,
          resistanceKPerW: R,
          standardErrorKPerW: Math.sqrt(varR),
        });
        if (bestCell === undefined || log > bestCell.log)
          bestCell = { log, beta: Float64Array.from(beta, (b, k) => mean[k] + sd[k] * b), s: is, mid: im };
      }
    }
    // refine start power
    const top = bestCell!;
    const cell = cells.reduce((a, b) => (b.weight > a.weight ? b : a));
    startW = record.startsUnderLoad ? p0 : Math.max(0, startK / Math.max(cell.resistanceKPerW, 1e-9));
    if (pass === 0) {
      const near = cells.filter((c) => c.weight > cell.weight - 10).map((c) => c.slowestS);
      const step = (tune.slowHigh / tune.slowLow) ** (1 / (tune.slowCount - 1));
      const lo = Math.min(...near) / step,
        hi = Math.max(...near) * step;
      slow = Array.from({ length: tune.slowCount2 }, (_, k) => lo * (hi / lo) ** (k / (tune.slowCount2 - 1)));
    }
    result = { cells, predict: () => new Float64Array(m) };
    void top;
  }
  return { ...result!, slowNoiseK };
}
