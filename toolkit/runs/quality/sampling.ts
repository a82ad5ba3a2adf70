import { ArgumentError } from '../../errors.js';
import type { Finding } from '../finding.js';
import { atRank, spreadSample } from '../spread-sample.js';
import { listedLines } from './listed-lines.js';

/** A stretch without samples. */
export interface Gap {
  /** Index of the last sample before it; the next sample is the first after it. */
  readonly beforeIndex: number;
  readonly startS: number;
  readonly endS: number;
}

/** How a run was sampled. */
export interface Sampling {
  /** Median of the intervals between samples, s. */
  readonly medianIntervalS: number;
  /** Intervals longer than this count as gaps, s. */
  readonly gapThresholdS: number;
  readonly gaps: readonly Gap[];
  /** Share of the other intervals that differ from the median by more than a quarter of it. */
  readonly irregularFraction: number;
}

/** An interval this many times the median is a gap: at least two samples in a row are missing. */
const GAP_IN_MEDIANS = 3;

/** Logs written on change have long intervals by nature: a gap is also this many times the 90th percentile. */
const GAP_IN_LONG_INTERVALS = 2;

/** Deviation from the median interval, as a share of it, from which an interval is irregular. */
const IRREGULAR_FRACTION = 0.25;

/**
 * How a run was sampled: its usual interval, its gaps, its irregularity.
 *
 * An interval is a gap when it is longer than three times the median interval and longer than twice the 90th
 * percentile of the intervals (the second matters only for logs that write on change). Both quantiles are taken
 * from at most 8192 intervals spread over the run.
 *
 * @param timeS - times, s, strictly increasing; length n >= 2
 * @returns the usual interval, the threshold used, the gaps in order and the irregular share
 * @throws ArgumentError if there are fewer than two times
 * @example
 * samplingOf([0, 1, 2, 3, 12, 13, 14]).gaps; // => [{ beforeIndex: 3, startS: 3, endS: 12 }]
 */
export function samplingOf(timeS: ArrayLike<number>): Sampling {
  if (!(timeS.length >= 2)) {
    throw new ArgumentError({
      caller: 'samplingOf',
      argument: 'timeS',
      expected: 'at least two times',
      received: timeS,
    });
  }
  const intervals = spreadSample(timeS.length - 1, (i) => timeS[i + 1] - timeS[i]);
  const medianIntervalS = atRank(intervals, 0.5);
  const gapThresholdS = Math.max(
    GAP_IN_MEDIANS * medianIntervalS,
    // In a handful of intervals the 90th percentile is the longest itself and would hide every gap.
    intervals.length < 20 ? 0 : GAP_IN_LONG_INTERVALS * atRank(intervals, 0.9),
  );
  const shortest = (1 - IRREGULAR_FRACTION) * medianIntervalS;
  const longest = (1 + IRREGULAR_FRACTION) * medianIntervalS;

  const gaps: Gap[] = [];
  let irregularCount = 0;
  for (let i = 1; i < timeS.length; i++) {
    const intervalS = timeS[i] - timeS[i - 1];
    if (intervalS > gapThresholdS) gaps.push({ beforeIndex: i - 1, startS: timeS[i - 1], endS: timeS[i] });
    else if (intervalS < shortest || intervalS > longest) irregularCount++;
  }
  const ordinaryCount = timeS.length - 1 - gaps.length;
  return {
    medianIntervalS,
    gapThresholdS,
    gaps,
    irregularFraction: ordinaryCount === 0 ? 0 : irregularCount / ordinaryCount,
  };
}

/** Share of irregular intervals from which it is worth a note. */
const NOTED_IRREGULAR_FRACTION = 0.05;

/** Fewer samples than this do not tell a course from noise. */
const LEAST_SAMPLE_COUNT = 20;

/** Findings about the time stamps: too few of them, gaps and irregular intervals. */
export function samplingFindings(
  timeS: ArrayLike<number>,
  lineNumbers: ArrayLike<number> | undefined,
): readonly Finding[] {
  const { gaps, gapThresholdS, medianIntervalS, irregularFraction } = samplingOf(timeS);
  const findings: Finding[] = [];
  if (timeS.length < LEAST_SAMPLE_COUNT) {
    findings.push({
      code: 'too-few-samples',
      severity: 'serious',
      message: `The run has only ${timeS.length} samples; fewer than ${LEAST_SAMPLE_COUNT} do not tell a course from noise. Used as given.`,
      remedy:
        'log for longer or at shorter intervals, or leave this run out; for averages alone there is coolerFromSteadyPoints',
      count: timeS.length,
    });
  }
  if (gaps.length > 0) {
    let missingS = 0;
    let widest = gaps[0];
    for (const gap of gaps) {
      missingS += gap.endS - gap.startS;
      if (gap.endS - gap.startS > widest.endS - widest.startS) widest = gap;
    }
    const durationS = timeS[timeS.length - 1] - timeS[0];
    findings.push({
      code: 'gap',
      severity: missingS > 0.1 * durationS ? 'warning' : 'note',
      message: `${gaps.length} ${gaps.length === 1 ? 'gap' : 'gaps'} longer than ${short(gapThresholdS)} s (the usual interval is ${short(medianIntervalS)} s), together ${short(missingS)} s, the longest ${short(widest.endS - widest.startS)} s; nothing was filled in.`,
      remedy:
        'the lines named are the first after each gap; what happened meanwhile is unknown, so a fit starts anew there',
      count: gaps.length,
      ...listedLines(
        gaps.map(({ beforeIndex }) => beforeIndex + 1),
        lineNumbers,
      ),
      rangeS: [widest.startS, widest.endS],
    });
  }
  if (irregularFraction > NOTED_IRREGULAR_FRACTION) {
    findings.push({
      code: 'irregular-sampling',
      severity: 'note',
      message: `${short(100 * irregularFraction)} % of the intervals differ by more than a quarter from the usual ${short(medianIntervalS)} s; the times are used as logged, nothing was resampled.`,
      remedy:
        'nothing to do for a fit; log at a fixed interval if the log is read by eye or by other programs',
      count: Math.round(irregularFraction * (timeS.length - 1 - gaps.length)),
    });
  }
  return findings;
}

function short(value: number): string {
  return String(Number(value.toPrecision(3)));
}
