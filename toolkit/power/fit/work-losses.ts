import type { Estimate } from '../../numerics/estimate.js';
import type { Finding } from '../../runs/finding.js';
import { requireDifferentLabels } from '../../runs/require-run.js';
import type { Run } from '../../runs/run.js';
import type { RunSlowdown } from '../../runs/slowdown/slowdown.js';
import { checkSlowdown } from '../../runs/slowdown/slowdown-check.js';
import { megahertz } from '../../runs/slowdown/slowdown-words.js';
import { workPerCycle } from '../../runs/slowdown/work-per-cycle.js';
import type { OffsetLoss } from '../curve-voltage.js';
import type { SlowedRun } from '../power-curve.js';

/** What the runs' throughput says against their reported frequency. */
export interface WorkLosses {
  /** Effective share of the reported frequency by run label, with its standard error; runs not named work as they report. */
  readonly effectiveShares: ReadonlyMap<string, { readonly ratio: number; readonly standardError: number }>;
  readonly offsetLosses: readonly OffsetLoss[];
  readonly slowedRuns: readonly SlowedRun[];
  readonly findings: readonly Finding[];
}

const NOTHING: WorkLosses = { effectiveShares: new Map(), offsetLosses: [], slowedRuns: [], findings: [] };

/**
 * Compares the work per cycle of runs before a curve is fitted to their frequencies.
 *
 * Runs nearest to the maker's voltages are compared with that of them which does most work per cycle; then the runs at
 * each deeper voltage offset with those that were not slowed down. Runs of several workloads are not compared.
 */
export function workLosses(runs: readonly Run[]): WorkLosses {
  const telling = runs.filter((run) => workPerCycle(run) !== undefined);
  const workloads = new Set(runs.flatMap(({ conditions }) => conditions.workload ?? []));
  if (telling.length < 2 || workloads.size > 1) return NOTHING;
  requireDifferentLabels(telling, 'fitPowerCurve');
  const offsets = [...new Set(telling.map(offsetOf))].sort((a, b) => b - a);
  const base = telling.filter((run) => offsetOf(run) === offsets[0]);
  const amongBase = base.length < 2 ? [] : checkSlowdown(base, { reference: mostWork(base) }).runs;
  const slowedBase = amongBase.filter(({ verdict }) => verdict === 'loss');
  const sound = base.filter(({ label }) => !slowedBase.some((slowed) => slowed.label === label));
  const deeper = telling.filter((run) => offsetOf(run) !== offsets[0]);
  const atOffsets =
    deeper.length === 0
      ? []
      : checkSlowdown([...sound, ...deeper], { reference: sound.map(({ label }) => label) }).runs;
  const offsetLosses = offsets.slice(1).map((offsetMv) => {
    const labels = deeper.filter((run) => offsetOf(run) === offsetMv).map(({ label }) => label);
    return lossAtOffset(
      offsetMv,
      atOffsets.filter(({ label }) => labels.includes(label)),
    );
  });
  const slowed = [...slowedBase, ...atOffsets.filter(({ verdict }) => verdict === 'loss')];
  return {
    effectiveShares: new Map(
      slowed.map(({ label, effectiveMHz, reportedMHz, lossFraction }) => [
        label,
        { ratio: effectiveMHz / reportedMHz, standardError: standardErrorOf(lossFraction) },
      ]),
    ),
    offsetLosses,
    slowedRuns: slowed.map(({ label, reportedMHz, effectiveMHz, lossFraction }) => ({
      label,
      voltageOffsetMv: offsetOf(telling.find((run) => run.label === label)!),
      reportedMHz,
      effectiveMHz,
      lossFraction,
    })),
    findings: slowed.map(findingOf),
  };
}

function offsetOf({ conditions }: Run): number {
  return conditions.voltageOffsetMv ?? 0;
}

/** Label of the run with the most work per cycle. */
function mostWork(runs: readonly Run[]): string {
  const perCycle = (run: Run): number => {
    const { meanThroughputPerS, meanFrequencyMHz } = workPerCycle(run)!;
    return meanThroughputPerS / meanFrequencyMHz;
  };
  return runs.reduce((most, run) => (perCycle(run) > perCycle(most) ? run : most)).label;
}

/** Runs at one offset together: where one of them lost work, all of them count, weighted by their certainty. */
function lossAtOffset(offsetMv: number, runs: readonly RunSlowdown[]): OffsetLoss {
  if (!runs.some(({ verdict }) => verdict === 'loss')) {
    return { offsetMv, lossFraction: 0, standardErrorFraction: 0 };
  }
  const losses = runs.map(({ effectiveMHz, reportedMHz, lossFraction }) => ({
    loss: Math.max(0, 1 - effectiveMHz / reportedMHz),
    weight: 1 / standardErrorOf(lossFraction) ** 2,
  }));
  const total = losses.reduce((sum, { weight }) => sum + weight, 0);
  const mean = losses.reduce((sum, { loss, weight }) => sum + (weight / total) * loss, 0);
  // Losses that differ from power to power are not told apart by offset alone: their spread is uncertainty.
  const squares = losses.reduce((sum, { loss }) => sum + (loss - mean) ** 2, 0);
  const spread = runs.length < 2 ? 0 : squares / (runs.length - 1);
  return { offsetMv, lossFraction: mean, standardErrorFraction: Math.sqrt(1 / total + spread) };
}

function standardErrorOf(estimate: Estimate): number {
  return estimate.kind === 'estimated' ? Math.max(estimate.standardError, 1e-6) : 0;
}

function findingOf({ label, reportedMHz, effectiveMHz, sentence }: RunSlowdown): Finding {
  return {
    code: 'hidden-slowdown',
    severity: 'serious',
    message: `${sentence} The curve counts ${megahertz(effectiveMHz)} of the ${megahertz(reportedMHz)} MHz of ${label}.`,
    remedy:
      'look at the runs with checkSlowdown; give the processor more voltage, or leave the run out if it does not stand for the use',
  };
}
