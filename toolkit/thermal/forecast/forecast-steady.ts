import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import type { Estimate, EstimatedNumber } from '../../numerics/estimate.js';
import { formatEstimate, formatNumber } from '../../numerics/format-estimate.js';
import { momentsOfMixture, type NormalMixture, quantileOfMixture } from '../../numerics/normal-mixture.js';
import type { Finding } from '../../runs/finding.js';
import { requireRun } from '../../runs/require-run.js';
import { requireSamples } from '../../runs/require-samples.js';
import type { Run } from '../../runs/run.js';
import { loadSegments } from '../../runs/segments/load-segments.js';
import type { LoadSegment } from '../../runs/segments/run-segment.js';
import { steadyWindow } from '../../runs/segments/steady-window.js';
import {
  type ForecastGrid,
  type ForecastPosterior,
  forecastPosterior,
  type SlowestPrior,
} from './forecast-posterior.js';
import { continuedRecord, type ForecastRecord, forecastRecord } from './forecast-record.js';

/** Options of `forecastSteady`. */
export interface ForecastSteadyOptions {
  /** Half-width of the 95 % interval that would do, K. Default 0.5. */
  readonly halfWidthK?: number;
  /**
   * Where the slowest time constant of the cooler lies with 95 % confidence before the run says anything, s: it matters
   * while the load has lasted less than about twice that long. Default 50 to 800, air coolers and liquid loops alike;
   * 60 to 250 is plausible for an air cooler, 250 to 700 for a liquid loop.
   */
  readonly slowestTimeConstantS?: readonly [low: number, high: number];
  /** Below this power the processor idles, W; as in `loadSegments`. */
  readonly idleBelowW?: number;
}

const OPTION_NAMES: KnownNames<ForecastSteadyOptions> = {
  halfWidthK: true,
  slowestTimeConstantS: true,
  idleBelowW: true,
};

/** Defaults of `ForecastSteadyOptions`. */
export interface ForecastSteadyDefaults {
  readonly halfWidthK: number;
  readonly slowestTimeConstantS: readonly [low: number, high: number];
}

/**
 * Defaults of `forecastSteady`.
 *
 * @example
 * FORECAST_DEFAULTS; // => { halfWidthK: 0.5, slowestTimeConstantS: [50, 800] }
 */
export const FORECAST_DEFAULTS: ForecastSteadyDefaults = {
  halfWidthK: 0.5,
  slowestTimeConstantS: [50, 800],
};

/** What the run so far says of its end. */
export interface SteadyForecast {
  readonly kind: 'forecast';
  /** `known`: within the wanted half-width; `more-time`: it will be after `moreTimeS`; `out-of-reach`: not within an hour. */
  readonly verdict: 'known' | 'more-time' | 'out-of-reach';
  /** One sentence with numbers and units. */
  readonly summary: string;
  /** Where the temperature will settle at `powerW` in air of `ambientC`, degrees Celsius. */
  readonly steadyTemperatureC: Estimate;
  /** (steady temperature − air) / power. */
  readonly thermalResistanceKPerW: Estimate;
  /** Mean power of the load as it is held now: over the second half of its last part. */
  readonly powerW: number;
  /** Air at the intake: mean of the last minute. */
  readonly ambientC: number;
  /** What averaging the last two minutes would give, its interval as if it were steady. */
  readonly lastTwoMinutesC: Estimate;
  /** Share of the rise above the air that is still to come; below 0 where the temperature falls towards its steady value. */
  readonly missingRiseFraction: Estimate;
  readonly slowestTimeConstantS: Estimate;
  /** How long the load has lasted. */
  readonly loadS: number;
  /** The half-width that was asked for. */
  readonly wantedHalfWidthK: number;
  /** How much longer the load must last for the wanted half-width: 0 where it is there, absent where an hour would not do. */
  readonly moreTimeS?: number;
  readonly findings: readonly Finding[];
}

/** Why there is no forecast yet. */
export interface TooEarlyForecast {
  readonly kind: 'too-early';
  /** One sentence with numbers and units. */
  readonly reason: string;
  /** How long the load has lasted. */
  readonly loadS: number;
  /** How much longer it must last for a forecast, where that can be said. */
  readonly moreTimeS?: number;
  readonly findings: readonly Finding[];
}

/** A forecast, or why it is too early for one: the question is asked again and again while a run is logged. */
export type Forecast = SteadyForecast | TooEarlyForecast;

/** Before this the fast stages have not settled, s. */
const SHORTEST_LOAD_S = 60;
/** Fewer samples under load than this tell no course from noise. */
const LEAST_LOAD_SAMPLES = 20;
/** A rise as small as this, K, is lost in drifts and rounding. */
const LEAST_RISE_K = 2;
/** A half-width above this is no forecast, K. */
const MOST_HALF_WIDTH_K = 5;
/** Standard uncertainty of the air at the end, K: read to a tenth or so, and late; or one number for a whole run. */
const MEASURED_AIR_K = 0.05;
const GIVEN_AIR_K = 0.3;
/** Additional times that are offered, minutes. */
const MORE_MINUTES = [0.5, 1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60];
/** Middle time constants, s, and how many slowest ones the two rounds of the grid have. */
const MIDDLE_S = [12, 20, 35, 60];
const COARSE_COUNT = 14;
const FINE_COUNT = 24;
/** A cell this much less likely than the best one, in the logarithm, does not count. */
const NEGLIGIBLE_LOG = 10;
/** Normal quantile of 97.5 %. */
const NORMAL_95 = 1.959964;
/** Residual variance above this multiple of the assumed one is worth a warning. */
const NOTED_EXCESS_RATIO = 2;
/** Where the posterior of the slowest log time constant keeps this share of the prior's spread, the prior speaks. */
const PRIOR_SHARE = 0.4;
/** Air that moves by more than this is not yet final, K/min. */
const NOTED_AIR_DRIFT_KPERMIN = 0.1;
/** Load powers of one stretch that differ by this ratio are two loads. */
const CHANGED_POWER_RATIO = 1.1;

/**
 * Where the temperature of a run under load will settle, from the run so far.
 *
 * The model of `fitCooler` with its time constants integrated out: for each pair of a middle and a slowest time constant
 * on a grid, the resistances of all stages, the start and the convection bend follow from a linear model with wide
 * Gaussian priors and correlated noise; the pairs are weighted by their marginal likelihood and by a log-normal prior of the
 * slowest time constant. A run cannot show a time constant longer than itself: there that prior (`slowestTimeConstantS`)
 * keeps the interval honest. The estimate is the median of the resulting mixture, its interval the 2.5 and 97.5 %
 * quantiles, often longer upward. `moreTimeS` comes from continuing the run as the model expects and asking again.
 *
 * Assumes the load, the fan speed and the air stay as they are: in an enclosure that goes on warming, a finding says so. Uses the run up to the end of its last load.
 *
 * On 400 simulated rigs of richer physics, eight minutes into a load at one cap: within 0.21 K in nine of ten with air
 * coolers and 0.66 K with liquid loops, where the mean of the last two minutes is off by 3 K in the median; intervals hold
 * the truth in 97 %.
 *
 * @param run - a run under load, from before its start where possible; air temperature known
 * @param options - wanted half-width, prior of the slowest time constant; see `ForecastSteadyOptions`
 * @returns a forecast; or `kind: 'too-early'` with the reason and how much longer to wait
 * @throws ArgumentError if an option is out of its domain or the air temperature is not known
 * @example
 * const timeS = Array.from({ length: 361 }, (_, i) => i);
 * const run = makeRun(
 *   {
 *     timeS,
 *     powerW: timeS.map((t) => (t <= 30 ? 10 : 80)),
 *     temperatureC: timeS.map((t) => 27 + (t <= 30 ? 0 : 35 * (1 - Math.exp((30 - t) / 120)))),
 *     ambientC: timeS.map(() => 22),
 *   },
 *   { label: 'so far' },
 * );
 * const forecast = forecastSteady(run);
 * forecast.kind === 'forecast' && requireValue(forecast.steadyTemperatureC); // => 62 within 0.5
 */
export function forecastSteady(run: Run, options: ForecastSteadyOptions = {}): Forecast {
  const caller = 'forecastSteady';
  requireRun(run, caller);
  requireSamples(run, caller);
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const { halfWidthK, slowestTimeConstantS } = { ...FORECAST_DEFAULTS, ...options };
  requireNumber(halfWidthK, { caller, argument: 'options.halfWidthK' }, { above: 0 });
  const prior = priorOf(slowestTimeConstantS, caller);
  const { segments } = loadSegments(
    run,
    options.idleBelowW === undefined ? {} : { idleBelowW: options.idleBelowW },
  );
  const loads: LoadSegment[] = [];
  for (const segment of segments) {
    if (segment.kind === 'load') loads.push(segment);
    // A later load starts a new stretch; the one before is part of its history.
    else if (segments.indexOf(segment) < segments.findLastIndex(({ kind }) => kind === 'load'))
      loads.length = 0;
  }
  const last = loads.at(-1);
  if (last === undefined) {
    return { kind: 'too-early', reason: 'The processor is not under load yet.', loadS: 0, findings: [] };
  }
  // A forecast cannot be had without the air: said at once, not after a minute.
  const record = forecastRecord(run, { endIndex: last.endIndex, powerW: presentPowerW(run, last) }, caller);
  const loadS = last.endS - loads[0].startS;
  const tooEarly = (reason: string, moreTimeS?: number): TooEarlyForecast => ({
    kind: 'too-early',
    reason,
    loadS,
    ...(moreTimeS === undefined ? {} : { moreTimeS }),
    findings: seriousFindings(run),
  });
  if (record.loadPowerW <= 0) {
    return tooEarly('The power is 0 W throughout: check the power column; nothing can be said of a load.');
  }
  const loadSamples = last.endIndex - loads[0].startIndex;
  if (loadS < SHORTEST_LOAD_S || loadSamples < LEAST_LOAD_SAMPLES) {
    const waitS = Math.max(SHORTEST_LOAD_S - loadS, (LEAST_LOAD_SAMPLES / loadSamples - 1) * loadS);
    return tooEarly(
      `The load has lasted ${formatNumber(loadS)} s, with ${loadSamples} samples; the fast stages take a minute to settle.`,
      Math.ceil(Math.max(1, waitS)),
    );
  }
  if (record.endTemperatureC - record.endAmbientC < LEAST_RISE_K) {
    return tooEarly(
      `The temperature is only ${formatNumber(record.endTemperatureC - record.endAmbientC)} K above the air; there is no rise to follow.`,
    );
  }

  const grid = gridOf(record, prior);
  const posterior = forecastPosterior(record, grid, prior);
  const mixture = mixtureOf(record, posterior);
  const steadyTemperatureC = estimateOf(mixture);
  const nowK = halfWidthOf(steadyTemperatureC);
  const halfWidthAfter = (moreS: number): number =>
    halfWidthOf(
      estimateOf(
        mixtureOf(record, forecastPosterior(continuedRecord(record, moreS, posterior.predict), grid, prior)),
      ),
    );
  if (nowK > MOST_HALF_WIDTH_K) {
    const [low, high] = steadyTemperatureC.interval95;
    return tooEarly(
      `The run so far allows steady temperatures from ${low.toFixed(0)} to ${high.toFixed(0)} °C.`,
      leastMoreTimeS(halfWidthAfter, MOST_HALF_WIDTH_K),
    );
  }
  const moreTimeS = nowK <= halfWidthK ? 0 : leastMoreTimeS(halfWidthAfter, halfWidthK);
  const verdict = moreTimeS === 0 ? 'known' : moreTimeS === undefined ? 'out-of-reach' : 'more-time';
  const slowest = slowestOf(posterior);
  return {
    kind: 'forecast',
    verdict,
    summary:
      (seriousFindings(run).length > 0 ? 'Provisional, see the findings of the run. ' : '') +
      summaryOf(steadyTemperatureC, record, halfWidthK, moreTimeS),
    steadyTemperatureC,
    thermalResistanceKPerW: resistanceOf(steadyTemperatureC, record),
    powerW: record.loadPowerW,
    ambientC: record.endAmbientC,
    lastTwoMinutesC: steadyWindow(run, {
      ...(options.idleBelowW === undefined ? {} : { idleBelowW: options.idleBelowW }),
    }).temperatureC.estimate,
    missingRiseFraction: missingOf(steadyTemperatureC, record),
    slowestTimeConstantS: slowest,
    loadS,
    wantedHalfWidthK: halfWidthK,
    ...(moreTimeS === undefined ? {} : { moreTimeS }),
    findings: findingsOf(run, record, loads, posterior, slowest, prior, verdict, halfWidthK),
  };
}

/** A part of the load begins on a block of samples that may hold some of the part before: its second half does not. */
function presentPowerW({ powerW }: Run, { startIndex, endIndex }: LoadSegment): number {
  const first = (startIndex + endIndex) >> 1;
  let sum = 0;
  for (let i = first; i < endIndex; i++) sum += powerW[i];
  return sum / (endIndex - first);
}

function priorOf(interval: readonly [low: number, high: number], caller: string): SlowestPrior {
  const [low, high] = interval;
  requireNumber(low, { caller, argument: 'options.slowestTimeConstantS[0]' }, { atLeast: 1 });
  requireNumber(high, { caller, argument: 'options.slowestTimeConstantS[1]' });
  if (!(high > low)) {
    throw new ArgumentError({
      caller,
      argument: 'options.slowestTimeConstantS',
      expected: 'an interval whose second number is larger than its first',
      received: `${low} to ${high}`,
    });
  }
  return {
    medianS: Math.sqrt(low * high),
    logStandardDeviation: Math.log(high / low) / (2 * NORMAL_95),
  };
}

/** Two rounds: the whole prior coarsely, then what the first round left of it; the first also finds the start. */
function gridOf(record: ForecastRecord, prior: SlowestPrior): ForecastGrid {
  const reach = Math.exp(2.6 * prior.logStandardDeviation);
  const roughResistanceKPerW = (record.endTemperatureC - record.endAmbientC) / record.loadPowerW;
  const startRiseK = record.temperatureC[0] - record.ambientC[0];
  const coarse: ForecastGrid = {
    slowestS: geometric(prior.medianS / reach, prior.medianS * reach, COARSE_COUNT),
    middleS: MIDDLE_S,
    startPowerW: Math.max(0, startRiseK / roughResistanceKPerW),
    roughResistanceKPerW,
  };
  const { cells, likeliest } = forecastPosterior(record, coarse, prior);
  const counting = cells.filter(({ weight }) => weight > likeliestWeight(cells) * Math.exp(-NEGLIGIBLE_LOG));
  const stepRatio = coarse.slowestS[1] / coarse.slowestS[0];
  const low = Math.min(...counting.map(({ slowestS }) => slowestS)) / stepRatio;
  const high = Math.max(...counting.map(({ slowestS }) => slowestS)) * stepRatio;
  return {
    ...coarse,
    slowestS: geometric(low, high, FINE_COUNT),
    startPowerW: Math.max(0, startRiseK / likeliest.resistanceKPerW),
  };
}

function likeliestWeight(cells: ForecastPosterior['cells']): number {
  return cells.reduce((most, { weight }) => Math.max(most, weight), 0);
}

function geometric(low: number, high: number, count: number): number[] {
  return Array.from({ length: count }, (_, k) => low * (high / low) ** (k / (count - 1)));
}

/** The steady temperature, degrees Celsius: one normal distribution for each pair of time constants. */
function mixtureOf({ loadPowerW, endAmbientC }: ForecastRecord, { cells }: ForecastPosterior): NormalMixture {
  return cells.map(({ weight, resistanceKPerW, standardErrorKPerW }) => ({
    weight,
    mean: endAmbientC + loadPowerW * resistanceKPerW,
    standardDeviation: Math.hypot(loadPowerW * standardErrorKPerW, MEASURED_AIR_K),
  }));
}

function estimateOf(mixture: NormalMixture): EstimatedNumber {
  return {
    kind: 'estimated',
    value: quantileOfMixture(mixture, 0.5),
    standardError: momentsOfMixture(mixture).standardDeviation,
    interval95: [quantileOfMixture(mixture, 0.025), quantileOfMixture(mixture, 0.975)],
  };
}

function halfWidthOf({ interval95: [low, high] }: EstimatedNumber): number {
  return (high - low) / 2;
}

/** The shortest of the offered times after which the half-width is reached, s; undefined where none of them does. */
function leastMoreTimeS(halfWidthAfter: (moreS: number) => number, wantedK: number): number | undefined {
  const reached = (minutes: number): boolean => halfWidthAfter(60 * minutes) <= wantedK;
  let low = 0;
  let high = MORE_MINUTES.length - 1;
  if (!reached(MORE_MINUTES[high])) return undefined;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (reached(MORE_MINUTES[middle])) high = middle;
    else low = middle + 1;
  }
  return 60 * MORE_MINUTES[high];
}

/** In constant air an offset of its thermometer cancels out of the steady temperature, but not out of the resistance. */
function resistanceOf(steady: EstimatedNumber, record: ForecastRecord): EstimatedNumber {
  const { loadPowerW, endAmbientC } = record;
  const value = (steady.value - endAmbientC) / loadPowerW;
  const airKPerW = (record.ambientMeasured ? MEASURED_AIR_K : GIVEN_AIR_K) / loadPowerW;
  const side = (end: number): number => Math.hypot((end - steady.value) / loadPowerW, NORMAL_95 * airKPerW);
  return {
    kind: 'estimated',
    value,
    standardError: Math.hypot(steady.standardError / loadPowerW, airKPerW),
    interval95: [value - side(steady.interval95[0]), value + side(steady.interval95[1])],
  };
}

function missingOf(steady: EstimatedNumber, record: ForecastRecord): EstimatedNumber {
  const { endTemperatureC, endAmbientC } = record;
  const missing = (steadyC: number): number => (steadyC - endTemperatureC) / (steadyC - endAmbientC);
  const riseK = steady.value - endAmbientC;
  return {
    kind: 'estimated',
    value: missing(steady.value),
    standardError: (steady.standardError * (endTemperatureC - endAmbientC)) / riseK ** 2,
    interval95: [missing(steady.interval95[0]), missing(steady.interval95[1])],
  };
}

function slowestOf({ cells }: ForecastPosterior): EstimatedNumber {
  // Between the points of the grid the logarithm is spread evenly.
  const values = [...new Set(cells.map(({ slowestS }) => slowestS))];
  const spacing = values.length > 1 ? Math.log(values[1] / values[0]) : 0;
  const mixture = cells.map(({ weight, slowestS }) => ({
    weight,
    mean: Math.log(slowestS),
    standardDeviation: Math.max(spacing / Math.sqrt(12), 1e-9),
  }));
  const value = Math.exp(quantileOfMixture(mixture, 0.5));
  return {
    kind: 'estimated',
    value,
    standardError: value * momentsOfMixture(mixture).standardDeviation,
    interval95: [Math.exp(quantileOfMixture(mixture, 0.025)), Math.exp(quantileOfMixture(mixture, 0.975))],
  };
}

function summaryOf(
  steady: EstimatedNumber,
  { loadPowerW, endAmbientC }: ForecastRecord,
  halfWidthK: number,
  moreTimeS: number | undefined,
): string {
  const where = `${loadPowerW.toFixed(1)} W in air of ${endAmbientC.toFixed(1)} °C`;
  const wanted = `± ${formatNumber(halfWidthK, 'K')}`;
  const time =
    moreTimeS === undefined
      ? `${wanted} is not reached within another hour`
      : moreTimeS === 0
        ? `known within ${wanted}`
        : `${minutesInWords(moreTimeS)} for ${wanted}`;
  return `Steady at ${formatEstimate(steady, '°C')} at ${where}; ${time}.`;
}

function minutesInWords(timeS: number): string {
  const minutes = timeS / 60;
  return minutes < 1 ? 'half a minute more' : `${minutes} more ${minutes === 1 ? 'minute' : 'minutes'}`;
}

/** What is seriously wrong with the log is wrong with every forecast from it. */
function seriousFindings(run: Run): readonly Finding[] {
  return run.findings.filter(({ code, severity }) => severity === 'serious' || code === 'stuck-sensor');
}

function findingsOf(
  run: Run,
  record: ForecastRecord,
  loads: readonly LoadSegment[],
  posterior: ForecastPosterior,
  slowest: EstimatedNumber,
  prior: SlowestPrior,
  verdict: SteadyForecast['verdict'],
  halfWidthK: number,
): Finding[] {
  const findings: Finding[] = [...seriousFindings(run)];
  const last = loads[loads.length - 1];
  const logSpread = slowest.standardError / slowest.value;
  if (logSpread > PRIOR_SHARE * prior.logStandardDeviation) {
    findings.push({
      code: 'leans-on-prior',
      severity: 'note',
      message:
        `The load has not lasted long enough to show the slowest time constant, ${formatEstimate(slowest, 's')}: the ` +
        'forecast leans on where it usually lies.',
      remedy:
        'Log on; or, where the kind of cooler is known, narrow options.slowestTimeConstantS: 60 to 250 s for air, 250 to 700 s for liquid.',
    });
  }
  if (last.limitedBy === 'temperature') {
    findings.push({
      code: 'held-by-temperature',
      severity: 'warning',
      message:
        'The processor holds its power down to stay at its temperature limit; the forecast is for the mean power of that, and ' +
        'the power will go on changing.',
      remedy: 'Log a run at a lower cap: here power, not temperature, is what settles.',
      rangeS: [last.startS, last.endS],
    });
  }
  const powers = loads.map(({ meanPowerW }) => meanPowerW);
  if (Math.max(...powers) > CHANGED_POWER_RATIO * Math.min(...powers)) {
    findings.push({
      code: 'power-changed',
      severity: 'note',
      message:
        `The load went from ${formatNumber(powers[0], 'W')} to ${formatNumber(record.loadPowerW, 'W')}; the forecast is for ` +
        'the present power.',
      rangeS: [last.startS, last.endS],
    });
  }
  if (last.endIndex < run.timeS.length) {
    findings.push({
      code: 'load-ended',
      severity: 'note',
      message: `The load ended at ${formatNumber(last.endS, 's')}; what came after was left out.`,
    });
  }
  if (record.startsUnderLoad) {
    findings.push({
      code: 'starts-under-load',
      severity: 'note',
      message:
        'The log starts under load: nothing is known of what went before, and each stage was given a start of its own.',
      remedy: 'Start the log a minute before the load.',
    });
  }
  if (record.gapEnds.length > 0) {
    findings.push({
      code: 'gap-new-start',
      severity: 'note',
      message: `The run has ${record.gapEnds.length} gap${record.gapEnds.length === 1 ? '' : 's'}; the power in between is not known, and each stage was left free there.`,
      count: record.gapEnds.length,
    });
  }
  if (!record.ambientMeasured) {
    findings.push({
      code: 'air-not-measured',
      severity: 'note',
      message: 'One air temperature stands for the whole run; the interval allows for a room that drifts.',
      remedy: 'Log the air at the intake.',
    });
  }
  if (Math.abs(record.airDriftKPerMin) > NOTED_AIR_DRIFT_KPERMIN) {
    findings.push({
      code: 'air-drifting',
      severity: 'warning',
      message:
        `The air at the intake has changed by ${formatNumber(record.airDriftKPerMin, 'K/min')} over the last minutes; the ` +
        `forecast is for the air as it is now, ${formatNumber(record.endAmbientC, '°C')}.`,
      remedy:
        'Add what the air will still change; or wait until the room, or the enclosure around it, has settled.',
    });
  }
  if (posterior.excessVarianceRatio > NOTED_EXCESS_RATIO) {
    findings.push({
      code: 'structured-residuals',
      severity: 'warning',
      message:
        `The run departs from any sum of stages ${formatNumber(Math.sqrt(posterior.excessVarianceRatio))} times as much as its ` +
        'noise explains; the interval was widened by as much.',
      remedy: 'Look at the run: a change of fan speed or of the air at the intake is the usual cause.',
    });
  }
  if (verdict === 'out-of-reach') {
    findings.push({
      code: 'half-width-out-of-reach',
      severity: 'note',
      message: `A half-width of ${formatNumber(halfWidthK, 'K')} is not reached within another hour of load.`,
      remedy: record.ambientMeasured
        ? 'Ask for a larger half-width; drifts of the air and the sensor set the floor.'
        : 'Log the air at the intake, or ask for a larger half-width.',
    });
  }
  return findings;
}
