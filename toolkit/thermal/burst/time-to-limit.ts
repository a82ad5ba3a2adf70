import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import type { Estimate } from '../../numerics/estimate.js';
import { unavailable } from '../../numerics/estimates.js';
import { increasingRoot } from '../../numerics/increasing-root.js';
import { quantileOf } from '../../numerics/order-statistic.js';
import { coolerDraws, estimateFromDraws } from '../cooler-draws.js';
import type { CoolerModel } from '../cooler-model.js';
import { type CoolerNumbers, coolerNumbers, steadyRise } from '../cooler-numbers.js';
import {
  BURST_LIMIT_NAMES,
  type BurstLimit,
  isExtrapolated,
  requireConfidence,
  requireHeadroom,
  startPowersOf,
} from './burst-scenario.js';
import { RiseCourse } from './rise-course.js';

/** A power that is applied, the state before it, and the limit. */
export interface TimeToLimitScenario extends BurstLimit {
  /** Package power from now on, W. */
  readonly powerW: number;
  /**
   * Earlier power in whose steady state the cooler is, W: one, or one a stage, fastest first. Default 0: everything at
   * the temperature of the air.
   */
  readonly startPowerW?: number | readonly number[];
  /** In place of `startPowerW`: the temperature at which everything has settled before, degrees Celsius. */
  readonly startTemperatureC?: number;
  /** Confidence of `soonestS`, 0.5 to 0.99. Default 0.95. */
  readonly confidence?: number;
}

const SCENARIO_NAMES: KnownNames<TimeToLimitScenario> = {
  ...BURST_LIMIT_NAMES,
  powerW: true,
  startPowerW: true,
  startTemperatureC: true,
  confidence: true,
};

/** The limit is reached. */
export interface LimitReached {
  readonly kind: 'reached';
  /**
   * Time until the limit, s. Where more than 2.5 % of what the model allows never reaches it, its interval has no upper
   * end: then `not-identifiable`, with the central value.
   */
  readonly timeS: Estimate;
  /** With the wanted confidence the limit is not reached sooner than this. */
  readonly soonestS: number;
  /** Share of what the model's uncertainty allows that reaches the limit at all. */
  readonly reachedFraction: number;
}

/** The limit is never reached. */
export interface LimitNeverReached {
  readonly kind: 'never';
  /** The highest temperature on the way, which is the steady one unless a stage starts hotter; degrees Celsius. */
  readonly highestTemperatureC: Estimate;
  /** How far below the limit that stays. */
  readonly marginK: Estimate;
  /** Share of what the model's uncertainty allows that reaches the limit all the same. */
  readonly reachedFraction: number;
}

/** The limit is passed at the start already. */
export interface LimitAlreadyPassed {
  readonly kind: 'already';
  /** How far above the limit the start is. */
  readonly excessK: number;
}

/** When a limit is reached, or why there is no such time. */
export type TimeToLimit = LimitReached | LimitNeverReached | LimitAlreadyPassed;

/** After so many of its slowest time constants a cooler has settled to the last digit. */
const SETTLED_CONSTANTS = 50;

/**
 * How long a cooler takes a power before a temperature limit is reached.
 *
 * The first time at which T_air + Σₖ rₖ xₖ(t) + R (g(xₙ) − xₙ), xₖ = P + (Pₖ − P) e^(−t/τₖ), is at the limit: for one stage
 * −τ ln((P R − ΔT) / (P R − ΔT₀)) [Bergman2011, ch. 5]. The interval and `soonestS` come from draws out of the
 * model's covariance, always the same ones. The temperature is the sensor's, as logged: a lagging sensor shows the limit
 * late. The enclosure's air is taken as warmed for this power already, which is on the safe side.
 *
 * Never let a processor run above its maker's limits to try this out.
 *
 * @param model - a model with stages, from `fitCooler`
 * @param scenario - power, limit, air, start; see `TimeToLimitScenario`
 * @returns `reached` with the time, `never` with the margin, or `already`
 * @throws ArgumentError if the model has no stages, the limit is not above the air, or a value is out of its domain
 * @example
 * // One stage of 0.5 K/W and 60 s: −60 s · ln((50 K − 40 K) / 50 K)
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 100)), temperatureC: timeS.map((t) => 22 + 50 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * const model = fitCooler(run, { powerExponent: 0 });
 * const time = timeToLimit(model, { powerW: 100, limitC: 62, ambientC: 22 });
 * time.kind === 'reached' && requireValue(time.timeS); // => 96.566 within 0.01
 * timeToLimit(model, { powerW: 60, limitC: 62, ambientC: 22 }).kind; // => 'never'
 */
export function timeToLimit(model: CoolerModel, scenario: TimeToLimitScenario): TimeToLimit {
  const caller = 'timeToLimit';
  const cooler = coolerNumbers(model, caller);
  requireKnownNames(scenario, SCENARIO_NAMES, { caller, argument: 'scenario' });
  const { powerW, confidence = 0.95 } = scenario;
  requireNumber(powerW, { caller, argument: 'scenario.powerW' }, { above: 0 });
  requireConfidence(confidence, caller);
  const { limitOfMeanC, headroomAt } = requireHeadroom(model, scenario, caller, powerW);
  const headroomK = headroomAt(powerW);
  const startPowersFor = startOf(cooler, scenario, limitOfMeanC - headroomK, caller);

  const warming: Warming = { powerW, startPowersFor, headroomK };
  const course = new RiseCourse(cooler);
  course.follow(cooler, powerW, startPowersFor(cooler));
  const startK = course.riseAtStart();
  if (startK > headroomK) return { kind: 'already', excessK: startK - headroomK };
  const centralS = timeUntil(course, cooler, warming);
  const draws = coolerDraws(model, cooler);
  const extrapolated = isExtrapolated(model, powerW);
  if (!Number.isFinite(centralS)) {
    const marginOf = (numbers: CoolerNumbers): number => headroomK - highestRise(course, numbers, warming);
    const marginsK = draws.map(marginOf);
    const marginK = estimateFromDraws(marginOf(cooler), marginsK, extrapolated);
    return {
      kind: 'never',
      highestTemperatureC: {
        ...marginK,
        value: limitOfMeanC - marginK.value,
        interval95: [limitOfMeanC - marginK.interval95[1], limitOfMeanC - marginK.interval95[0]],
      },
      marginK,
      reachedFraction: marginsK.filter((drawnK) => drawnK <= 0).length / marginsK.length,
    };
  }
  const timesS = draws.map((draw) => timeUntil(course, draw, warming, centralS));
  const reachedFraction = timesS.filter(Number.isFinite).length / timesS.length;
  return {
    kind: 'reached',
    timeS:
      reachedFraction > 0.975
        ? estimateFromDraws(centralS, timesS, extrapolated)
        : unavailable('not-identifiable', centralS),
    // Where the draw at this place never reaches it, the central time is the soonest.
    soonestS: Math.min(centralS, quantileOf(timesS, 1 - confidence)),
    reachedFraction,
  };
}

/** The start of each stage, for the fitted numbers or a draw: a temperature stays what it was read, a power what it was. */
function startOf(
  cooler: CoolerNumbers,
  scenario: TimeToLimitScenario,
  airC: number,
  caller: string,
): (numbers: CoolerNumbers) => readonly number[] {
  const stageCount = cooler.timeConstantsS.length;
  const { startTemperatureC, startPowerW = 0 } = scenario;
  if (startTemperatureC === undefined) {
    const powers = startPowersOf(startPowerW, stageCount, caller);
    return () => powers;
  }
  if (scenario.startPowerW !== undefined) {
    throw new ArgumentError({
      caller,
      argument: 'scenario.startTemperatureC',
      expected: 'given alone, without startPowerW',
      received: 'both',
    });
  }
  requireNumber(startTemperatureC, { caller, argument: 'scenario.startTemperatureC' }, { atLeast: airC });
  const startK = startTemperatureC - airC;
  return (numbers) => new Array<number>(stageCount).fill(powerForRise(numbers, startK));
}

/** The power whose steady rise this is, W. */
function powerForRise(cooler: CoolerNumbers, riseK: number): number {
  let high = cooler.atPowerW;
  while (steadyRise(cooler, high) < riseK) high *= 2;
  return increasingRoot((powerW) => steadyRise(cooler, powerW) - riseK, 0, high);
}

/** A power from a start on, and how far the die may rise. */
interface Warming {
  readonly powerW: number;
  readonly startPowersFor: (numbers: CoolerNumbers) => readonly number[];
  readonly headroomK: number;
}

/**
 * First time at which the rise is the headroom, s; infinite where it never is.
 *
 * @param nearS - where to look first
 */
function timeUntil(
  course: RiseCourse,
  numbers: CoolerNumbers,
  { powerW, startPowersFor, headroomK }: Warming,
  nearS: number = Math.max(...numbers.timeConstantsS),
): number {
  course.follow(numbers, powerW, startPowersFor(numbers));
  if (course.riseAtStart() >= headroomK) return 0;
  if (course.isOneWay) {
    if (course.steadyRiseK < headroomK) return Number.POSITIVE_INFINITY;
    const timeS = timeOneWay(course, headroomK, nearS);
    if (timeS !== undefined) return timeS;
  }
  const aboveK = (elapsedS: number): number => course.riseAt(elapsedS) - headroomK;
  let before = 0;
  for (const elapsedS of searchTimes(numbers, course.isMonotone)) {
    if (aboveK(elapsedS) >= 0) return increasingRoot(aboveK, before, elapsedS);
    before = elapsedS;
  }
  return Number.POSITIVE_INFINITY;
}

const MOST_NEWTON_STEPS = 30;
/** Newton's steps square their error: after one this small, relative, a ten-thousand-millionth is left. */
const LAST_STEP_RATIO = 1e-5;

/**
 * Where the temperature does not turn back: Newton's method on the logarithm of what is missing to the steady rise, which falls
 * in a straight line once the slowest stage rules, and as a convex function before, so that steps from too early never go too
 * far. `undefined` where a lag or the bend make it behave otherwise and it does not settle.
 */
function timeOneWay(course: RiseCourse, headroomK: number, nearS: number): number | undefined {
  const wantedK = course.steadyRiseK - headroomK;
  let timeS = nearS;
  for (let step = 0; step < MOST_NEWTON_STEPS; step++) {
    course.lookAt(timeS);
    const changeS = (course.leftK / course.slopeKPerS) * Math.log(course.leftK / wantedK);
    if (!Number.isFinite(changeS)) return undefined;
    if (Math.abs(changeS) <= LAST_STEP_RATIO * timeS) return timeS + changeS;
    timeS = Math.max(timeS + changeS, timeS / 8);
  }
  return undefined;
}

/** Highest rise on the way to the steady state, and there, K. */
function highestRise(
  course: RiseCourse,
  numbers: CoolerNumbers,
  { powerW, startPowersFor }: Warming,
): number {
  course.follow(numbers, powerW, startPowersFor(numbers));
  let highest = Math.max(course.riseAtStart(), course.steadyRiseK);
  if (course.isOneWay) return highest;
  for (const elapsedS of searchTimes(numbers, course.isMonotone))
    highest = Math.max(highest, course.riseAt(elapsedS));
  return highest;
}

/** Times between which the temperature does not turn back: few where it is monotone, many where stages start hot and cold. */
function searchTimes({ timeConstantsS, sensorLagS }: CoolerNumbers, isMonotone: boolean): number[] {
  const fastest = Math.min(...timeConstantsS, sensorLagS ?? Number.POSITIVE_INFINITY);
  const slowest = Math.max(...timeConstantsS, sensorLagS ?? 0);
  const ratio = isMonotone ? 2 : 1.03;
  const times: number[] = [];
  for (let elapsedS = fastest / 30; elapsedS < SETTLED_CONSTANTS * slowest; elapsedS *= ratio)
    times.push(elapsedS);
  return [...times, SETTLED_CONSTANTS * slowest];
}
