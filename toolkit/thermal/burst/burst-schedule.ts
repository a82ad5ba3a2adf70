import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import type { Estimate } from '../../numerics/estimate.js';
import { unavailable } from '../../numerics/estimates.js';
import { increasingRoot } from '../../numerics/increasing-root.js';
import { quantileOf } from '../../numerics/order-statistic.js';
import { coolerDraws, estimateFromDraws } from '../cooler-draws.js';
import type { CoolerModel } from '../cooler-model.js';
import { type CoolerNumbers, coolerNumbers, riseOfStages, steadyRise } from '../cooler-numbers.js';
import {
  BURST_LIMIT_NAMES,
  type BurstLimit,
  isExtrapolated,
  requireConfidence,
  requireHeadroom,
} from './burst-scenario.js';

/** The two powers of a schedule, one of its times, and the limit. */
export interface BurstScheduleScenario extends BurstLimit {
  /** Power of the bursts, W. */
  readonly powerW: number;
  /** Power of the pauses, W, below that of the bursts. */
  readonly idlePowerW: number;
  /** How long each burst lasts, s: the shortest pause is looked for. Give this or `periodS`. */
  readonly onS?: number;
  /** How long a burst and its pause last together, s: the longest burst is looked for. Give this or `onS`. */
  readonly periodS?: number;
  /** Confidence of `atConfidence`, 0.5 to 0.99. Default 0.95. */
  readonly confidence?: number;
}

const SCENARIO_NAMES: KnownNames<BurstScheduleScenario> = {
  ...BURST_LIMIT_NAMES,
  powerW: true,
  idlePowerW: true,
  onS: true,
  periodS: true,
  confidence: true,
};

/** Burst and pause without uncertainty. */
export interface OnOff {
  readonly onS: number;
  readonly offS: number;
  /** Share of the time at the power of the bursts. */
  readonly dutyFraction: number;
}

/** A schedule that can go on for ever. */
export interface SustainableSchedule {
  readonly kind: 'sustainable';
  /** Each burst; `fixed` where it was given. */
  readonly onS: Estimate;
  /**
   * Each pause. Where more than 2.5 % of what the model allows needs an endless one, its interval has no upper end: then
   * `not-identifiable`, with the central value.
   */
  readonly offS: Estimate;
  /** Share of the time at the power of the bursts. */
  readonly dutyFraction: Estimate;
  /** Mean power of the schedule. */
  readonly meanPowerW: Estimate;
  /** Temperature at the end of each pause of the central schedule, degrees Celsius; the bursts end at the limit. */
  readonly lowestC: number;
  /** The schedule that keeps the limit with the wanted confidence; absent where no pause is long enough for that. */
  readonly atConfidence?: OnOff;
  readonly confidence: number;
}

/** No pause is needed: the power of the bursts can be held for ever. */
export interface ScheduleWithoutPause {
  readonly kind: 'always';
  /** How far below the limit its steady temperature stays. */
  readonly marginK: Estimate;
}

/** No schedule keeps the limit. */
export interface NoSchedule {
  readonly kind: 'never';
  /** `burst`: one burst alone passes the limit after the longest pause; `idle`: the pauses themselves settle above it. */
  readonly reason: 'burst' | 'idle';
  /** How far the coolest such schedule passes the limit. */
  readonly excessK: Estimate;
}

/** A schedule of bursts and pauses, or why there is none to look for. */
export type BurstSchedule = SustainableSchedule | ScheduleWithoutPause | NoSchedule;

/** Pauses longer than this many of the slowest time constants are endless. */
const ENDLESS_CONSTANTS = 50;
/** After a burst a lagging sensor goes on rising for a few of its lags. */
const LAGS_AFTER = 12;

/**
 * The schedule of equal bursts and pauses that a cooler can keep up for ever with its highest temperature at the limit.
 *
 * In the periodic state each stage swings up to P₀ + (P − P₀) (1 − e^(−on/τ)) / (1 − e^(−period/τ)): the elementary
 * periodic solution, summed over the stages, sensor lag and convection bend included. Given `onS`, the shortest pause is
 * found; given `periodS`, the longest burst. Intervals and `atConfidence` from draws out of the model's covariance, always
 * the same ones. An enclosure whose rise scales with power is taken as warmed by the mean power.
 *
 * Power supplies and voltage regulators have limits of their own for bursts, and cycling wears: their makers' limits hold.
 *
 * @param model - a model with stages, from `fitCooler`
 * @param scenario - the two powers, limit, air, and either `onS` or `periodS`; see `BurstScheduleScenario`
 * @returns `sustainable` with the times, `always` where no pause is needed, `never` where none helps
 * @throws ArgumentError if the model has no stages, the limit is not above the air, neither or both of `onS` and `periodS`
 * are given, or a value is out of its domain
 * @example
 * // One stage of 0.5 K/W and 60 s: 100 W for 60 s of every 120 s rises to 36.5529 K
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 100)), temperatureC: timeS.map((t) => 22 + 50 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * const model = fitCooler(run, { powerExponent: 0 });
 * const schedule = burstSchedule(model, { powerW: 100, idlePowerW: 0, periodS: 120, limitC: 58.5529, ambientC: 22 });
 * schedule.kind === 'sustainable' && requireValue(schedule.onS); // => 60 within 0.01
 */
export function burstSchedule(model: CoolerModel, scenario: BurstScheduleScenario): BurstSchedule {
  const caller = 'burstSchedule';
  const cooler = coolerNumbers(model, caller);
  requireKnownNames(scenario, SCENARIO_NAMES, { caller, argument: 'scenario' });
  const { powerW, idlePowerW, onS, periodS, confidence = 0.95 } = scenario;
  requireNumber(powerW, { caller, argument: 'scenario.powerW' }, { above: 0 });
  requireNumber(idlePowerW, { caller, argument: 'scenario.idlePowerW' }, { atLeast: 0, below: powerW });
  if (onS !== undefined) requireNumber(onS, { caller, argument: 'scenario.onS' }, { above: 0 });
  if (periodS !== undefined) requireNumber(periodS, { caller, argument: 'scenario.periodS' }, { above: 0 });
  if ((onS === undefined) === (periodS === undefined)) {
    throw new ArgumentError({
      caller,
      argument: 'scenario',
      expected: 'a scenario with either onS or periodS',
      received: onS === undefined ? 'neither' : 'both',
      remedy: 'give onS to have the shortest pause found, or periodS to have the longest burst found',
    });
  }
  requireConfidence(confidence, caller);
  const { limitOfMeanC, headroomAt } = requireHeadroom(model, scenario, caller, idlePowerW);

  const meanPowerOf = (duty: number): number => idlePowerW + duty * (powerW - idlePowerW);
  /** How far the periodic maximum passes the limit, K. */
  const excessOf = (numbers: CoolerNumbers, { onS: on, offS: off, dutyFraction }: OnOff): number =>
    highestRise(numbers, powerW, idlePowerW, on, off) - headroomAt(meanPowerOf(dutyFraction));
  const holdingK = (numbers: CoolerNumbers): number => steadyRise(numbers, powerW) - headroomAt(powerW);
  const restingK = (numbers: CoolerNumbers): number =>
    steadyRise(numbers, idlePowerW) - headroomAt(idlePowerW);
  const burstAloneK = (numbers: CoolerNumbers): number =>
    onS === undefined ? Number.NEGATIVE_INFINITY : excessOf(numbers, onOff(onS, endlessOf(numbers)));

  /** Continuous in the numbers: no pause at all where none is needed, an endless one where none helps. */
  const scheduleOf = (numbers: CoolerNumbers): OnOff => {
    if (holdingK(numbers) <= 0) return onS === undefined ? onOff(periodS ?? 0, 0) : onOff(onS, 0);
    if (periodS !== undefined) {
      if (restingK(numbers) >= 0) return onOff(0, periodS);
      const on = increasingRoot((t) => excessOf(numbers, onOff(t, periodS - t)), 0, periodS);
      return onOff(on, periodS - on);
    }
    const burstS = onS ?? 0;
    if (burstAloneK(numbers) >= 0) return onOff(burstS, Number.POSITIVE_INFINITY);
    // In the logarithm of the pause: it may be a fraction of a second, or many slowest time constants.
    const endlessS = endlessOf(numbers);
    const coolerK = (logOff: number): number => -excessOf(numbers, onOff(burstS, Math.exp(logOff)));
    return onOff(burstS, Math.exp(increasingRoot(coolerK, Math.log(1e-9 * endlessS), Math.log(endlessS))));
  };

  const draws = coolerDraws(model, cooler);
  const extrapolated = isExtrapolated(model, powerW);
  const estimateOf = (f: (numbers: CoolerNumbers) => number, sign: 1 | -1): Estimate =>
    estimateFromDraws(
      sign * f(cooler),
      draws.map((draw) => sign * f(draw)),
      extrapolated,
    );
  if (holdingK(cooler) <= 0) return { kind: 'always', marginK: estimateOf(holdingK, -1) };
  if (restingK(cooler) >= 0) return { kind: 'never', reason: 'idle', excessK: estimateOf(restingK, 1) };
  if (burstAloneK(cooler) >= 0)
    return { kind: 'never', reason: 'burst', excessK: estimateOf(burstAloneK, 1) };

  const central = scheduleOf(cooler);
  const schedules = draws.map(scheduleOf);
  const onTimes = Float64Array.from(schedules, (schedule) => schedule.onS);
  const offTimes = Float64Array.from(schedules, (schedule) => schedule.offS);
  const duties = Float64Array.from(schedules, (schedule) => schedule.dutyFraction);
  const endlessFraction = offTimes.filter((off) => off === Number.POSITIVE_INFINITY).length / offTimes.length;
  const safe =
    periodS === undefined
      ? onOff(central.onS, Math.max(central.offS, quantileOf(offTimes, confidence)))
      : onOffOfPeriod(Math.min(central.onS, quantileOf(onTimes, 1 - confidence)), periodS);
  const { onS: burstS, offS } = central;
  return {
    kind: 'sustainable',
    onS: onS === undefined ? estimateFromDraws(burstS, onTimes, extrapolated) : unavailable('fixed', onS),
    offS:
      endlessFraction < 0.025
        ? estimateFromDraws(offS, offTimes, extrapolated)
        : unavailable('not-identifiable', offS),
    dutyFraction: estimateFromDraws(central.dutyFraction, duties, extrapolated),
    meanPowerW: estimateFromDraws(meanPowerOf(central.dutyFraction), duties.map(meanPowerOf), extrapolated),
    lowestC:
      limitOfMeanC -
      headroomAt(meanPowerOf(central.dutyFraction)) +
      periodicRise(cooler, powerW, idlePowerW, burstS, offS, offS),
    ...(Number.isFinite(safe.offS) && safe.onS > 0 ? { atConfidence: safe } : {}),
    confidence,
  };

  function endlessOf({ timeConstantsS }: CoolerNumbers): number {
    return ENDLESS_CONSTANTS * timeConstantsS[timeConstantsS.length - 1] + (onS ?? 0);
  }
}

function onOff(onS: number, offS: number): OnOff {
  return { onS, offS, dutyFraction: onS === 0 ? 0 : onS / (onS + offS) };
}

function onOffOfPeriod(onS: number, periodS: number): OnOff {
  return onOff(onS, periodS - onS);
}

/** Rise in the periodic state, `afterS` after the end of a burst, K. */
function periodicRise(
  cooler: CoolerNumbers,
  powerW: number,
  idlePowerW: number,
  onS: number,
  offS: number,
  afterS: number,
): number {
  return riseOfStages(cooler, (timeConstantS) => {
    const swing =
      offS === 0 ? 1 : Math.expm1(-onS / timeConstantS) / Math.expm1(-(onS + offS) / timeConstantS);
    return idlePowerW + (powerW - idlePowerW) * swing * Math.exp(-afterS / timeConstantS);
  });
}

/** Highest rise of the periodic state: at the end of the burst, or soon after where a sensor lags. */
function highestRise(
  cooler: CoolerNumbers,
  powerW: number,
  idlePowerW: number,
  onS: number,
  offS: number,
): number {
  const riseAt = (afterS: number): number => periodicRise(cooler, powerW, idlePowerW, onS, offS, afterS);
  const atEnd = riseAt(0);
  if (cooler.sensorLagS === undefined) return atEnd;
  // The maximum is flat and single: golden sections to a ten-thousandth of the span leave nothing of it.
  const ratio = (Math.sqrt(5) - 1) / 2;
  let low = 0;
  let high = Math.min(offS, LAGS_AFTER * cooler.sensorLagS);
  for (let round = 0; round < 20; round++) {
    const left = high - ratio * (high - low);
    const right = low + ratio * (high - low);
    if (riseAt(left) < riseAt(right)) low = left;
    else high = right;
  }
  return Math.max(atEnd, riseAt((low + high) / 2));
}
