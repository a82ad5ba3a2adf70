import { samplesPerIndependentSample } from '../../numerics/autocorrelation.js';
import type { Finding } from '../../runs/finding.js';
import { quantumOf } from '../../runs/quantum.js';
import type { Run } from '../../runs/run.js';
import { loadSegments } from '../../runs/segments/load-segments.js';
import type { LoadSegment } from '../../runs/segments/run-segment.js';
import type { CurvePoint } from '../power-curve.js';
import type { Observation, ObservedVoltage } from './observation.js';
import { roundingVariance, sharedRoundingVariance } from './rounding-variance.js';

/** How runs are averaged. */
export interface AveragingOptions {
  /** Load time left out at the start of each segment, s. */
  readonly settleS: number;
  readonly frequencyRounding: 'nearest' | 'floor';
  /** Effective share of the reported frequency by run label, for runs that were slowed down behind it. */
  readonly effectiveShares: ReadonlyMap<string, { readonly ratio: number; readonly standardError: number }>;
}

/** One average with the work done in it, where that was logged. */
export interface RunObservation extends Observation {
  readonly throughputPerS?: number;
  /** What the work follows; the curve's frequency, or less where the run's voltage offset lost work. */
  readonly effectiveFrequencyMHz: number;
}

/** The load segments of runs as averages. */
export interface RunObservations {
  readonly observations: readonly RunObservation[];
  readonly segmentLabels: readonly string[];
  readonly points: readonly CurvePoint[];
  readonly findings: readonly Finding[];
}

/** Average time bins in all, and the most and fewest per segment. */
const ALL_BINS = 240;
const MOST_BINS = 20;
const FEWEST_BINS = 6;

/** Samples a bin must hold. */
const BIN_SAMPLES = 5;

/** The steady point of a segment is its mean over this last stretch, s. */
const STEADY_STRETCH_S = 120;

/** Frequency steps from which flooring instead of rounding would matter, MHz. */
const TELLING_STEP_MHZ = 5;

interface UsableSegment {
  readonly run: Run;
  readonly segment: LoadSegment;
  readonly label: string;
}

/**
 * Averages the load segments of runs over time bins that widen from the start of the load, so that the warm-up, where
 * temperature moves at held power, is resolved and the steady end is one long average.
 */
export function observeRuns(runs: readonly Run[], options: AveragingOptions): RunObservations {
  const findings: Finding[] = [];
  const usable: UsableSegment[] = [];
  for (const run of runs) {
    if (run.frequencyMHz === undefined) {
      findings.push({
        code: 'no-frequency',
        severity: 'warning',
        message: `Run ${run.label} has no frequency column and was left out of the power curve.`,
        remedy: 'log the mean core frequency in every run',
      });
      continue;
    }
    usable.push(...usableSegments(run, findings));
  }
  const frequencyStepMHz = commonFrequencyStep(runs);
  findings.push(...stepFindings(frequencyStepMHz, options.frequencyRounding));
  const shiftMHz = options.frequencyRounding === 'floor' ? frequencyStepMHz / 2 : 0;
  const relationOffsetMv = Math.max(...runs.map(({ conditions }) => conditions.voltageOffsetMv ?? 0));
  const binCount = Math.max(
    FEWEST_BINS,
    Math.min(MOST_BINS, Math.floor(ALL_BINS / Math.max(1, usable.length))),
  );
  const observations: RunObservation[] = [];
  const points: CurvePoint[] = [];
  const segmentLabels: string[] = [];
  let invalidCount = 0;
  for (const { run, segment, label } of usable) {
    const valid = validSamples(run, segment, options.settleS);
    invalidCount += valid.invalidCount;
    const bins = binsOf(run, valid.indices, segment.startS + options.settleS, binCount);
    if (bins.length === 0) {
      findings.push({
        code: 'short-load',
        severity: 'note',
        message: `The load of ${label} has fewer than ${BIN_SAMPLES} samples after its first ${options.settleS} s and was left out.`,
        remedy: 'log longer, or at a shorter interval',
        rangeS: [segment.startS, segment.endS],
      });
      continue;
    }
    const source: SegmentSource = {
      run,
      number: segmentLabels.length,
      limitedBy: segment.limitedBy,
      steps: {
        frequencyMHz: frequencyStepMHz,
        powerW: quantumOf(run.powerW) ?? 0,
        temperatureK: quantumOf(run.temperatureC) ?? 0,
        voltageV: (run.voltageV && quantumOf(run.voltageV)) ?? 0,
      },
      shiftMHz,
      frequencyNoise: frequencyNoise(run, valid.indices),
      roundingVariance: sharedRoundingVariance(frequencyStepMHz, varianceOverBins(run.frequencyMHz!, bins)),
      ...sharesOf(run, relationOffsetMv, options.effectiveShares),
    };
    segmentLabels.push(label);
    observations.push(...bins.map((indices) => observe(source, indices)));
    const steady = valid.indices.filter((index) => run.timeS[index] > segment.endS - STEADY_STRETCH_S);
    const { powerW, temperatureC, frequencyMHz, throughputPerS, voltageOffsetMv } = observe(source, steady);
    points.push({
      label,
      powerW,
      temperatureC,
      frequencyMHz,
      ...(throughputPerS !== undefined && { throughputPerS }),
      ...(voltageOffsetMv !== 0 && { voltageOffsetMv }),
      limitedBy: segment.limitedBy,
    });
  }
  if (invalidCount > 0) {
    findings.push({
      code: 'invalid-samples',
      severity: 'note',
      message: `${invalidCount} samples under load without a positive power and frequency and a temperature were passed over.`,
      count: invalidCount,
    });
  }
  return { observations, segmentLabels, points, findings };
}

/** Load segments that lie on the curve: all but those that lacked work, whose activity differs. */
function usableSegments(run: Run, findings: Finding[]): UsableSegment[] {
  const loads = loadSegments(run).segments.filter((segment) => segment.kind === 'load');
  const idle = loads.filter(({ limitedBy }) => limitedBy === 'demand');
  for (const { startS, endS } of idle) {
    findings.push({
      code: 'demand-limited',
      severity: 'note',
      message: `In run ${run.label} the power was limited by demand from ${startS.toFixed(0)} to ${endS.toFixed(0)} s: that load is not the workload of the curve and was left out.`,
      remedy: 'keep all cores busy, or state conditions.powerCapW if this power is the cap',
      rangeS: [startS, endS],
    });
  }
  const held = loads.filter(({ limitedBy }) => limitedBy !== 'demand');
  if (held.length === 0) {
    findings.push({
      code: 'no-load',
      severity: 'warning',
      message: `Run ${run.label} holds no load limited by a cap, temperature or frequency and adds nothing to the curve.`,
      remedy: 'state conditions.powerCapW, or log a run under full load',
    });
  }
  return held.map((segment) => ({
    run,
    segment,
    label:
      held.length === 1
        ? run.label
        : `${run.label}, ${segment.startS.toFixed(0)} to ${segment.endS.toFixed(0)} s`,
  }));
}

/** More distinct readings than this are no coarse step. */
const MOST_DISTINCT = 400;

/** No log rounds coarser, MHz: what readings have in common beyond is chance. */
const COARSEST_STEP_MHZ = 100;

/**
 * The coarsest step in which the runs' frequencies come, MHz; 0 where none shows. A steady governor changes its step too
 * rarely for the differences to tell: then it is the smallest distance between readings, if all readings are multiples, or
 * what whole-numbered readings have as their common divisor.
 */
function commonFrequencyStep(runs: readonly Run[]): number {
  const byDifferences = Math.max(
    0,
    ...runs.map(({ frequencyMHz }) => (frequencyMHz && quantumOf(frequencyMHz)) ?? 0),
  );
  if (byDifferences > 0) return byDifferences;
  const distinct = [...new Set(runs.flatMap(({ frequencyMHz }) => Array.from(frequencyMHz ?? [])))]
    .filter((value) => value > 0)
    .sort((a, b) => a - b);
  if (distinct.length < 2 || distinct.length > MOST_DISTINCT) return 0;
  const leastGapMHz = distinct.reduce(
    (least, value, i) => (i === 0 ? least : Math.min(least, value - distinct[i - 1])),
    Number.POSITIVE_INFINITY,
  );
  const onGrid = distinct.every(
    (value) => Math.abs(value / leastGapMHz - Math.round(value / leastGapMHz)) < 0.02,
  );
  if (onGrid && leastGapMHz <= COARSEST_STEP_MHZ) return leastGapMHz;
  if (!distinct.every(Number.isInteger)) return 0;
  const divisor = distinct.reduce(greatestCommonDivisor);
  return divisor / Math.ceil(divisor / COARSEST_STEP_MHZ);
}

function greatestCommonDivisor(a: number, b: number): number {
  return b === 0 ? a : greatestCommonDivisor(b, a % b);
}

function stepFindings(stepMHz: number, rounding: AveragingOptions['frequencyRounding']): Finding[] {
  if (stepMHz < TELLING_STEP_MHZ) return [];
  const step = Number(stepMHz.toPrecision(3));
  const half = Number((stepMHz / 2).toPrecision(3));
  if (rounding === 'floor') {
    return [
      {
        code: 'frequency-floored',
        severity: 'note',
        message: `The frequency comes in steps of ${step} MHz and was said to be rounded down: ${half} MHz were added to every average.`,
      },
    ];
  }
  return [
    {
      code: 'frequency-step',
      severity: 'note',
      message: `The frequency comes in steps of ${step} MHz and was taken as rounded to the nearest; if the log rounds down, every frequency of the curve is ${half} MHz too low (differences between caps are not affected).`,
      remedy: "if the log rounds down, give options.frequencyRounding: 'floor'",
    },
  ];
}

function validSamples(
  run: Run,
  segment: LoadSegment,
  settleS: number,
): { readonly indices: readonly number[]; readonly invalidCount: number } {
  const indices: number[] = [];
  let invalidCount = 0;
  for (let i = segment.startIndex; i < segment.endIndex; i++) {
    if (run.timeS[i] < segment.startS + settleS) continue;
    const valid = run.frequencyMHz![i] > 0 && run.powerW[i] > 0 && Number.isFinite(run.temperatureC[i]);
    if (valid) indices.push(i);
    else invalidCount++;
  }
  return { indices, invalidCount };
}

/** Divides samples into bins whose edges lie evenly in the logarithm of the time since the load began. */
function binsOf(run: Run, indices: readonly number[], fromS: number, binCount: number): number[][] {
  if (indices.length < BIN_SAMPLES) return [];
  // Half a minute on either side of the origin keeps the first bins from being a sample wide.
  const offsetS = 30;
  const position = (index: number): number => Math.log((run.timeS[index] - fromS + offsetS) / offsetS);
  const whole = Math.max(position(indices.at(-1)!), Number.MIN_VALUE);
  const bins: number[][] = [];
  let open: number[] = [];
  let edge = 1;
  for (const index of indices) {
    if (open.length >= BIN_SAMPLES && position(index) > (edge * whole) / binCount) {
      bins.push(open);
      open = [];
      while (position(index) > (edge * whole) / binCount) edge++;
    }
    open.push(index);
  }
  if (open.length >= BIN_SAMPLES || bins.length === 0) bins.push(open);
  else bins.at(-1)!.push(...open);
  return bins;
}

/**
 * Variance of one sample of frequency about its trend, MHz², times the number of samples per independent one, from
 * the second half of a segment, where temperature moves slowly.
 */
function frequencyNoise(run: Run, indices: readonly number[]): number {
  const half = indices.slice(Math.floor(indices.length / 2));
  const values = half.map((index) => run.frequencyMHz![index]);
  const count = values.length;
  if (count < 4) return 0;
  const middle = (count - 1) / 2;
  const { mean } = momentsOf(run.frequencyMHz!, half);
  const slope =
    values.reduce((sum, value, i) => sum + (i - middle) * (value - mean), 0) /
    ((count * (count * count - 1)) / 12);
  const residuals = values.map((value, i) => value - mean - slope * (i - middle));
  const variance = residuals.reduce((sum, value) => sum + value * value, 0) / (count - 2);
  return variance * samplesPerIndependentSample(residuals, { fittedCount: 2 });
}

/** What the averages of one segment have in common. */
interface SegmentSource {
  readonly run: Run;
  readonly number: number;
  readonly limitedBy: LoadSegment['limitedBy'];
  readonly steps: {
    readonly frequencyMHz: number;
    readonly powerW: number;
    readonly temperatureK: number;
    readonly voltageV: number;
  };
  readonly shiftMHz: number;
  /** See `frequencyNoise`, MHz². */
  readonly frequencyNoise: number;
  /** What rounding leaves in the mean of all its readings, MHz². */
  readonly roundingVariance: number;
  /** Share of the reported frequency that the curve is fitted to, with its standard error. */
  readonly fittedShare: number;
  readonly shareStandardError: number;
  /** Share of it that the work follows. */
  readonly effectiveShare: number;
}

/**
 * A run slowed down at the maker's voltage counts with its effective frequency from the start. At a deeper offset the
 * reported frequency keeps to P(f, T, V), and the loss is taken off the answers at that offset (`effectiveShare`).
 */
function sharesOf(
  run: Run,
  relationOffsetMv: number,
  effectiveShares: AveragingOptions['effectiveShares'],
): Pick<SegmentSource, 'fittedShare' | 'shareStandardError' | 'effectiveShare'> {
  const { ratio, standardError } = effectiveShares.get(run.label) ?? { ratio: 1, standardError: 0 };
  const atRelation = (run.conditions.voltageOffsetMv ?? 0) === relationOffsetMv;
  return atRelation
    ? { fittedShare: ratio, shareStandardError: standardError, effectiveShare: ratio }
    : { fittedShare: 1, shareStandardError: 0, effectiveShare: ratio };
}

function observe(source: SegmentSource, indices: readonly number[]): RunObservation {
  const { run, steps } = source;
  const frequency = momentsOf(run.frequencyMHz!, indices);
  const power = momentsOf(run.powerW, indices);
  const temperature = momentsOf(run.temperatureC, indices);
  const throughputPerS = run.throughputPerS && momentsOf(run.throughputPerS, indices).mean;
  const voltage = voltageOf(source, indices);
  const reportedMHz = frequency.mean + source.shiftMHz;
  return {
    powerW: power.mean,
    temperatureC: temperature.mean,
    frequencyMHz: source.fittedShare * reportedMHz,
    effectiveFrequencyMHz: source.effectiveShare * reportedMHz,
    segmentVariance: (source.shareStandardError * reportedMHz) ** 2 + source.roundingVariance,
    frequencyVariance:
      Math.max(frequency.variance, source.frequencyNoise) / indices.length +
      roundingVariance(steps.frequencyMHz, frequency.variance),
    powerVariance: power.variance / indices.length + roundingVariance(steps.powerW, power.variance),
    temperatureVariance:
      temperature.variance / indices.length + roundingVariance(steps.temperatureK, temperature.variance),
    segment: source.number,
    sampleCount: indices.length,
    limitedBy: source.limitedBy,
    voltageOffsetMv: run.conditions.voltageOffsetMv ?? 0,
    ...(voltage !== undefined && { voltage }),
    ...(throughputPerS !== undefined && Number.isFinite(throughputPerS) && { throughputPerS }),
  };
}

/** Mean voltage of a bin; undefined where fewer than half of its samples have one. */
function voltageOf({ run, steps }: SegmentSource, indices: readonly number[]): ObservedVoltage | undefined {
  const { voltageV } = run;
  if (voltageV === undefined) return undefined;
  const valid = indices.filter((index) => voltageV[index] > 0);
  if (valid.length < indices.length / 2) return undefined;
  const { mean, variance } = momentsOf(voltageV, valid);
  return {
    voltageV: mean,
    variance: variance / valid.length + roundingVariance(steps.voltageV, variance),
    setByHand: false,
  };
}

/** Variance of readings about their common mean, every bin counting alike, as it does in a fit where rounding rules. */
function varianceOverBins(values: ArrayLike<number>, bins: readonly (readonly number[])[]): number {
  const moments = bins.map((indices) => momentsOf(values, indices));
  const mean = moments.reduce((sum, bin) => sum + bin.mean / bins.length, 0);
  return moments.reduce((sum, bin) => sum + (bin.variance + (bin.mean - mean) ** 2) / bins.length, 0);
}

function momentsOf(
  values: ArrayLike<number>,
  indices: readonly number[],
): { readonly mean: number; readonly variance: number } {
  let sum = 0;
  for (const index of indices) sum += values[index];
  const mean = sum / indices.length;
  let squares = 0;
  for (const index of indices) squares += (values[index] - mean) ** 2;
  return { mean, variance: indices.length > 1 ? squares / (indices.length - 1) : 0 };
}
