import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import { NORMAL_95 } from '../../numerics/distributions.js';
import type { EstimatedNumber } from '../../numerics/estimate.js';
import { formatEstimate, formatNumber } from '../../numerics/format-estimate.js';
import { requireRun } from '../../runs/require-run.js';
import { requireSamples } from '../../runs/require-samples.js';
import type { Run } from '../../runs/run.js';
import { lastLoads } from '../../runs/segments/last-loads.js';
import { loadSegments } from '../../runs/segments/load-segments.js';
import type { LoadSegment } from '../../runs/segments/run-segment.js';
import { steadyWindow } from '../../runs/segments/steady-window.js';
import type { Forecast, TooEarlyForecast } from './forecast.js';
import {
  estimateOfMixture,
  halfWidthOf,
  missingRise,
  resistanceAtEnd,
  slowestTimeConstant,
  steadyMixture,
} from './forecast-estimates.js';
import { forecastFindings, seriousFindings } from './forecast-findings.js';
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

/**
 * Defaults of `forecastSteady`.
 *
 * @example
 * FORECAST_DEFAULTS; // => { halfWidthK: 0.5, slowestTimeConstantS: [50, 800] }
 */
export const FORECAST_DEFAULTS: Required<Omit<ForecastSteadyOptions, 'idleBelowW'>> = {
  halfWidthK: 0.5,
  slowestTimeConstantS: [50, 800],
};

/** Before this the fast stages have not settled, s. */
const SHORTEST_LOAD_S = 60;
/** Fewer samples under load than this tell no course from noise. */
const LEAST_LOAD_SAMPLES = 20;
/** A rise as small as this, K, is lost in drifts and rounding. */
const LEAST_RISE_K = 2;
/** A half-width above this is no forecast, K. */
const MOST_HALF_WIDTH_K = 5;
/** Additional times that are offered, minutes. */
const MORE_MINUTES = [0.5, 1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60];
/** Middle time constants, s, and how many slowest ones the two rounds of the grid have. */
const MIDDLE_S = [12, 20, 35, 60];
const COARSE_COUNT = 14;
const FINE_COUNT = 24;
/** A cell this much less likely than the best one, in the logarithm, does not count. */
const NEGLIGIBLE_LOG = 10;
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
  const idle = options.idleBelowW === undefined ? {} : { idleBelowW: options.idleBelowW };
  // A load behind a pause is a new one; what went before is part of its history.
  const loads = lastLoads(loadSegments(run, idle).segments);
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
  const mixture = steadyMixture(record, posterior);
  const steadyTemperatureC = estimateOfMixture(mixture);
  const nowK = halfWidthOf(steadyTemperatureC);
  const halfWidthAfter = (moreS: number): number =>
    halfWidthOf(
      estimateOfMixture(
        steadyMixture(
          record,
          forecastPosterior(continuedRecord(record, moreS, posterior.predict), grid, prior),
        ),
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
  const slowest = slowestTimeConstant(posterior);
  return {
    kind: 'forecast',
    verdict,
    summary:
      (seriousFindings(run).length > 0 ? 'Provisional, see the findings of the run. ' : '') +
      summaryOf(steadyTemperatureC, record, halfWidthK, moreTimeS),
    steadyTemperatureC,
    thermalResistanceKPerW: resistanceAtEnd(steadyTemperatureC, record),
    powerW: record.loadPowerW,
    ambientC: record.endAmbientC,
    lastTwoMinutesC: steadyWindow(run, idle).temperatureC.estimate,
    missingRiseFraction: missingRise(steadyTemperatureC, record),
    slowestTimeConstantS: slowest,
    loadS,
    wantedHalfWidthK: halfWidthK,
    ...(moreTimeS === undefined ? {} : { moreTimeS }),
    findings: forecastFindings({ run, record, loads, posterior, slowest, prior, verdict, halfWidthK }),
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
