// Does the run that the plan recommends do what the plan says? Rigs of the demo's generator, whose physics is richer than
// the model: each candidate is logged on the rig, fitted, and its interval held against the expected one.
import { describe, expect, it } from 'vitest';
import { randomRig } from '../../datasets-demo/generator/random-rig.js';
import { simulateRig } from '../../datasets-demo/generator/rig.js';
import { planNextRuns } from '../../toolkit/cap/plan/plan-next-runs.js';
import { afterRun, knowledgeOf, resistanceSpreadAt } from '../../toolkit/cap/plan/run-information.js';
import { seededRandom } from '../../toolkit/numerics/random.js';
import { makeRun } from '../../toolkit/runs/make-run.js';
import type { Run } from '../../toolkit/runs/run.js';
import { fitCooler } from '../../toolkit/thermal/fit/fit-cooler.js';
import { resistanceAt } from '../../toolkit/thermal/steady-temperature.js';

const RIG_COUNT = 8;
/** Not among the seeds the plan was looked at with. */
const FIRST_SEED = 9100;

function log(kind: 'air' | 'liquid', seed: number, powerCapW: number, loadS: number, run: number): Run {
  const { truth: _, ...samples } = simulateRig(
    randomRig({ kind, powerCapW, loadS, leadInS: 60 }, seed),
    100 * seed + run,
  );
  return makeRun(samples, { label: `${powerCapW} W for ${loadS} s`, conditions: { cooler: kind } });
}

interface Outcome {
  readonly candidate: string;
  readonly recommended: boolean;
  /** Half-widths at the power of the cap, as shares of that before the run. */
  readonly expected: number;
  readonly achieved: number;
}

function outcomesOfRig(n: number): readonly Outcome[] {
  const kind = n % 2 === 0 ? 'air' : 'liquid';
  const seed = FIRST_SEED + n;
  const capsW = kind === 'air' ? [50, 70, 90] : [70, 95, 118];
  const first = log(kind, seed, capsW[0], 900, 1);
  const model = fitCooler(first);
  // A limit that lies near the highest cap.
  const limitC = Math.min(98, 24 + 1.05 * capsW[2] * model.resistanceLaw.thermalResistanceKPerW);
  const plan = planNextRuns(
    model,
    undefined,
    { limitC, ambientC: 24, maxCapW: 200 },
    { powerCapsW: capsW, durationsS: [300, 900], wantedHalfWidthW: 0.1, leastGainW: 0.01 },
  );
  const atW = plan.coolers[0].powerAtLimitW;
  const relativeHalfWidth = (runs: readonly Run[]): number => {
    const resistance = resistanceAt(fitCooler(runs), atW);
    if (resistance.kind === 'unavailable') throw new Error('no resistance');
    return (resistance.interval95[1] - resistance.interval95[0]) / 2 / resistance.value;
  };
  const before = relativeHalfWidth([first]);
  return plan.candidates.map((run, place) => ({
    candidate: `${['lowest', 'middle', 'highest'][capsW.indexOf(run.powerCapW)]} cap, ${run.durationS} s`,
    recommended: place === 0,
    expected: run.halfWidthAfterW / run.halfWidthNowW,
    achieved: relativeHalfWidth([first, log(kind, seed, run.powerCapW, run.durationS, 2)]) / before,
  }));
}

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  return (sorted[Math.floor((sorted.length - 1) / 2)] + sorted[Math.ceil((sorted.length - 1) / 2)]) / 2;
};

describe('a planned run, logged on rigs of richer physics', () => {
  const rigs = Array.from({ length: RIG_COUNT }, (_, n) => outcomesOfRig(n));
  const all = rigs.flat();

  // Medians: with a slow loop and runs of a quarter of an hour, what the fit leaves out can outweigh what a run adds.
  it('narrows the interval of the cap more than the alternatives do', () => {
    const recommended = rigs.map((outcomes) => outcomes.find((one) => one.recommended)!.achieved);
    const alternatives = rigs.map((outcomes) =>
      mean(outcomes.filter((one) => !one.recommended).map(({ achieved }) => achieved)),
    );
    expect(median(recommended)).toBeLessThan(0.6 * median(alternatives));
    // Also on most single rigs it is better than the mean of the others.
    const better = recommended.filter((achieved, n) => achieved < alternatives[n]);
    expect(better.length).toBeGreaterThanOrEqual(0.6 * RIG_COUNT);
  });

  it('is expected to narrow it by what the record can tell: what the fit leaves out comes on top', () => {
    const ratios = all.map(({ expected, achieved }) => expected / achieved);
    // The plan does not know the share that no record of this kind shows; without that share in the fit it was 0.8 to 1.25.
    expect(median(ratios)).toBeGreaterThan(0.65);
    expect(median(ratios)).toBeLessThan(1.25);
    // Hardly ever does a run bring more than was expected of it.
    expect(ratios.filter((ratio) => ratio < 1.35).length).toBeGreaterThanOrEqual(0.95 * ratios.length);
  });

  it('ranks the kinds of runs as they come out', () => {
    const kinds = [...new Set(all.map(({ candidate }) => candidate))];
    const of = (kind: string, what: 'expected' | 'achieved'): number =>
      median(all.filter(({ candidate }) => candidate === kind).map((one) => one[what]));
    const expected = kinds.map((kind) => of(kind, 'expected'));
    const achieved = kinds.map((kind) => of(kind, 'achieved'));
    // No kind expected to be better by more than a fifth of the interval comes out worse.
    kinds.forEach((_, i) => {
      kinds.forEach((_, j) => {
        if (expected[i] < expected[j] - 0.2) expect(achieved[i]).toBeLessThan(achieved[j]);
      });
    });
  });
}, 120_000);

describe('a further mount of a cooler that was logged with two', () => {
  /** One rig whose second contact differs from mount to mount. */
  function logMount(seed: number, powerCapW: number, run: number, mount: string, contactRatio: number): Run {
    const rig = randomRig({ kind: 'air', powerCapW, loadS: 900, leadInS: 60 }, seed);
    const nodes = rig.network.nodes.map((node, i) =>
      i === 2 ? { ...node, resistanceKPerW: node.resistanceKPerW * contactRatio } : node,
    );
    const network = { ...rig.network, nodes };
    const { truth: _, ...samples } = simulateRig({ ...rig, network }, 100 * seed + run);
    return makeRun(samples, { label: `${powerCapW} W, ${mount}`, conditions: { cooler: 'air', mount } });
  }

  it('narrows the interval by about as much as expected, and a run on the same mount does not', () => {
    const random = seededRandom(77);
    const capsW = [60, 90] as const;
    const rows = Array.from({ length: 4 }, (_, n) => {
      const seed = FIRST_SEED + 100 + n;
      const ratios = [0, 1, 2].map(() => Math.exp(0.08 * random.normal()));
      const first = [
        logMount(seed, capsW[0], 1, 'first', ratios[0]),
        logMount(seed, capsW[1], 2, 'second', ratios[1]),
      ];
      const before = knowledgeOf(fitCooler(first), { sampleS: 1, forNextMount: false });
      const halfWidth = (knowledge: typeof before): number =>
        resistanceSpreadAt(knowledge, capsW[1]).halfWidthFraction;
      const achieved = (further: Run): number =>
        halfWidth(knowledgeOf(fitCooler([...first, further]), { sampleS: 1, forNextMount: false })) /
        halfWidth(before);
      const expected = (remounted: boolean): number =>
        halfWidth(afterRun(before, { powerW: capsW[1], durationS: 900, remounted })) / halfWidth(before);
      return {
        remounted: [expected(true), achieved(logMount(seed, capsW[1], 3, 'third', ratios[2]))] as const,
        same: [expected(false), achieved(logMount(seed, capsW[1], 4, 'second', ratios[1]))] as const,
      };
    });
    const [expected, achieved] = [0, 1].map((i) => mean(rows.map(({ remounted }) => remounted[i as 0 | 1])));
    expect(expected).toBeLessThan(0.95);
    // What the third mount happens to be like moves the achieved one.
    expect(Math.abs(expected - achieved)).toBeLessThan(0.1);
    for (const i of [0, 1] as const) expect(mean(rows.map(({ same }) => same[i]))).toBeGreaterThan(0.95);
  });
}, 120_000);
