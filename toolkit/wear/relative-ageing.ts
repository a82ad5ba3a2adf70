import { formatNumber } from '../numerics/format-estimate.js';
import {
  type AgeingAssumptions,
  type AssumedNumberName,
  type AssumedRange,
  type SettledAssumptions,
  settleAssumptions,
  type UsedAssumption,
} from './ageing-assumptions.js';
import { perEv, temperatureOfPerEv } from './ageing-laws.js';
import { cyclesOf, gapFindings } from './count-cycles.js';
import type { TemperatureCycle } from './cycle-count.js';
import { requireTimedSeries, type TemperatureSeries } from './temperature-series.js';

/** What one of the two schedules is made of. */
export interface AgeingSchedule {
  readonly label: string;
  readonly durationS: number;
  /** Cycles at or above the smallest range that counts; half cycles as halves. */
  readonly cycleCount: number;
  /** Of the largest cycle, K; 0 where there is none. */
  readonly largestRangeK: number;
  readonly highestC: number;
  /** The constant temperature that would age as fast by time at temperature, degrees Celsius. */
  readonly equivalentTemperatureC: number;
}

/** What the ratio becomes when one assumption goes to the ends of its range, the others at their likely values. */
export interface AgeingSensitivity {
  readonly name: AssumedNumberName;
  readonly lowEndRatio: number;
  readonly highEndRatio: number;
}

/** How many times as fast the first schedule ages as the second, or why that cannot be said. */
export type AgeingRatio =
  | {
      readonly kind: 'compared';
      /** With the likely value of every assumption. */
      readonly speedRatio: number;
      /** Lowest and highest over all combinations of the ends of the assumptions. */
      readonly lowRatio: number;
      readonly highRatio: number;
      readonly sensitivities: readonly AgeingSensitivity[];
    }
  | { readonly kind: 'not-comparable'; readonly reason: string };

/** Two schedules held against each other. Relative only. Plain data: survives JSON. */
export interface RelativeAgeing {
  readonly kind: 'relative-ageing';
  readonly schedules: readonly [first: AgeingSchedule, second: AgeingSchedule];
  /** By temperature cycles: solder joints, attach layers. Per hour of each schedule. */
  readonly cycling: AgeingRatio;
  /** By time at temperature, whatever the cycles. Per hour of each schedule. */
  readonly steady: AgeingRatio;
  /** Everything assumed, with its source. */
  readonly assumptions: readonly UsedAssumption[];
  readonly summary: string;
  readonly cautions: readonly string[];
}

/** A schedule that ends this much warmer or colder than it begins, as a share of its range, gets a caution. */
const OPEN_SHARE = 0.25;

/**
 * How many times as fast one temperature schedule ages a part as another, by cycles and by time at temperature.
 *
 * By cycles: rainflow count of each schedule, damage of a cycle ∝ ΔT^m · f^−n · exp(−E/(k T_max)), f how often cycles of
 * at least its range happen, summed and divided by the duration [NorrisLandzberg1969], [Miner1945]. By time at
 * temperature: the mean of exp(−E/(k T)) over the schedule [NISTHandbook, 8.1.5.1]. Each is a ratio of rates, per hour of
 * the one schedule over per hour of the other; they are not added up, since they are different mechanisms, and nothing is
 * said about a lifetime.
 *
 * Assumes that the series is the temperature of the part in question; a die sensor swings more than the joints below it.
 *
 * @param first - a run, or `{ label, timeS, temperatureC }`: s and degrees Celsius, length n >= 2
 * @param second - what it is held against
 * @param assumptions - exponents, activation energies, smallest range; each a number or `{ low, likely, high, source }`.
 * What is left out comes from `DEFAULT_AGEING_ASSUMPTIONS` and is listed as such in the result
 * @throws ArgumentError if a series or an assumption is at fault
 * @example
 * const timeS = [0, 900, 1800];
 * const uncapped = { label: 'default cap', timeS, temperatureC: [30, 90, 30] };
 * const capped = { label: 'cap of 92 W', timeS, temperatureC: [30, 75, 30] };
 * const ageing = relativeAgeing(uncapped, capped, { rangeExponent: 2, cyclingActivationEnergyEv: 0 });
 * ageing.cycling; // => { kind: 'compared', speedRatio: 16 / 9, lowRatio: 16 / 9, highRatio: 16 / 9 }
 * ageing.assumptions.length; // => 6
 */
export function relativeAgeing(
  first: TemperatureSeries,
  second: TemperatureSeries,
  assumptions: AgeingAssumptions = {},
): RelativeAgeing {
  const caller = 'relativeAgeing';
  const series = [requireTimedSeries(first, caller, 'first'), requireTimedSeries(second, caller, 'second')];
  const settled = settleAssumptions(assumptions, caller);
  const { numbers, history, used } = settled;
  const likely = likelyOf(numbers);
  const [a, b] = series.map(({ timeS, temperatureC }) => ({
    durationS: timeS[timeS.length - 1] - timeS[0],
    cycles: weighableCycles(cyclesOf(temperatureC, history), numbers.smallestRangeK.low),
    temperatureC,
    shares: timeShares(timeS),
  }));

  const cycling = compare(
    ['rangeExponent', 'frequencyExponent', 'cyclingActivationEnergyEv', 'smallestRangeK'],
    numbers,
    (choice) => [cyclingRate(a.cycles, a.durationS, choice), cyclingRate(b.cycles, b.durationS, choice)],
    (which) =>
      `${quoted(series[which].label)} has no cycle of ${formatNumber(likely.smallestRangeK, 'K')} or more`,
  );
  const steady = compare(
    ['steadyActivationEnergyEv'],
    numbers,
    ({ steadyActivationEnergyEv: energyEv }) => [
      steadyRate(a.temperatureC, a.shares, energyEv),
      steadyRate(b.temperatureC, b.shares, energyEv),
    ],
    (which) => `${quoted(series[which].label)} has no duration`,
  );

  const schedules = [a, b].map((of, i): AgeingSchedule => {
    const { rangesK, counts } = of.cycles;
    return {
      label: series[i].label,
      durationS: of.durationS,
      cycleCount: counts.reduce(
        (sum, count, k) => sum + (rangesK[k] >= likely.smallestRangeK ? count : 0),
        0,
      ),
      largestRangeK: rangesK.length > 0 && rangesK[0] >= likely.smallestRangeK ? rangesK[0] : 0,
      highestC: highestOf(of.temperatureC),
      equivalentTemperatureC: equivalentTemperatureC(
        of.temperatureC,
        of.shares,
        likely.steadyActivationEnergyEv,
      ),
    };
  }) as [AgeingSchedule, AgeingSchedule];
  return {
    kind: 'relative-ageing',
    schedules,
    cycling,
    steady,
    assumptions: used,
    summary: summaryOf(schedules, cycling, steady),
    cautions: [
      ...series.flatMap((one) => gapFindings(one).map(({ message }) => message)),
      ...(history === 'repeating' ? series.flatMap(openEndCaution) : []),
      'Relative only: what a schedule does to a part compared with another schedule, by laws that are assumed. No lifetime follows from it.',
      'The two mechanisms are not added up, and others (fans, capacitors, dust, drying paste) follow other laws.',
      'The temperature is that of the sensor. Joints and layers away from the die swing less than it does, in both schedules.',
      "Stay within the makers' limits for temperature, power and voltage: they come before this answer.",
    ],
  };
}

type Assumed = Readonly<Record<AssumedNumberName, number>>;

function likelyOf(numbers: SettledAssumptions['numbers']): Assumed {
  return Object.fromEntries(
    Object.entries(numbers).map(([name, { likely }]) => [name, likely]),
  ) as unknown as Assumed;
}

/** What the law needs of each cycle, the largest range first: columns, since schedules may have very many. */
interface WeighableCycles {
  readonly rangesK: Float64Array;
  readonly counts: Float64Array;
  readonly logRanges: Float64Array;
  /** Logarithm of how many cycles of at least its range the schedule has. */
  readonly logCounts: Float64Array;
  /** 1/(kT) of its upper extreme, 1/eV. */
  readonly inverseEnergies: Float64Array;
}

function weighableCycles(cycles: readonly TemperatureCycle[], smallestRangeK: number): WeighableCycles {
  const sorted = cycles
    .filter(({ rangeK }) => rangeK > 0 && rangeK >= smallestRangeK)
    .sort((one, other) => other.rangeK - one.rangeK);
  const column = (): Float64Array => new Float64Array(sorted.length);
  const columns = {
    rangesK: column(),
    counts: column(),
    logRanges: column(),
    logCounts: column(),
    inverseEnergies: column(),
  };
  let count = 0;
  for (let from = 0, to = 0; from < sorted.length; from = to) {
    // Equal ranges share one frequency; to rounding, or a thousand equal cycles would be a thousand kinds.
    const leastK = sorted[from].rangeK * (1 - 1e-9);
    for (; to < sorted.length && sorted[to].rangeK >= leastK; to++) count += sorted[to].count;
    columns.logCounts.fill(Math.log(count), from, to);
  }
  sorted.forEach((cycle, i) => {
    columns.rangesK[i] = cycle.rangeK;
    columns.counts[i] = cycle.count;
    columns.logRanges[i] = Math.log(cycle.rangeK);
    columns.inverseEnergies[i] = perEv(cycle.highestC);
  });
  return columns;
}

/** Σ count · ΔT^m · f^−n · exp(−E/(k T_max)) per second, up to a factor that both schedules share. */
function cyclingRate(cycles: WeighableCycles, durationS: number, assumed: Assumed): number {
  const { rangeExponent, frequencyExponent, cyclingActivationEnergyEv, smallestRangeK } = assumed;
  const { rangesK, counts, logRanges, logCounts, inverseEnergies } = cycles;
  const logDuration = Math.log(durationS);
  let sum = 0;
  for (let i = 0; i < rangesK.length && rangesK[i] >= smallestRangeK; i++) {
    const logDamage =
      rangeExponent * logRanges[i] -
      frequencyExponent * (logCounts[i] - logDuration) -
      cyclingActivationEnergyEv * (inverseEnergies[i] - REFERENCE_PER_EV);
    sum += counts[i] * Math.exp(logDamage);
  }
  return sum / durationS;
}

/** A temperature in the middle of what is compared keeps the exponentials near 1; it drops out of every ratio. */
const REFERENCE_PER_EV = perEv(60);

/** Share of the duration that each sample stands for: half of both its intervals. */
function timeShares(timeS: ArrayLike<number>): Float64Array {
  const last = timeS.length - 1;
  const durationS = timeS[last] - timeS[0];
  const shares = new Float64Array(timeS.length);
  for (let i = 0; i <= last; i++)
    shares[i] = (timeS[Math.min(last, i + 1)] - timeS[Math.max(0, i - 1)]) / (2 * durationS);
  return shares;
}

/** Mean over time of exp(−E/(k T)), up to a factor that both schedules share. */
function steadyRate(
  temperatureC: ArrayLike<number>,
  shares: Float64Array,
  activationEnergyEv: number,
): number {
  let sum = 0;
  for (let i = 0; i < shares.length; i++)
    sum += shares[i] * Math.exp(activationEnergyEv * (REFERENCE_PER_EV - perEv(temperatureC[i])));
  return sum;
}

function equivalentTemperatureC(
  temperatureC: ArrayLike<number>,
  shares: Float64Array,
  activationEnergyEv: number,
): number {
  if (activationEnergyEv === 0) {
    let mean = 0;
    for (let i = 0; i < shares.length; i++) mean += shares[i] * temperatureC[i];
    return mean;
  }
  const rate = steadyRate(temperatureC, shares, activationEnergyEv);
  return temperatureOfPerEv(REFERENCE_PER_EV - Math.log(rate) / activationEnergyEv);
}

function highestOf(values: ArrayLike<number>): number {
  let highest = values[0];
  for (let i = 1; i < values.length; i++) highest = Math.max(highest, values[i]);
  return highest;
}

/** The ratio with the likely assumptions, at each end of each, and the extremes over all combinations of ends. */
function compare(
  names: readonly AssumedNumberName[],
  numbers: SettledAssumptions['numbers'],
  ratesOf: (assumed: Assumed) => readonly [first: number, second: number],
  missing: (which: 0 | 1) => string,
): AgeingRatio {
  const likely = likelyOf(numbers);
  const ratioOf = (assumed: Assumed): number => {
    const [first, second] = ratesOf(assumed);
    return first / second;
  };
  const [first, second] = ratesOf(likely);
  if (first === 0 || second === 0) return { kind: 'not-comparable', reason: missing(first === 0 ? 0 : 1) };
  const sensitivities = names
    .filter((name) => numbers[name].low < numbers[name].high)
    .map((name): AgeingSensitivity => {
      const at = (value: number): number => ratioOf({ ...likely, [name]: value });
      return { name, lowEndRatio: at(numbers[name].low), highEndRatio: at(numbers[name].high) };
    });
  const speedRatio = first / second;
  const corners = names
    .reduce<readonly Assumed[]>(
      (list, name) =>
        endsOf(numbers[name]).flatMap((end) => list.map((assumed) => ({ ...assumed, [name]: end }))),
      [likely],
    )
    .map(ratioOf)
    // A smallest range above all cycles of a schedule leaves nothing to compare there.
    .filter((ratio) => Number.isFinite(ratio) && ratio > 0);
  const all = [
    speedRatio,
    ...corners,
    ...sensitivities.flatMap(({ lowEndRatio, highEndRatio }) => [lowEndRatio, highEndRatio]),
  ].filter((ratio) => Number.isFinite(ratio) && ratio > 0);
  return {
    kind: 'compared',
    speedRatio,
    lowRatio: Math.min(...all),
    highRatio: Math.max(...all),
    sensitivities: sensitivities.filter(({ lowEndRatio, highEndRatio }) =>
      Number.isFinite(lowEndRatio * highEndRatio),
    ),
  };
}

function endsOf({ low, high }: AssumedRange): readonly number[] {
  return low === high ? [low] : [low, high];
}

function openEndCaution({
  label,
  temperatureC,
}: {
  readonly label: string;
  readonly temperatureC: ArrayLike<number>;
}): readonly string[] {
  const startC = temperatureC[0];
  const endC = temperatureC[temperatureC.length - 1];
  let lowest = startC;
  for (let i = 1; i < temperatureC.length; i++) lowest = Math.min(lowest, temperatureC[i]);
  const jumpK = Math.abs(endC - startC);
  if (jumpK <= OPEN_SHARE * (highestOf(temperatureC) - lowest)) return [];
  return [
    `${quoted(label)} starts at ${formatNumber(startC, '°C')} and ends at ${formatNumber(endC, '°C')}: played again, the jump of ${formatNumber(jumpK, 'K')} between them is part of a cycle. Let the log run until it has cooled down, or give history: 'once'.`,
  ];
}

function summaryOf(
  [first, second]: readonly [AgeingSchedule, AgeingSchedule],
  cycling: AgeingRatio,
  steady: AgeingRatio,
): string {
  const says = (ratio: AgeingRatio, by: string): string =>
    ratio.kind === 'compared'
      ? `by ${by} ${timesInWords(ratio)}`
      : `by ${by} it cannot be compared (${ratio.reason})`;
  return `Per hour, ${quoted(first.label)} against ${quoted(second.label)}: ${says(cycling, 'temperature cycles')}, ${says(steady, 'time at temperature')}.`;
}

function timesInWords({
  speedRatio,
  lowRatio,
  highRatio,
}: Extract<AgeingRatio, { kind: 'compared' }>): string {
  const [value, low, high] = [speedRatio, lowRatio, highRatio].map((ratio) =>
    formatNumber(Number(ratio.toPrecision(2))),
  );
  const range = low === high ? '' : ` (${low} to ${high} over the assumptions considered)`;
  return `it ages ${value} times as fast${range}`;
}

function quoted(label: string): string {
  return `'${label}'`;
}
