import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../errors.js';
import { formatNumber } from '../numerics/format-estimate.js';
import type { Finding } from '../runs/finding.js';
import { samplingOf } from '../runs/quality/sampling.js';
import type { CycleCount, TemperatureCycle } from './cycle-count.js';
import { rainflow, repeatingRainflow } from './rainflow.js';
import { type KnownSeries, requireSeries, type TemperatureInput } from './temperature-series.js';

/** How `countCycles` counts. */
export interface CountCyclesOptions {
  /** Default `once`. */
  readonly history?: 'once' | 'repeating';
  /** Cycles of a smaller range are left out and said to be, K. Default 0: none. */
  readonly smallestRangeK?: number;
  /** Ranges are put together to whole multiples of this in the table, K; 0: each range by itself. Default 1. */
  readonly rangeStepK?: number;
}

const OPTION_NAMES: KnownNames<CountCyclesOptions> = {
  history: true,
  smallestRangeK: true,
  rangeStepK: true,
};

/**
 * What `countCycles` does where nothing else is asked for.
 *
 * @example
 * COUNT_CYCLES_DEFAULTS.history; // => 'once'
 */
const COUNT_CYCLES_DEFAULTS: {
  readonly history: 'once';
  readonly smallestRangeK: number;
  readonly rangeStepK: number;
} = { history: 'once', smallestRangeK: 0, rangeStepK: 1 };

/** Ranges below this are of the size of a die sensor's noise and step, K. */
const NOISE_RANGE_K = 2;
/** A finding where more than this share of the cycles is that small, beside at least one well above it. */
const SMALL_SHARE = 0.8;

/**
 * Counts the cycles of a temperature series by rainflow.
 *
 * A pair of reversals is a cycle once the series passes beyond it: small cycles are taken out of the large ones they
 * interrupt, and what the series never closes counts as half cycles [ASTME1049, 5.4.4]. With `history: 'repeating'` the
 * series goes round, as a schedule that is played again and again, and every cycle is whole [ASTME1049, 5.4.5].
 * Plateaus and repeated samples change nothing. The times are not used for counting; they give the duration.
 *
 * @param series - a run, `{ timeS, temperatureC }`, or bare temperatures in degrees Celsius; length n >= 1
 * @param options - see `CountCyclesOptions`
 * @returns every cycle with its range in K and its mean, and the table of ranges
 * @throws ArgumentError if there is no sample, a temperature is not finite, or times do not increase
 * @example
 * // The worked example of the standard:
 * const count = countCycles([-2, 1, -3, 5, -1, 3, -4, 4, -2]);
 * count.ranges;
 * // => [{ rangeK: 9, cycleCount: 0.5 }, { rangeK: 8, cycleCount: 1 }, { rangeK: 6, cycleCount: 0.5 }, { rangeK: 4, cycleCount: 1.5 }, { rangeK: 3, cycleCount: 0.5 }]
 * count.cycleCount; // => 4
 */
export function countCycles(series: TemperatureInput, options: CountCyclesOptions = {}): CycleCount {
  const caller = 'countCycles';
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const { history, smallestRangeK, rangeStepK } = { ...COUNT_CYCLES_DEFAULTS, ...options };
  if (history !== 'once' && history !== 'repeating')
    throw new ArgumentError({
      caller,
      argument: 'options.history',
      expected: "'once' or 'repeating'",
      received: history,
    });
  requireNumber(smallestRangeK, { caller, argument: 'options.smallestRangeK' }, { atLeast: 0 });
  requireNumber(rangeStepK, { caller, argument: 'options.rangeStepK' }, { atLeast: 0 });
  const known = requireSeries(series, caller, 'series');

  const all = cyclesOf(known.temperatureC, history);
  const cycles = all.filter(({ rangeK }) => rangeK >= smallestRangeK);
  const { timeS } = known;
  const durationS = timeS === undefined ? undefined : timeS[timeS.length - 1] - timeS[0];
  const counted = {
    kind: 'cycle-count' as const,
    label: known.label,
    history,
    cycles,
    cycleCount: countOf(cycles),
    ranges: tableOfRanges(cycles, rangeStepK),
    rangeStepK,
    smallestRangeK,
    leftOutCount: countOf(all) - countOf(cycles),
    ...(durationS === undefined ? {} : { durationS }),
  };
  return { ...counted, summary: summaryOf(counted), findings: findingsOf(known, counted) };
}

/** The cycles of a series with what they mean as temperatures. */
export function cyclesOf(
  temperatureC: ArrayLike<number>,
  history: CycleCount['history'],
): TemperatureCycle[] {
  const pairs = history === 'once' ? rainflow(temperatureC) : repeatingRainflow(temperatureC);
  return pairs.map(({ startIndex, endIndex, count }) => {
    const start = temperatureC[startIndex];
    const end = temperatureC[endIndex];
    return {
      rangeK: Math.abs(end - start),
      meanC: (start + end) / 2,
      highestC: Math.max(start, end),
      count,
      startIndex,
      endIndex,
    };
  });
}

function countOf(cycles: readonly TemperatureCycle[]): number {
  return cycles.reduce((sum, { count }) => sum + count, 0);
}

function tableOfRanges(cycles: readonly TemperatureCycle[], stepK: number): CycleCount['ranges'] {
  const counts = new Map<number, number>();
  for (const { rangeK, count } of cycles) {
    const row = stepK === 0 ? rangeK : Number((Math.round(rangeK / stepK) * stepK).toPrecision(12));
    counts.set(row, (counts.get(row) ?? 0) + count);
  }
  return [...counts].sort(([a], [b]) => b - a).map(([rangeK, cycleCount]) => ({ rangeK, cycleCount }));
}

function summaryOf(counted: Omit<CycleCount, 'summary' | 'findings'>): string {
  const { label, cycles, cycleCount, leftOutCount, smallestRangeK, durationS } = counted;
  const within =
    durationS === undefined
      ? ''
      : ` in ${formatNumber(durationS / 60)} min${counted.history === 'repeating' ? ', repeated' : ''}`;
  const leftOut =
    leftOutCount === 0 ? '' : `; ${leftOutCount} below ${formatNumber(smallestRangeK)} K are left out`;
  if (cycles.length === 0) return `'${label}' has no temperature cycle${within}${leftOut}.`;
  const largestK = cycles.reduce((most, { rangeK }) => Math.max(most, rangeK), 0);
  return `'${label}' has ${cycleCount} temperature cycle${cycleCount === 1 ? '' : 's'}${within}, the largest of ${formatNumber(largestK)} K${leftOut}.`;
}

function findingsOf(
  known: KnownSeries,
  counted: Omit<CycleCount, 'summary' | 'findings'>,
): readonly Finding[] {
  return [...gapFindings(known), ...smallCycleFindings(counted)];
}

/** What a pause of the log may have hidden. */
export function gapFindings({ label, timeS }: KnownSeries): readonly Finding[] {
  if (timeS === undefined || timeS.length < 3) return [];
  const { gaps } = samplingOf(timeS);
  if (gaps.length === 0) return [];
  const longestS = Math.max(...gaps.map(({ startS, endS }) => endS - startS));
  return [
    {
      code: 'gap',
      severity: 'warning',
      message: `'${label}' has ${gaps.length} gap${gaps.length === 1 ? '' : 's'}, the longest of ${formatNumber(longestS)} s; the temperature is taken to go straight across, so a cycle within a gap is not counted.`,
      remedy: 'log without pauses',
      count: gaps.length,
    },
  ];
}

function smallCycleFindings({
  label,
  cycles,
  cycleCount,
  smallestRangeK,
}: Omit<CycleCount, 'summary' | 'findings'>): readonly Finding[] {
  if (smallestRangeK >= NOISE_RANGE_K) return [];
  const small = countOf(cycles.filter(({ rangeK }) => rangeK < NOISE_RANGE_K));
  const largestK = cycles.reduce((most, { rangeK }) => Math.max(most, rangeK), 0);
  if (small < 10 || small < SMALL_SHARE * cycleCount || largestK < 2 * NOISE_RANGE_K) return [];
  return [
    {
      code: 'small-cycles',
      severity: 'note',
      message: `${small} of the ${cycleCount} cycles of '${label}' are below ${NOISE_RANGE_K} K, the size of a sensor's noise and step.`,
      remedy: `give smallestRangeK: ${NOISE_RANGE_K} to leave them out`,
      count: small,
    },
  ];
}
