import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import {
  type CorrelatedMean,
  meanWithAutocorrelation,
  slopeWithAutocorrelation,
} from '../../numerics/autocorrelation.js';
import type { Estimate } from '../../numerics/estimate.js';
import { unavailable } from '../../numerics/estimates.js';
import { formatEstimate, formatNumber } from '../../numerics/format-estimate.js';
import { blockMeans, blocksOf } from '../block-means.js';
import type { Finding } from '../finding.js';
import { samplingOf } from '../quality/sampling.js';
import { quantumOf } from '../quantum.js';
import { requireRun } from '../require-run.js';
import type { Run } from '../run.js';
import { lastLoads } from './last-loads.js';
import { loadSegments } from './load-segments.js';
import type { LimitedBy, LoadSegment } from './run-segment.js';

/** How to look for the steady end of a run. */
export interface SteadyWindowOptions {
  /** Length of the window at the end of the load, s. Default 120. */
  readonly windowS?: number;
  /** Drift below which the temperature counts as steady for practical purposes, K/min. Default 0.1. */
  readonly driftLimitKPerMin?: number;
  /** Below this power the processor idles, W; as in `loadSegments`. */
  readonly idleBelowW?: number;
}

const OPTION_NAMES: KnownNames<SteadyWindowOptions> = {
  windowS: true,
  driftLimitKPerMin: true,
  idleBelowW: true,
};

/**
 * Defaults of `steadyWindow`: the final two minutes, and 0.1 K/min.
 *
 * @example
 * STEADY_WINDOW_DEFAULTS; // => { windowS: 120, driftLimitKPerMin: 0.1 }
 */
export const STEADY_WINDOW_DEFAULTS: Readonly<
  Required<Pick<SteadyWindowOptions, 'windowS' | 'driftLimitKPerMin'>>
> = { windowS: 120, driftLimitKPerMin: 0.1 };

/** Whether the end of a load can stand for its steady state. */
export type SteadyVerdict = 'steady' | 'drifting' | 'too-short';

/** The end of a load: its means, their uncertainty, and whether it had settled. */
export interface SteadyWindow {
  readonly verdict: SteadyVerdict;
  /** Why, one sentence with numbers and units. */
  readonly reason: string;
  /** Index of the first sample of the window. */
  readonly startIndex: number;
  /** Index one past its last sample. */
  readonly endIndex: number;
  readonly startS: number;
  readonly endS: number;
  readonly temperatureC: CorrelatedMean;
  /** Rise above the air at the intake, where that was measured or stated; a stated air adds no uncertainty here. */
  readonly temperatureRiseK?: CorrelatedMean;
  readonly powerW: CorrelatedMean;
  readonly frequencyMHz?: CorrelatedMean;
  /** Drift of the rise above measured air, else of the temperature, K/min. */
  readonly driftKPerMin: Estimate;
  readonly driftOf: 'temperature' | 'temperature-rise';
  /** What held the load at its end. */
  readonly limitedBy: LimitedBy;
  readonly findings: readonly Finding[];
}

/**
 * A record worth fewer independent samples than this is shorter than ten correlation times: how alike neighbouring
 * samples are is then a guess itself, and no interval holds what it promises (`samplesPerIndependentSample`).
 */
const LEAST_INDEPENDENT_COUNT = 5;

/** Fewer samples than this do not tell drift from noise. */
const LEAST_SAMPLE_COUNT = 20;

/** The verdict needs a drift known to this many times the limit, half a 95 % interval. */
const RESOLVED_IN_LIMITS = 2.5;

/** Two rounded readings that agree differ by less than this many steps with 95 % confidence (triangular). */
const ROUNDED_DIFFERENCE_95 = 1 - Math.sqrt(0.05);

/** Power that changes over the window by this share is not steady itself. */
const STEADY_POWER_FRACTION = 0.02;

/** More samples than this are averaged in blocks first; correlated samples lose nothing by it. */
const LARGEST_SAMPLE_COUNT = 4096;

/**
 * Means over the end of a load, with standard errors that allow for correlated samples, and a test for drift.
 *
 * The window is the last `windowS` of the last stretch under load; a cool-down after it is left out. The drift is
 * the slope of a straight line through it (of the rise above the air, if the air was measured). Significance
 * alone does not make a run unsteady, size alone neither:
 *
 * - `drifting`: the slope reaches `driftLimitKPerMin` and its 95 % interval excludes zero;
 * - `steady`: the slope stays below the limit, and its interval is no wider than 2.5 limits to either side;
 * - `too-short`: the load is shorter than the window, holds fewer than 20 samples, or is too noisy to tell.
 *
 * The default limit of 0.1 K/min leaves at most 0.5 K to go for a heat sink with a time constant of 5 min, since
 * an exponential approach has slope times time constant left. Parts of an enclosure with time constants of hours can
 * move below it. A mean that rests on fewer than five independent samples has no interval (`too-few-points`); of a
 * steady window a finding says so. Assumes samples at nearly equal intervals; errors as in `meanWithAutocorrelation` and
 * `slopeWithAutocorrelation`, rounding of the sensor included.
 *
 * @param run - a run with load in it
 * @param options - length of the window, limit of the drift
 * @returns means (temperature, rise, power, frequency), drift, verdict and findings
 * @throws ArgumentError if an option is not positive, or the run holds no load
 * @example
 * const timeS = Array.from({ length: 1200 }, (_, i) => i);
 * const run = makeRun(
 *   {
 *     timeS,
 *     temperatureC: timeS.map((t) => 70 - 40 * Math.exp(-t / 60) + 0.2 * Math.sin(1.7 * t)),
 *     powerW: timeS.map(() => 65),
 *   },
 *   { label: 'drawer', conditions: { powerCapW: 65, ambientC: 22 } },
 * );
 * const end = steadyWindow(run);
 * end.verdict; // => 'steady'
 * end.temperatureC.mean; // => 70 within 0.02
 * steadyWindow(run, { windowS: 3600 }).verdict; // => 'too-short'
 */
export function steadyWindow(run: Run, options: SteadyWindowOptions = {}): SteadyWindow {
  requireRun(run, 'steadyWindow');
  requireKnownNames(options, OPTION_NAMES, { caller: 'steadyWindow', argument: 'options' });
  const { windowS, driftLimitKPerMin, idleBelowW } = { ...STEADY_WINDOW_DEFAULTS, ...options };
  requireNumber(windowS, { caller: 'steadyWindow', argument: 'options.windowS' }, { above: 0 });
  requireNumber(
    driftLimitKPerMin,
    { caller: 'steadyWindow', argument: 'options.driftLimitKPerMin' },
    { above: 0 },
  );
  const { segments } = loadSegments(run, idleBelowW === undefined ? {} : { idleBelowW });
  const loads = lastLoads(segments);
  const last = loads.at(-1);
  if (last === undefined) {
    throw new ArgumentError({
      caller: 'steadyWindow',
      argument: 'run',
      expected: 'a run with load in it',
      received: `"${run.label}", in which the processor only idles`,
      remedy: 'log a run under load, or pass a lower idleBelowW',
    });
  }

  const { timeS, ambientC } = run;
  const { medianIntervalS, gapThresholdS } = samplingOf(timeS);
  const endIndex = last.endIndex;
  const endS = timeS[endIndex - 1];
  const loadStartIndex = loads[0].startIndex;
  let startIndex = endIndex - 1;
  while (startIndex > loadStartIndex && timeS[startIndex - 1] > endS - windowS) startIndex--;
  const startS = timeS[startIndex];

  const blocks = blocksOf(startIndex, endIndex, LARGEST_SAMPLE_COUNT);
  const windowOf = (values: ArrayLike<number>): Float64Array => blockMeans(values, blocks);
  const meanOf = (values: ArrayLike<number>, quantum: number | undefined): CorrelatedMean =>
    withoutGuessedInterval(
      meanWithAutocorrelation(windowOf(values), quantum === undefined ? {} : { quantum }),
    );

  const temperatureQuantum = quantumOf(run.temperatureC);
  const temperature = windowOf(run.temperatureC);
  const air = ambientC === undefined ? undefined : windowOf(ambientC);
  const statedAirC = run.conditions.ambientC;
  const rise =
    air !== undefined
      ? temperature.map((value, k) => value - air[k])
      : statedAirC !== undefined
        ? temperature.map((value) => value - statedAirC)
        : undefined;
  const testedForDrift = air !== undefined && rise !== undefined ? rise : temperature;
  const minutes = windowOf(timeS).map((time) => time / 60);
  const drift = testedForDrift.length < 2 ? undefined : slopeWithAutocorrelation(minutes, testedForDrift);
  const driftKPerMin: Estimate = drift?.estimate ?? { kind: 'unavailable', reason: 'too-few-points' };
  const lengthS = endS - startS + medianIntervalS;
  const coveredS = endS - timeS[loadStartIndex] + medianIntervalS;

  const { verdict, reason } = judge({
    coveredS,
    windowS,
    // Stamps jitter; half an interval less than the window is the window.
    isCovered: coveredS >= windowS - 0.5 * medianIntervalS,
    sampleCount: endIndex - startIndex,
    slopeKPerMin: drift?.slope ?? 0,
    quantity: testedForDrift === rise ? 'rise above the air' : 'temperature',
    halfWidthKPerMin: Math.hypot(
      driftKPerMin.kind === 'estimated' ? (driftKPerMin.interval95[1] - driftKPerMin.interval95[0]) / 2 : 0,
      // Equal readings have no scatter to judge by, yet their ends may differ by what rounding hides.
      isConstant(temperature) ? (ROUNDED_DIFFERENCE_95 * (temperatureQuantum ?? 0)) / (lengthS / 60) : 0,
    ),
    driftLimitKPerMin,
  });

  const means = {
    temperatureC: meanOf(run.temperatureC, temperatureQuantum),
    ...(rise === undefined
      ? {}
      : {
          temperatureRiseK: withoutGuessedInterval(
            meanWithAutocorrelation(
              rise,
              temperatureQuantum === undefined ? {} : { quantum: temperatureQuantum },
            ),
          ),
        }),
    powerW: meanOf(run.powerW, quantumOf(run.powerW)),
    ...(run.frequencyMHz === undefined
      ? {}
      : { frequencyMHz: meanOf(run.frequencyMHz, quantumOf(run.frequencyMHz)) }),
  };

  const findings: Finding[] = [
    ...gapFindings(timeS, startIndex, endIndex, gapThresholdS),
    ...changeFindings(loads, startS),
    ...(air === undefined ? [] : airFindings(minutes, air, driftLimitKPerMin, [startS, endS])),
    ...powerFindings(minutes, windowOf(run.powerW), [startS, endS]),
    // A window that is not steady asks for a longer log already.
    ...(verdict === 'steady' ? alikeFindings(means, [startS, endS]) : []),
  ];
  if (verdict !== 'steady') {
    findings.push({
      code: verdict === 'drifting' ? 'not-steady' : 'steadiness-unknown',
      severity: 'warning',
      message: `At the end of the load: ${reason}.`,
      remedy:
        verdict === 'drifting'
          ? 'do not take these means for the steady state: log a longer run, or let a fit find where it was heading'
          : 'log a longer run; a fit of the whole course may still find the steady state',
      rangeS: [startS, endS],
    });
  }
  return {
    verdict,
    reason,
    startIndex,
    endIndex,
    startS,
    endS,
    ...means,
    driftKPerMin,
    driftOf: air === undefined ? 'temperature' : 'temperature-rise',
    limitedBy: last.limitedBy,
    findings,
  };
}

/** The mean without an interval where too few independent samples would have to carry it. */
function withoutGuessedInterval(mean: CorrelatedMean): CorrelatedMean {
  const { estimate, effectiveSampleCount } = mean;
  return estimate.kind === 'unavailable' || effectiveSampleCount >= LEAST_INDEPENDENT_COUNT
    ? mean
    : { ...mean, estimate: unavailable('too-few-points', mean.mean) };
}

function judge(window: {
  readonly coveredS: number;
  readonly windowS: number;
  readonly isCovered: boolean;
  readonly sampleCount: number;
  readonly quantity: string;
  readonly slopeKPerMin: number;
  readonly halfWidthKPerMin: number;
  readonly driftLimitKPerMin: number;
}): { readonly verdict: SteadyVerdict; readonly reason: string } {
  const { sampleCount, slopeKPerMin, halfWidthKPerMin, driftLimitKPerMin } = window;
  if (!window.isCovered) {
    return {
      verdict: 'too-short',
      reason: `the load lasts ${formatNumber(window.coveredS, 's')}, shorter than the window of ${formatNumber(window.windowS, 's')}`,
    };
  }
  if (sampleCount < LEAST_SAMPLE_COUNT) {
    return {
      verdict: 'too-short',
      reason: `the window holds ${sampleCount} samples, fewer than the ${LEAST_SAMPLE_COUNT} it takes to tell drift from noise`,
    };
  }
  const slope = {
    kind: 'estimated' as const,
    value: slopeKPerMin,
    standardError: halfWidthKPerMin / 2,
    interval95: [slopeKPerMin - halfWidthKPerMin, slopeKPerMin + halfWidthKPerMin] as const,
  };
  const drift = `the ${window.quantity} drifts by ${formatEstimate(slope, 'K/min')} (95 %)`;
  const limit = `the limit of ${rounded(driftLimitKPerMin)} K/min`;
  const isLarge = Math.abs(slopeKPerMin) >= driftLimitKPerMin;
  if (isLarge && Math.abs(slopeKPerMin) > halfWidthKPerMin)
    return { verdict: 'drifting', reason: `${drift}, more than ${limit}` };
  if (isLarge || halfWidthKPerMin > RESOLVED_IN_LIMITS * driftLimitKPerMin)
    return { verdict: 'too-short', reason: `${drift}, too uncertain to hold against ${limit}` };
  return { verdict: 'steady', reason: `${drift}, within ${limit}` };
}

const meanInWords = {
  temperatureC: 'temperature',
  temperatureRiseK: 'rise above the air',
  powerW: 'power',
  frequencyMHz: 'frequency',
} as const;

function alikeFindings(
  means: Readonly<Partial<Record<keyof typeof meanInWords, CorrelatedMean>>>,
  rangeS: readonly [number, number],
): readonly Finding[] {
  const names = (Object.keys(meanInWords) as (keyof typeof meanInWords)[])
    .filter((name) => {
      const estimate = means[name]?.estimate;
      return estimate?.kind === 'unavailable' && estimate.reason === 'too-few-points';
    })
    .map((name) => meanInWords[name]);
  if (names.length === 0) return [];
  return [
    {
      code: 'few-independent-samples',
      severity: 'note',
      message: `Neighbouring samples are so alike that the window holds fewer than ${LEAST_INDEPENDENT_COUNT} independent ones of ${names.join(', ')}: too few for an interval of the mean.`,
      remedy: 'log longer, and average over a longer window',
      rangeS,
    },
  ];
}

function gapFindings(
  timeS: ArrayLike<number>,
  startIndex: number,
  endIndex: number,
  gapThresholdS: number,
): readonly Finding[] {
  let gapCount = 0;
  for (let i = startIndex + 1; i < endIndex; i++) if (timeS[i] - timeS[i - 1] > gapThresholdS) gapCount++;
  if (gapCount === 0) return [];
  return [
    {
      code: 'gap-in-window',
      severity: 'warning',
      message: `The window holds ${gapCount} ${gapCount === 1 ? 'gap' : 'gaps'} longer than ${rounded(gapThresholdS)} s; the means are over the samples there are, and their errors assume equal intervals.`,
      remedy: 'choose a window without gaps, or log again',
      count: gapCount,
    },
  ];
}

function changeFindings(loads: readonly LoadSegment[], startS: number): readonly Finding[] {
  const inside = loads.filter(({ endS }) => endS >= startS);
  if (inside.length < 2) return [];
  return [
    {
      code: 'limit-changes',
      severity: 'warning',
      message: `What holds the load changes within the window (${inside.map(({ limitedBy }) => limitedBy).join(', then ')}); the means mix the two.`,
      remedy: 'choose a shorter window, or log a longer run',
      rangeS: [startS, inside.at(-1)!.endS],
    },
  ];
}

function airFindings(
  minutes: Float64Array,
  ambientC: Float64Array,
  driftLimitKPerMin: number,
  rangeS: readonly [number, number],
): readonly Finding[] {
  const slopeKPerMin = significantSlope(minutes, ambientC);
  if (Math.abs(slopeKPerMin) < driftLimitKPerMin) return [];
  return [
    {
      code: 'air-drifting',
      severity: 'warning',
      message: `The air drifts by ${rounded(slopeKPerMin)} K/min within the window, and the processor follows it late; the rise above the air is only as steady as that.`,
      remedy: 'wait until the room has settled, or leave it to a fit of the whole course',
      rangeS,
    },
  ];
}

function powerFindings(
  minutes: Float64Array,
  powerW: Float64Array,
  rangeS: readonly [number, number],
): readonly Finding[] {
  const changeW = significantSlope(minutes, powerW) * (minutes.at(-1)! - minutes[0]);
  const meanW = powerW.reduce((sum, value) => sum + value, 0) / powerW.length;
  if (Math.abs(changeW) < STEADY_POWER_FRACTION * meanW) return [];
  return [
    {
      code: 'power-drifting',
      severity: 'warning',
      message: `The power changes by ${rounded(changeW)} W over the window; a steady temperature belongs to a steady power.`,
      remedy: 'log a run with constant load, or leave it to a fit of the whole course',
      rangeS,
    },
  ];
}

/** Slope per minute; 0 where the samples are few or the 95 % interval holds 0. */
function significantSlope(minutes: Float64Array, values: Float64Array): number {
  if (values.length < LEAST_SAMPLE_COUNT) return 0;
  const { slope, estimate } = slopeWithAutocorrelation(minutes, values);
  const holdsZero =
    estimate.kind === 'estimated' && estimate.interval95[0] <= 0 && estimate.interval95[1] >= 0;
  return holdsZero ? 0 : slope;
}

function isConstant(values: Float64Array): boolean {
  return values.every((value) => value === values[0]);
}

function rounded(value: number): string {
  return formatNumber(Number(value.toPrecision(2)));
}
