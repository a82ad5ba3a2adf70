import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import type { EstimatedNumber } from '../../numerics/estimate.js';
import { formatEstimate, formatNumber } from '../../numerics/format-estimate.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { requireModels } from '../choose/choose-cap.js';
import { spreadOf } from '../draws/temperature-against-cap.js';
import type { CapScenario } from '../scenario/cap-scenario.js';
import { bestOffset } from '../setting/best-at-speed.js';
import { capBound } from '../setting/cap-bound.js';
import { areOfDifferentProcessors, liesOutside, rangeInWords } from '../setting/cap-reach.js';
import { settableSpeeds } from '../setting/fan-response.js';
import { scoreAtSpeed, stateAt } from '../setting/operating-state.js';
import { type CapSetting, type PreparedCap, prepareCap, settingOf } from '../setting/prepared-cap.js';
import { estimatesAt } from '../setting/setting-estimates.js';
import { stepDown } from '../setting/step-down.js';
import type { CapFrontier, FrontierKnee, FrontierPoint } from './frontier.js';
import { kneeOf } from './knee.js';

/** Which caps a frontier shows. */
export interface CapFrontierOptions {
  /** Most caps to show; spread evenly over the settable ones. Default 100. */
  readonly capCount?: number;
  /** Default: the lowest cap of use, else half the lowest power logged. */
  readonly lowestCapW?: number;
  /** Default: the highest cap of the scenario, which may be the highest power logged. */
  readonly highestCapW?: number;
}

const OPTION_NAMES: KnownNames<CapFrontierOptions> = { capCount: true, lowestCapW: true, highestCapW: true };

/**
 * What `capFrontier` shows where nothing else is asked for.
 *
 * @example
 * CAP_FRONTIER_DEFAULTS.capCount; // => 100
 */
export const CAP_FRONTIER_DEFAULTS: { readonly capCount: number } = { capCount: 100 };

const MOST_CAPS = 1000;
/** Beyond these ratios to the powers logged the models say nothing. */
const REACH_RATIO = 4;
/** Bands are drawn from this many draws; what is allowed is decided on all. */
const BAND_DRAWS = 512;
/** Of finer fans this many speeds are tried for the slowest that holds the limit. */
const MOST_SPEEDS = 12;
/** More work by less than this share is no reason to call a cap with less power better. */
const SAME_WORK_RATIO = 1e-9;

const KNEE_DEFINITION =
  'the cap whose throughput (frequency, where that is all the curve tells) lies farthest above the straight line between the lowest and the highest cap shown, both axes scaled to their range';

/**
 * Every cap against what it costs and what it brings: temperature with its interval, chance of exceeding the limit,
 * frequency, throughput, work per watt-hour, and sound where a fan is to be set; with the knee of the work.
 *
 * Stands on the same settled question as `chooseCap`: the same draws, the same constraints. With a fan to be set each
 * cap has the slowest speed that holds the limit there; a voltage offset is the one best at the highest cap allowed. The
 * knee is the point farthest above the chord between the ends in normalised axes [Satopaa2011]; it depends on the
 * range shown, and how flat it is stands beside it.
 *
 * @param cooler - a fitted cooler; its resistance must be known
 * @param curve - the power curve of the same processor; `undefined`: temperatures alone
 * @param scenario - as for `chooseCap`
 * @param options - which caps to show; see `CapFrontierOptions`
 * @returns one point per cap, the lowest first; powers in W, temperatures in degrees Celsius
 * @throws ArgumentError naming the option at fault, also where caps are asked for beyond what the data can carry
 * @throws NumericalError if the cooler's data cannot carry a cap
 * @example
 * const points = [
 *   { powerW: 60, temperatureC: 52.1, frequencyMHz: 3180 },
 *   { powerW: 80, temperatureC: 61.9, frequencyMHz: 3450 },
 *   { powerW: 100, temperatureC: 72.2, frequencyMHz: 3650 },
 * ];
 * const cooler = coolerFromSteadyPoints(points);
 * const frontier = capFrontier(cooler, curveFromSteadyPoints(points), { limitC: 70, ambientC: 24, maxCapW: 100 });
 * frontier.points.length; // => 71
 * frontier.points[0].powerCapW; // => 30
 * frontier.knee?.of; // => 'frequency'
 */
export function capFrontier(
  cooler: CoolerModel,
  curve: PowerCurve | undefined,
  scenario: CapScenario,
  options: CapFrontierOptions = {},
): CapFrontier {
  const caller = 'capFrontier';
  requireModels(cooler, curve, caller);
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const prepared = prepareCap(cooler, curve, scenario, caller);
  const capsW = capsToShow(prepared, options);
  const offsetMv = offsetAtHighest(prepared, capsW);
  const points = withDominance(
    prepared,
    capsW.map((powerCapW) => pointAt(prepared, powerCapW, offsetMv)),
  );
  const allowed = points.filter((point) => point.allowed);
  const highestAllowedW = allowed.at(-1)?.powerCapW;
  const knee = kneeAmong(points);
  const mostEfficientW = mostEfficient(allowed);
  const processor = cooler.processor ?? curve?.processor;
  const frontier = {
    kind: 'cap-frontier' as const,
    cooler: cooler.cooler ?? cooler.label,
    ...(processor === undefined ? {} : { processor }),
    points,
    ...(highestAllowedW === undefined ? {} : { highestAllowedW }),
    ...(knee === undefined ? {} : { knee }),
    ...(mostEfficientW === undefined ? {} : { mostEfficientW }),
    scenario: prepared.scenario,
  };
  return { ...frontier, summary: summaryOf(frontier), cautions: cautionsOf(prepared, points, knee) };
}

/** Settable caps from the lowest to the highest, evenly spread where there are more than asked for. */
function capsToShow(prepared: PreparedCap, options: CapFrontierOptions): readonly number[] {
  const { caller, cooler, scenario, ceiling, floorW } = prepared;
  const { stepW } = scenario;
  const [loggedLowW, loggedHighW] = cooler.testedRange.powerW;
  const reachW = [loggedLowW / REACH_RATIO, loggedHighW * REACH_RATIO] as const;
  const { capCount } = { ...CAP_FRONTIER_DEFAULTS, ...options };
  if (!Number.isInteger(capCount) || capCount < 3 || capCount > MOST_CAPS)
    throw new ArgumentError({
      caller,
      argument: 'options.capCount',
      expected: `a whole number from 3 to ${MOST_CAPS}`,
      received: capCount,
    });
  for (const name of ['lowestCapW', 'highestCapW'] as const)
    if (options[name] !== undefined)
      requireNumber(
        options[name],
        {
          caller,
          argument: `options.${name}`,
          remedy: `the cooler was logged at ${formatNumber(loggedLowW)} to ${formatNumber(loggedHighW, 'W')}; log a run at about that power`,
        },
        { atLeast: reachW[0], atMost: reachW[1] },
      );
  const highestW = options.highestCapW ?? Math.min(ceiling.powerW, reachW[1]);
  const lowestW =
    options.lowestCapW ??
    Math.max(reachW[0], scenario.minCapW === undefined ? Math.min(loggedLowW, highestW) / 2 : floorW, stepW);
  const first = Math.ceil(lowestW / stepW - 1e-9);
  const last = Math.round(stepDown(highestW, stepW) / stepW);
  if (last - first < 2)
    throw new ArgumentError({
      caller,
      argument: 'options',
      expected: `a range of caps with at least three steps of ${stepW} W`,
      received: `${formatNumber(lowestW)} to ${formatNumber(highestW)} W`,
      remedy: 'give lowestCapW, highestCapW or a finer scenario.stepW',
    });
  const count = Math.min(capCount, last - first + 1);
  return Array.from({ length: count }, (_, i) =>
    Number((Math.round(first + (i * (last - first)) / (count - 1)) * stepW).toPrecision(12)),
  );
}

/** The offset with the best objective at the highest cap shown. */
function offsetAtHighest(prepared: PreparedCap, capsW: readonly number[]): number | undefined {
  const fastest =
    prepared.scenario.fan === undefined ? undefined : settableSpeeds(prepared.scenario.fan).at(-1);
  return bestOffset(prepared, capsW.at(-1)!, scoreAtSpeed(prepared, fastest));
}

function pointAt(
  prepared: PreparedCap,
  powerCapW: number,
  offsetMv: number | undefined,
): Omit<FrontierPoint, 'dominated'> {
  const { cooler, curve, scenario } = prepared;
  const fanSpeedRpm = slowestSpeed(prepared, powerCapW);
  const setting: CapSetting = settingOf(powerCapW, fanSpeedRpm, offsetMv);
  const thermal = prepared.thermalAt(fanSpeedRpm);
  const bound = capBound(prepared, fanSpeedRpm);
  const allowed = powerCapW <= bound.powerW + 1e-9;
  const state = stateAt(prepared, setting);
  const { soundLevelDb, supplyPowerW } = state;
  const estimates = estimatesAt(prepared, setting, state);
  const extrapolated =
    liesOutside(powerCapW, cooler.testedRange.powerW) ||
    (curve !== undefined && liesOutside(powerCapW, curve.testedRange.powerW));
  return {
    powerCapW,
    temperatureC: temperatureOf(prepared, thermal, powerCapW, state.temperatureC),
    chanceOfPassingLimit: thermal.chanceOfPassing(powerCapW),
    allowed,
    ...(allowed ? {} : { forbiddenBy: bound.constraint }),
    frequencyMHz: estimates.frequencyMHz,
    throughputPerS: estimates.throughputPerS,
    workPerWh: estimates.workPerWh,
    ...(scenario.workPerJobCount === undefined
      ? {}
      : { jobRatePerH: estimates.jobRatePerH, energyPerJobJ: estimates.energyPerJobJ }),
    ...(scenario.supply === undefined ? {} : { supplyPowerW }),
    ...(fanSpeedRpm === undefined ? {} : { fanSpeedRpm }),
    ...(soundLevelDb === undefined ? {} : { soundLevelDb }),
    extrapolated,
  };
}

/** The slowest speed at which a cap holds the limit; the fastest where none does. At most twelve are tried. */
function slowestSpeed(prepared: PreparedCap, powerCapW: number): number | undefined {
  const { fan } = prepared.scenario;
  if (fan === undefined) return undefined;
  const speeds = thinned(settableSpeeds(fan), MOST_SPEEDS);
  let low = -1;
  let high = speeds.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (prepared.thermalAt(speeds[middle]).limitCapW >= powerCapW - 1e-9) high = middle;
    else low = middle;
  }
  return speeds[high];
}

function thinned(values: readonly number[], count: number): readonly number[] {
  if (values.length <= count) return values;
  return Array.from({ length: count }, (_, i) => values[Math.round((i * (values.length - 1)) / (count - 1))]);
}

function temperatureOf(
  { cooler, scenario }: PreparedCap,
  { binding }: ReturnType<PreparedCap['thermalAt']>,
  powerCapW: number,
  meanC: number,
): EstimatedNumber {
  const count = Math.min(binding.count, BAND_DRAWS);
  const temperaturesC = new Float64Array(count);
  binding.temperaturesAt(powerCapW, temperaturesC, count);
  const { standardDeviationK, lowC, highC } = spreadOf(temperaturesC, count, scenario.confidence);
  return {
    kind: 'estimated',
    value: meanC,
    standardError: standardDeviationK,
    interval95: [lowC, highC],
    extrapolated: liesOutside(powerCapW, cooler.testedRange.powerW),
  };
}

/** What is held against power: work where it is known, else frequency. */
function workOf(point: Pick<FrontierPoint, 'throughputPerS' | 'frequencyMHz'>): number | undefined {
  const { throughputPerS, frequencyMHz } = point;
  if (throughputPerS.kind === 'estimated') return throughputPerS.value;
  return frequencyMHz.kind === 'estimated' ? frequencyMHz.value : undefined;
}

function withDominance(
  prepared: PreparedCap,
  points: readonly Omit<FrontierPoint, 'dominated'>[],
): readonly FrontierPoint[] {
  const known = prepared.knows.frequency || prepared.knows.throughput;
  let most = Number.NEGATIVE_INFINITY;
  return points.map((point) => {
    const work = known ? workOf(point) : undefined;
    const dominated = work !== undefined && work <= most * (1 + SAME_WORK_RATIO);
    if (work !== undefined) most = Math.max(most, work);
    return { ...point, dominated };
  });
}

function kneeAmong(points: readonly FrontierPoint[]): FrontierKnee | undefined {
  const work = points.map(workOf);
  if (work.some((value) => value === undefined)) return undefined;
  const capsW = points.map(({ powerCapW }) => powerCapW);
  const knee = kneeOf(capsW, work as number[]);
  if (knee === undefined) return undefined;
  return {
    powerCapW: capsW[knee.index],
    of: points.every(({ throughputPerS }) => throughputPerS.kind === 'estimated')
      ? 'throughput'
      : 'frequency',
    heightFraction: knee.heightFraction,
    flatRangeW: [capsW[knee.flatIndices[0]], capsW[knee.flatIndices[1]]],
    definition: KNEE_DEFINITION,
  };
}

function mostEfficient(allowed: readonly FrontierPoint[]): number | undefined {
  let best: FrontierPoint | undefined;
  const value = (point: FrontierPoint | undefined): number =>
    point?.workPerWh.kind === 'estimated' ? point.workPerWh.value : Number.NEGATIVE_INFINITY;
  for (const point of allowed) if (value(point) > value(best)) best = point;
  return best?.powerCapW;
}

function summaryOf(frontier: Omit<CapFrontier, 'summary' | 'cautions'>): string {
  const { cooler, points, knee, highestAllowedW, mostEfficientW, scenario } = frontier;
  const limit = formatNumber(scenario.limitC, '°C');
  const first = points[0];
  const last = points.at(-1)!;
  const allowed =
    highestAllowedW === undefined
      ? `No cap from ${formatNumber(first.powerCapW)} to ${formatNumber(last.powerCapW, 'W')} is allowed under '${cooler}' (${wordsFor(first.forbiddenBy)}).`
      : `Under '${cooler}' caps up to ${formatNumber(highestAllowedW, 'W')} are allowed${highestAllowedW === last.powerCapW ? '' : `; above, ${wordsFor(points.find((point) => !point.allowed && point.powerCapW > highestAllowedW)?.forbiddenBy)}`} (limit ${limit}).`;
  return [allowed, kneeInWords(points, knee), vainInWords(points), efficiencyInWords(points, mostEfficientW)]
    .filter((part) => part !== '')
    .join(' ');
}

function wordsFor(constraint: FrontierPoint['forbiddenBy']): string {
  if (constraint === 'temperature') return 'the temperature exceeds the limit';
  if (constraint === 'supply') return "the supply's budget does not suffice";
  return 'the highest cap considered is passed';
}

function kneeInWords(points: readonly FrontierPoint[], knee: FrontierKnee | undefined): string {
  const last = points.at(-1)!;
  if (knee === undefined)
    return workOf(last) === undefined
      ? 'What the caps bring is not known: no curve tells it.'
      : 'There is no knee: it rises as good as straight.';
  const at = points.find(({ powerCapW }) => powerCapW === knee.powerCapW)!;
  const share = (100 * workOf(at)!) / workOf(last)!;
  const coolerBy = last.temperatureC.value! - at.temperatureC.value!;
  const [lowW, highW] = knee.flatRangeW;
  const flat =
    lowW === highW ? '' : ` (${formatNumber(lowW)} to ${formatNumber(highW, 'W')} are nearly as good a knee)`;
  return `The knee of the ${knee.of} is at ${formatNumber(knee.powerCapW, 'W')}: ${share.toFixed(0)} % of that at ${formatNumber(last.powerCapW, 'W')}, and ${coolerBy.toFixed(0)} K cooler${flat}.`;
}

/** From where on every further watt is spent on leakage. */
function vainInWords(points: readonly FrontierPoint[]): string {
  const useful = points.findLastIndex(({ dominated }) => !dominated);
  return useful === points.length - 1
    ? ''
    : `Above ${formatNumber(points[useful].powerCapW, 'W')} more power does no more work here.`;
}

function efficiencyInWords(points: readonly FrontierPoint[], mostEfficientW: number | undefined): string {
  const at = points.find(({ powerCapW }) => powerCapW === mostEfficientW);
  if (at === undefined) return '';
  const edge = at === points[0] ? ', the lowest shown' : '';
  return `The most work per watt-hour is done at ${formatNumber(at.powerCapW, 'W')}${edge}: ${formatEstimate(at.workPerWh)} per Wh.`;
}

function cautionsOf(
  { cooler, curve, scenario }: PreparedCap,
  points: readonly FrontierPoint[],
  knee: FrontierKnee | undefined,
): readonly string[] {
  const serious = [cooler, ...(curve === undefined ? [] : [curve])].flatMap(({ label, findings }) =>
    findings
      .filter(({ severity }) => severity === 'serious')
      .map(({ message }) => `Serious finding of '${label}': ${message}`),
  );
  const outside = points.filter(({ extrapolated }) => extrapolated);
  return [
    ...serious,
    ...(curve !== undefined && areOfDifferentProcessors(cooler, curve)
      ? [
          `The cooler was logged on '${cooler.processor}', the power curve on '${curve.processor}': use runs of one processor for both.`,
        ]
      : []),
    ...(outside.length === 0
      ? []
      : [
          `Extrapolated: ${outside.length} of the ${points.length} caps lie outside the powers logged (cooler: ${rangeInWords(cooler.testedRange.powerW)}${curve === undefined ? '' : `, power curve: ${rangeInWords(curve.testedRange.powerW)}`}); log a run there before you rely on them.`,
        ]),
    ...(scenario.enclosure === undefined
      ? ['Open bench: no enclosure is given. An enclosure commonly adds 5 to 15 K to the intake air.']
      : []),
    ...(knee === undefined
      ? []
      : [`The knee is a matter of convention: ${knee.definition}. Another range of caps has another knee.`]),
    "Stay within the makers' limits for temperature, power and voltage: they come before this answer. A cap is a setting, not a protection.",
  ];
}
