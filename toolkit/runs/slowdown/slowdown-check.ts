import {
  ArgumentError,
  type KnownNames,
  nearestName,
  requireKnownNames,
  requireNumber,
} from '../../errors.js';
import { studentTCdf, studentTQuantile } from '../../numerics/distributions.js';
import { effectiveDegreesOfFreedom } from '../../numerics/effective-degrees-of-freedom.js';
import { holmAdjustedPValues } from '../../numerics/holm.js';
import type { Finding } from '../finding.js';
import { requireDifferentLabels, requireRuns } from '../require-run.js';
import type { Run } from '../run.js';
import type { RunSlowdown, SlowdownCheck, SlowdownVerdict } from './slowdown.js';
import { slowdownSentence, slowdownSummary } from './slowdown-words.js';
import { type WorkPerCycle, workPerCycle } from './work-per-cycle.js';

/** What runs are compared with, and how much they may differ for reasons of no interest. */
export interface SlowdownCheckOptions {
  /**
   * Label of the run, or labels of the runs, known to work as they report. Default: the runs without a voltage offset
   * where others state one (`conditions.voltageOffsetMv`), else the first run.
   */
  readonly reference?: string | readonly string[];
  /**
   * Standard deviation of the work per cycle from run to run, as a fraction, of what the machine does beside the work.
   * Default 0.002.
   */
  readonly runToRunFraction?: number;
}

const OPTION_NAMES: KnownNames<SlowdownCheckOptions> = { reference: true, runToRunFraction: true };

/**
 * Defaults of `checkSlowdown`.
 *
 * @example
 * SLOWDOWN_CHECK_DEFAULTS.runToRunFraction; // => 0.002
 */
export const SLOWDOWN_CHECK_DEFAULTS: { readonly runToRunFraction: number } = { runToRunFraction: 0.002 };

/** Chance of calling a loss where there is none, over all runs. */
const SIGNIFICANCE = 0.05;

/** Reference frequencies must spread over this ratio before their exponent is known. */
const TELLING_FREQUENCY_RATIO = 1.03;

/**
 * Does a run do the work that its reported frequency promises? Throughput per core cycle against reference runs.
 *
 * A processor can report a frequency at which it does not work: cycles are left out or stretched when the voltage is too
 * low for the clock, or work is repeated. Frequency then stays or rises while throughput falls.
 *
 * The work of each run is compared with what the reference would do at the same frequency. Where reference runs lie at
 * several frequencies, their exponent s in y ∝ f^s, 0 to 1, is known; with one frequency, s may be anything from 0
 * (all waits for memory) to 1 (proportional), and only a difference that no s explains is a loss. The test is one-sided on
 * ln(expected/done), with the standard errors of both sides (autocorrelation corrected) and a run-to-run spread,
 * at 5 % over all runs (Holm's method).
 *
 * @param runs - two or more runs of one processor under one workload, with frequency and throughput
 * @param options - the reference, and the run-to-run spread
 * @returns one verdict per run that is no reference, with the loss, its interval, and a summary in words
 * @throws ArgumentError for fewer than two runs with frequency and throughput, two of one label, an unknown reference,
 * runs of different processors or workloads
 * @example
 * const run = (label: string, frequencyMHz: number, workPerCycle: number) => {
 *   const timeS = Array.from({ length: 400 }, (_, i) => i);
 *   const wave = timeS.map((t) => 1 + 0.004 * Math.sin(1.7 * t) * Math.cos(0.31 * t));
 *   return makeRun({
 *     timeS, powerW: timeS.map(() => 95), temperatureC: timeS.map((t) => 70 - 30 * Math.exp(-t / 60)),
 *     frequencyMHz: timeS.map(() => frequencyMHz), throughputPerS: wave.map((w) => workPerCycle * frequencyMHz * w),
 *   }, { label, conditions: { powerCapW: 95 } });
 * };
 * const check = checkSlowdown([run('as delivered', 3900, 0.0016), run('lowered by 90 mV', 4050, 0.00147)]);
 * check.runs[0].verdict; // => 'loss'
 * check.runs[0].sentence; // => 'lowered by 90 mV reports 4050 MHz, works like 3721 MHz: 8.1 % less work per cycle (95 % interval 7.6 to 8.6 %) than as delivered. Its frequency is higher than that of as delivered, its work is less.'
 */
export function checkSlowdown(runs: readonly Run[], options: SlowdownCheckOptions = {}): SlowdownCheck {
  const caller = 'checkSlowdown';
  const list = requireRuns(runs, caller);
  if (list.length === 0)
    throw new ArgumentError({
      caller,
      argument: 'runs',
      expected: 'two runs or more: a reference and the run in doubt',
      received: list,
      remedy: 'read their logs with parseRun or readRun',
    });
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const runToRunFraction = options.runToRunFraction ?? SLOWDOWN_CHECK_DEFAULTS.runToRunFraction;
  requireNumber(
    runToRunFraction,
    { caller, argument: 'options.runToRunFraction', remedy: 'give a fraction, 0.002 for 0.2 %' },
    { atLeast: 0, below: 0.2 },
  );
  requireOneOf(caller, list, 'processor');
  requireOneOf(caller, list, 'workload');
  const findings: Finding[] = [];
  const known = list.flatMap((run) => {
    const work = workPerCycle(run);
    if (work === undefined) findings.push(leftOut(run));
    return work === undefined ? [] : [work];
  });
  requireDifferentLabels(known, caller);
  findings.push(...driftFindings(known));
  const referenceLabels = referencesOf(caller, list, options.reference);
  const references = known.filter(({ label }) => referenceLabels.includes(label));
  const others = known.filter(({ label }) => !referenceLabels.includes(label));
  if (references.length === 0 || others.length === 0) {
    throw new ArgumentError({
      caller,
      argument: 'runs',
      expected:
        'a reference and at least one other run, each with 20 samples of frequency and throughput under load',
      received: known.length === 0 ? 'none' : known.map(({ label }) => label).join(', '),
      remedy:
        'log work done per second beside the frequency, in a run as delivered and in the run that is in doubt',
    });
  }
  const standard = standardOf(references, runToRunFraction);
  const compared = others.map((work) => compare(work, standard, runToRunFraction));
  const adjusted = holmAdjustedPValues(compared.map(({ pValue }) => pValue));
  const results = compared.map((each, k) => resultOf(each, adjusted[k], standard, others.length, references));
  return {
    kind: 'slowdown-check',
    summary: slowdownSummary(results, standard.labels),
    reference: {
      labels: standard.labels,
      frequencyMHz: standard.frequencyMHz,
      throughputPerS: standard.throughputPerS,
      ...(standard.exponent !== undefined && { throughputExponent: standard.exponent }),
    },
    runs: results,
    runToRunFraction,
    findings,
  };
}

function requireOneOf(caller: string, runs: readonly Run[], key: 'processor' | 'workload'): void {
  const values = [...new Set(runs.flatMap(({ conditions }) => conditions[key] ?? []))];
  if (values.length <= 1) return;
  throw new ArgumentError({
    caller,
    argument: 'runs',
    expected: `runs of one ${key}`,
    received: values.join(', '),
    remedy: `work of different ${key}s cannot be compared: check each ${key} by itself`,
  });
}

function leftOut({ label, frequencyMHz, throughputPerS }: Run): Finding {
  const missing =
    frequencyMHz === undefined
      ? 'has no frequency column'
      : throughputPerS === undefined
        ? 'has no throughput column'
        : 'holds fewer than 20 samples of frequency and throughput under load';
  return {
    code: 'not-compared',
    severity: 'warning',
    message: `Run ${label} ${missing} and was not compared.`,
    remedy: 'log work done per second beside the frequency',
  };
}

/** Work per cycle must fall by this much within a run before it is worth a finding. */
const TELLING_DRIFT_FRACTION = 0.01;

/** A frequency that rises by more than this may let work wait for memory. */
const STILL_FREQUENCY_FRACTION = 0.005;

/** A slowdown that sets in while a run warms up hides in its mean, and in the reference's as well. */
function driftFindings(works: readonly WorkPerCycle[]): Finding[] {
  return works.flatMap(({ label, driftFraction, frequencyDriftFraction, chanceWithoutDrift }) =>
    driftFraction > -TELLING_DRIFT_FRACTION ||
    frequencyDriftFraction > STILL_FREQUENCY_FRACTION ||
    chanceWithoutDrift > SIGNIFICANCE / works.length
      ? []
      : [
          {
            code: 'work-falls-within-run',
            severity: 'warning' as const,
            message: `In run ${label} the work per cycle falls by ${(-100 * driftFraction).toFixed(1)} % from the beginning to the end of the load, while the frequency does not rise: the run is slowed down more and more, and its mean shows a part of it only.`,
            remedy: 'look at throughput over time; compare the hot end of this run with a cooler run',
          },
        ],
  );
}

function referencesOf(
  caller: string,
  runs: readonly Run[],
  reference: SlowdownCheckOptions['reference'],
): readonly string[] {
  if (reference === undefined) {
    const offsetOf = ({ conditions }: Run): number => conditions.voltageOffsetMv ?? 0;
    const plain = runs.filter((run) => offsetOf(run) === 0);
    const useAll = plain.length > 0 && plain.length < runs.length;
    return useAll ? plain.map(({ label }) => label) : [runs[0].label];
  }
  const labels = typeof reference === 'string' ? [reference] : reference;
  const known = runs.map(({ label }) => label);
  for (const label of labels) {
    if (known.includes(label)) continue;
    const near = nearestName(String(label), known);
    throw new ArgumentError({
      caller,
      argument: 'options.reference',
      expected: `the label of one of the runs or several of them: ${known.join(', ')}`,
      received: label,
      ...(near === undefined ? {} : { remedy: `did you mean ${near}?` }),
    });
  }
  return labels;
}

/** The reference: one point, and the exponent with which work follows frequency where its runs tell it. */
interface Standard {
  readonly labels: readonly string[];
  readonly frequencyMHz: number;
  readonly throughputPerS: number;
  readonly exponent?: number;
  /** Variance of ln throughput at `frequencyMHz`, and of the exponent. */
  readonly variance: number;
  readonly exponentVariance: number;
  readonly effectiveSampleCount: number;
  readonly frequencyStepMHz: number;
}

/** Weighted line through ln y against ln f, weights from noise and run-to-run spread, about their weighted centre. */
function standardOf(references: readonly WorkPerCycle[], runToRunFraction: number): Standard {
  const weights = references.map(
    ({ standardErrorFraction }) => 1 / Math.max(standardErrorFraction ** 2 + runToRunFraction ** 2, 1e-12),
  );
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const mean = (of: (work: WorkPerCycle) => number): number =>
    references.reduce((sum, work, k) => sum + (weights[k] / total) * of(work), 0);
  const x = mean(({ meanFrequencyMHz }) => Math.log(meanFrequencyMHz));
  const y = mean(({ meanThroughputPerS }) => Math.log(meanThroughputPerS));
  const frequencies = references.map(({ meanFrequencyMHz }) => meanFrequencyMHz);
  const spread = Math.max(...frequencies) / Math.min(...frequencies);
  let xx = 0;
  let xy = 0;
  references.forEach(({ meanFrequencyMHz, meanThroughputPerS }, k) => {
    xx += weights[k] * (Math.log(meanFrequencyMHz) - x) ** 2;
    xy += weights[k] * (Math.log(meanFrequencyMHz) - x) * (Math.log(meanThroughputPerS) - y);
  });
  const common = {
    labels: references.map(({ label }) => label),
    frequencyMHz: Math.exp(x),
    throughputPerS: Math.exp(y),
    variance: 1 / total,
    effectiveSampleCount: references.reduce((sum, work) => sum + work.effectiveSampleCount, 0),
    frequencyStepMHz: Math.max(...references.map(({ frequencyStepMHz }) => frequencyStepMHz)),
  };
  if (spread < TELLING_FREQUENCY_RATIO) return { ...common, exponentVariance: 0 };
  // Work neither falls with frequency nor rises faster.
  return { ...common, exponent: Math.min(1, Math.max(0, xy / xx)), exponentVariance: 1 / xx };
}

/** ln(expected/done) of one run under the exponents that may hold. */
interface Compared {
  readonly work: WorkPerCycle;
  readonly exponent: number;
  /** Under the most likely exponent. */
  readonly logLoss: number;
  /** The least and the most over the exponents that may hold. */
  readonly leastLogLoss: number;
  readonly mostLogLoss: number;
  readonly standardError: number;
  readonly degreesOfFreedom: number;
  /** Two-sided, of what no exponent explains. */
  readonly pValue: number;
}

function compare(work: WorkPerCycle, standard: Standard, runToRunFraction: number): Compared {
  const x = Math.log(work.meanFrequencyMHz / standard.frequencyMHz);
  const y = Math.log(work.meanThroughputPerS / standard.throughputPerS);
  // Logs that round differently disagree by a part of the coarser step.
  const step =
    work.frequencyStepMHz === standard.frequencyStepMHz
      ? 0
      : Math.max(work.frequencyStepMHz, standard.frequencyStepMHz) / work.meanFrequencyMHz;
  const ofRun = work.standardErrorFraction ** 2;
  const parts = [
    { variance: ofRun, degreesOfFreedom: Math.max(1, work.effectiveSampleCount - 1) },
    {
      variance: standard.variance + x * x * standard.exponentVariance,
      degreesOfFreedom: Math.max(1, standard.effectiveSampleCount - 1),
    },
    { variance: runToRunFraction ** 2 + (step * step) / 12, degreesOfFreedom: Number.POSITIVE_INFINITY },
  ];
  const standardError = Math.sqrt(
    Math.max(
      1e-12,
      parts.reduce((sum, { variance }) => sum + variance, 0),
    ),
  );
  const degreesOfFreedom = effectiveDegreesOfFreedom(parts);
  const exponent = standard.exponent ?? 1;
  const losses = (standard.exponent === undefined ? [0, 1] : [exponent]).map((s) => s * x - y);
  const leastLogLoss = Math.min(...losses);
  const mostLogLoss = Math.max(...losses);
  const unexplained = leastLogLoss > 0 ? leastLogLoss : mostLogLoss < 0 ? -mostLogLoss : 0;
  return {
    work,
    exponent,
    logLoss: exponent * x - y,
    leastLogLoss,
    mostLogLoss,
    standardError,
    degreesOfFreedom,
    pValue: Math.min(1, 2 * studentTCdf(-unexplained / standardError, degreesOfFreedom)),
  };
}

/** Below this the exponent says nothing of the frequency that would do the work. */
const LEAST_EXPONENT = 0.2;

function resultOf(
  compared: Compared,
  adjustedPValue: number,
  standard: Standard,
  runCount: number,
  references: readonly WorkPerCycle[],
): RunSlowdown {
  const { work, exponent, logLoss, leastLogLoss, mostLogLoss, standardError, degreesOfFreedom } = compared;
  const threshold = studentTQuantile(1 - SIGNIFICANCE / (2 * runCount), degreesOfFreedom) * standardError;
  const verdict: SlowdownVerdict =
    adjustedPValue > SIGNIFICANCE
      ? mostLogLoss > threshold && work.meanFrequencyMHz > standard.frequencyMHz
        ? 'may-wait'
        : 'no-loss'
      : leastLogLoss > 0
        ? 'loss'
        : 'more-work';
  const factor = studentTQuantile(0.975, degreesOfFreedom);
  const share = (log: number): number => -Math.expm1(-log);
  const result = {
    label: work.label,
    verdict,
    reportedMHz: work.meanFrequencyMHz,
    effectiveMHz: work.meanFrequencyMHz * Math.exp(-logLoss / Math.max(LEAST_EXPONENT, exponent)),
    throughputPerS: work.meanThroughputPerS,
    expectedThroughputPerS: work.meanThroughputPerS * Math.exp(logLoss),
    lossFraction: {
      kind: 'estimated' as const,
      value: share(logLoss),
      standardError: Math.exp(-logLoss) * standardError,
      interval95: [share(logLoss - factor * standardError), share(logLoss + factor * standardError)] as const,
    },
    detectableFraction: share(threshold),
    adjustedPValue,
  };
  const outdoneBy = references
    .filter(
      ({ meanFrequencyMHz, meanThroughputPerS }) =>
        meanFrequencyMHz <= work.meanFrequencyMHz && meanThroughputPerS > work.meanThroughputPerS,
    )
    .sort((a, b) => b.meanThroughputPerS - a.meanThroughputPerS)[0]?.label;
  const sentence = slowdownSentence(result, {
    labels: standard.labels,
    ...(outdoneBy !== undefined && { outdoneBy }),
  });
  return { ...result, sentence };
}
