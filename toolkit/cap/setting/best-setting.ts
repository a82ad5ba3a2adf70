import {
  type BestSetting,
  bestAtSpeed,
  bestBetween,
  bestOffset,
  type CapAndOffset,
  isBetter,
  lowestReaching,
  lowestSettable,
  settingOf,
} from './best-at-speed.js';
import { boundBesideLimit, capBound, expectedLimitCap, mostLimitCap } from './cap-bound.js';
import { fanPowerOf, settableSpeeds } from './fan-response.js';
import { notFeasible, tooLittleThroughput } from './not-feasible.js';
import { growsWithPower } from './objective.js';
import { type OperatingState, stateAt } from './operating-state.js';
import type { PreparedCap } from './prepared-cap.js';
import { stepDown } from './step-down.js';
import { supplyPower } from './supply-power.js';

/**
 * The setting that makes the most of the objective within all constraints: cap, and where they are free, fan speed and
 * voltage offset, all on the steps they can be set in and on the same draws.
 *
 * The constraints bound the cap from both sides at each fan speed: from above by the (1 − confidence) quantile of the
 * draws' largest powers, the supply's budget and the highest cap; from below by the lowest cap and the least throughput.
 * Where the objective grows with power the highest cap is the best; where it does not (energy per job, work per
 * watt-hour) the caps between are searched. Without a fan power a faster fan is never worse, so the fastest allowed is
 * taken; with one the settable speeds are searched by branch and bound.
 *
 * @throws NumericalError where nothing satisfies all constraints: which one fails, by how much, and the nearest ways out
 */
export function bestSetting(prepared: PreparedCap): BestSetting {
  const { scenario, floorW } = prepared;
  const speeds = scenario.fan === undefined ? [] : settableSpeeds(scenario.fan);
  const fastestRpm = speeds.at(-1);
  const best =
    scenario.fan?.power === undefined
      ? bestAtSpeed(prepared, fastestRpm, capBound(prepared, fastestRpm), undefined)
      : bestAmong(prepared, speeds);
  if (best !== undefined) return best;
  const bound = capBound(prepared, fastestRpm);
  throw stepDown(bound.powerW, scenario.stepW) < floorW - 1e-9
    ? notFeasible(prepared, fastestRpm, bound)
    : tooLittleThroughput(prepared, fastestRpm, bound);
}

/** Settable speeds in a row of which none has been tried. */
interface UntriedSpeeds {
  readonly from: number;
  readonly to: number;
  /** The next faster speed of which it is known what the limit allows. */
  readonly fasterRpm: number | undefined;
  /** What none of them can exceed. */
  readonly mostScore: number;
}

/**
 * The best setting among speeds of a fan that takes power; `undefined` where none satisfies all constraints.
 *
 * Branch and bound: of speeds in a row none exceeds what the fan power of the slowest would allow with the temperature of
 * the fastest and the limit as at the next faster one. The row that promises most is split at a speed that is tried as
 * far as it may be the best itself, until no row promises more than the best.
 */
function bestAmong(prepared: PreparedCap, speeds: readonly number[]): BestSetting | undefined {
  const lowestCapW = lowestOfUse(prepared, speeds.at(-1)!);
  const row = (from: number, to: number, fasterRpm: number | undefined): UntriedSpeeds => {
    const heldW =
      fasterRpm === undefined ? Number.POSITIVE_INFINITY : mostLimitCap(prepared, fasterRpm, speeds[to]);
    const mostW = Math.min(heldW, boundBesideLimit(prepared, speeds[from]).powerW);
    const mostScore = mostScoreOf(prepared, lowestCapW, mostW, speeds[from], speeds[to]);
    return { from, to, fasterRpm, mostScore };
  };
  let best: BestSetting | undefined;
  const mayBeBetter = ({ mostScore }: UntriedSpeeds): boolean => isBetter(mostScore, best?.state.score);
  let rows = [row(0, speeds.length - 1, undefined)];
  while (rows.length > 0) {
    const first = rows.reduce((most, other) => (other.mostScore > most.mostScore ? other : most));
    if (!mayBeBetter(first)) break;
    const { from, to, fasterRpm } = first;
    const split = splitOf(prepared, speeds, first);
    const splitRpm = speeds[split];
    const isTried = mayBeBetter(row(split, split, fasterRpm));
    if (isTried)
      best = bestAtSpeed(prepared, splitRpm, capBound(prepared, splitRpm), best?.state.score) ?? best;
    rows = rows.filter((other) => other !== first);
    if (from < split) rows.push(row(from, split - 1, isTried ? splitRpm : fasterRpm));
    if (split < to) rows.push(row(split + 1, to, fasterRpm));
  }
  return best;
}

/**
 * Where to try a row first: where more power is always better, at the fastest speed whose fan leaves the supply as much
 * as the temperature allows there by the fan's mean response, which is near the best; else in the middle.
 */
function splitOf(
  prepared: PreparedCap,
  speeds: readonly number[],
  { from, to, fasterRpm }: UntriedSpeeds,
): number {
  const { objective, stepW } = prepared.scenario;
  if (from === to) return from;
  if (!growsWithPower(objective)) return (from + to + 1) >> 1;
  const expectedAt =
    fasterRpm === undefined
      ? expectedLimitCap(prepared, speeds[to], prepared.thermalAt(speeds[to]).roughLimitCapW)
      : expectedLimitCap(prepared, fasterRpm, prepared.thermalAt(fasterRpm).limitCapW);
  let split = to;
  let mostSteps = Number.NEGATIVE_INFINITY;
  for (let k = from; k <= to; k++) {
    const capW = Math.min(expectedAt(speeds[k]), boundBesideLimit(prepared, speeds[k]).powerW);
    const steps = Math.floor(capW / stepW);
    if (steps < mostSteps) continue;
    mostSteps = steps;
    split = k;
  }
  return split;
}

/** The lowest cap that may be the best at some speed, W: none that falls short of the throughput at the fastest. */
function lowestOfUse(prepared: PreparedCap, fastestRpm: number): number {
  const { scenario, ceiling } = prepared;
  const lowestCapW = lowestSettable(prepared);
  if (scenario.minThroughputPerS === undefined) return lowestCapW;
  const mostW = Math.min(ceiling.powerW, prepared.thermalAt(fastestRpm).limitCapW);
  const highestCapW = stepDown(mostW, scenario.stepW);
  if (highestCapW <= lowestCapW) return lowestCapW;
  const offset = bestOffset(
    prepared,
    (other) => stateAt(prepared, settingOf(highestCapW, fastestRpm, other)).score,
  );
  return lowestReaching(prepared, lowestCapW, highestCapW, fastestRpm, offset) ?? highestCapW;
}

/** What cannot be exceeded between two caps, with the power of the slowest fan and the temperature of the fastest. */
function mostScoreOf(
  prepared: PreparedCap,
  lowestCapW: number,
  unroundedCapW: number,
  slowestRpm: number,
  fastestRpm: number,
): number {
  const { scenario } = prepared;
  const highestCapW = stepDown(unroundedCapW, scenario.stepW);
  if (highestCapW < lowestCapW - 1e-9) return Number.NEGATIVE_INFINITY;
  const fanPowerW = fanPowerOf(scenario.fan, slowestRpm);
  const scoreAt = ({ powerCapW, offset }: CapAndOffset): number =>
    scoreWithFan(
      prepared,
      stateAt(prepared, settingOf(powerCapW, fastestRpm, offset), (draws, powerW) =>
        draws.leastMeanC(powerW),
      ),
      fanPowerW,
    );
  return scoreAt(bestBetween(prepared, lowestCapW, highestCapW, scoreAt));
}

/** The score of a state with another fan power: all that changes is what the supply feeds. */
function scoreWithFan({ scenario }: PreparedCap, state: OperatingState, fanPowerW: number): number {
  const { throughputPerS, packagePowerW } = state;
  if (throughputPerS === undefined || growsWithPower(scenario.objective)) return state.score;
  return (state.score * state.supplyPowerW) / supplyPower(scenario.supply, packagePowerW + fanPowerW);
}
