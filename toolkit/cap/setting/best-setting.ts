import {
  type BestSetting,
  bestAtSpeed,
  bestBetween,
  isBetter,
  type ReachingFrom,
  reachingCaps,
} from './best-at-speed.js';
import type { LikelyCap } from './best-cap.js';
import { boundBesideLimit, capBound, expectedLimitCap, mostLimitCap } from './cap-bound.js';
import { settableSpeeds } from './fan-response.js';
import { lowestTried } from './least-cap.js';
import { notFeasible, tooLittleThroughput } from './not-feasible.js';
import { growsWithPower } from './objective.js';
import { mostScoreAtSpeed } from './operating-state.js';
import type { PreparedCap } from './prepared-cap.js';
import { stepDown } from './step-down.js';

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
      ? bestAtSpeed(prepared, fastestRpm, capBound(prepared, fastestRpm)).best
      : bestAmong(prepared, speeds);
  if (best !== undefined) return best;
  const bound = capBound(prepared, fastestRpm);
  throw stepDown(bound.powerW, scenario.stepW) < floorW - 1e-9
    ? notFeasible(prepared, fastestRpm, bound)
    : tooLittleThroughput(prepared, fastestRpm, bound);
}

/** What is known of slower speeds from those that were tried. */
interface KnownOfSlower {
  /** The next faster speed of which it is known what the limit allows. */
  readonly fasterRpm?: number;
  /** No lower cap may be the best: at a faster speed none reaches the least throughput, W. */
  readonly lowestW: number;
  /** A cap near the best. */
  readonly likelyCapW?: number | undefined;
  /** What reaches the least throughput at a faster speed. */
  readonly likelyReaching?: readonly ReachingFrom[] | undefined;
}

/** Settable speeds in a row of which none has been tried. */
interface UntriedSpeeds extends KnownOfSlower {
  readonly from: number;
  readonly to: number;
  /** What none of them can exceed. */
  readonly mostScore: number;
}

/**
 * The best setting among speeds of a fan that takes power; `undefined` where none satisfies all constraints.
 *
 * Branch and bound: of speeds in a row none exceeds what the fan power of the slowest would allow with the temperature of
 * the fastest, the limit as at the next faster one, and the least cap of a faster one. The row that promises most is split
 * at a speed that is tried as far as it may be the best itself, until no row promises more than the best.
 */
function bestAmong(prepared: PreparedCap, speeds: readonly number[]): BestSetting | undefined {
  const row = (from: number, to: number, known: KnownOfSlower): UntriedSpeeds => ({
    ...known,
    from,
    to,
    ...mostBetween(prepared, speeds[from], speeds[to], known),
  });
  let best: BestSetting | undefined;
  const mayBeBetter = ({ mostScore }: UntriedSpeeds): boolean => isBetter(mostScore, best?.state.score);
  let rows = [row(0, speeds.length - 1, knownOfAll(prepared, speeds.at(-1)!))];
  while (rows.length > 0) {
    const first = rows.reduce((most, other) => (other.mostScore > most.mostScore ? other : most));
    if (!mayBeBetter(first)) break;
    const { from, to, lowestW } = first;
    const split = splitOf(prepared, speeds, first);
    const fanSpeedRpm = speeds[split];
    const alone = from === to ? first : row(split, split, first);
    let ofSlower: KnownOfSlower = first;
    if (mayBeBetter(alone)) {
      const tried = bestAtSpeed(prepared, fanSpeedRpm, capBound(prepared, fanSpeedRpm), {
        toBeat: best?.state.score,
        likelyCapW: alone.likelyCapW,
        likelyReaching: first.likelyReaching,
      });
      best = tried.best ?? best;
      const reachingFromW = Math.max(lowestW, tried.reachingFromW ?? lowestW);
      const likelyReaching = tried.reaching ?? first.likelyReaching;
      ofSlower = { ...first, fasterRpm: fanSpeedRpm, lowestW: reachingFromW, likelyReaching };
    }
    rows = rows.filter((other) => other !== first);
    if (from < split) rows.push(row(from, split - 1, ofSlower));
    if (split < to) rows.push(row(split + 1, to, first));
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
  const besideAt = (k: number): number => boundBesideLimit(prepared, speeds[k]).powerW;
  const stepsAt = (k: number): number => Math.floor(Math.min(expectedAt(speeds[k]), besideAt(k)) / stepW);
  // What the temperature allows rises with the speed, what the fan leaves falls: the most is where they meet.
  let split = from;
  for (let beyond = to + 1; beyond - split > 1; ) {
    const middle = (split + beyond) >> 1;
    if (expectedAt(speeds[middle]) <= besideAt(middle)) split = middle;
    else beyond = middle;
  }
  while (split < to && stepsAt(split + 1) >= stepsAt(split)) split++;
  return split;
}

/** What is known of all speeds from the fastest: no cap is the best that falls short of the throughput there. */
function knownOfAll(prepared: PreparedCap, fastestRpm: number): KnownOfSlower {
  const { scenario, ceiling, offsetsMv } = prepared;
  const lowestW = lowestTried(prepared);
  if (scenario.minThroughputPerS === undefined) return { lowestW };
  const mostW = Math.min(ceiling.powerW, prepared.thermalAt(fastestRpm).limitCapW);
  const highestW = stepDown(mostW, scenario.stepW);
  if (highestW <= lowestW) return { lowestW };
  const likelyReaching = reachingCaps(
    prepared,
    { lowestW, highestW },
    { fanSpeedRpm: fastestRpm, offsetsMv },
  );
  return { lowestW: Math.min(highestW, ...likelyReaching.map(({ fromW }) => fromW)), likelyReaching };
}

/** What no speed between two can exceed, with the power of the slower fan and the temperature of the faster, and where. */
function mostBetween(
  prepared: PreparedCap,
  slowestRpm: number,
  fastestRpm: number,
  { fasterRpm, lowestW, likelyCapW }: KnownOfSlower,
): Pick<UntriedSpeeds, 'mostScore' | 'likelyCapW'> {
  const { scenario } = prepared;
  const heldW =
    fasterRpm === undefined ? Number.POSITIVE_INFINITY : mostLimitCap(prepared, fasterRpm, fastestRpm);
  const mostW = Math.min(heldW, boundBesideLimit(prepared, slowestRpm).powerW);
  const highestW = stepDown(mostW, scenario.stepW);
  if (highestW < lowestW - 1e-9) return { mostScore: Number.NEGATIVE_INFINITY, likelyCapW };
  const scoreAt = mostScoreAtSpeed(prepared, fastestRpm, slowestRpm);
  // Loads that no longer take more from some cap on may give the score several peaks.
  const { loads } = prepared.thermalAt(fastestRpm);
  const peaks = loads.length > 1 && loads.some(({ demand }) => demand !== undefined) ? 'several' : 'one';
  const likely: LikelyCap | undefined = likelyCapW === undefined ? undefined : { capW: likelyCapW, peaks };
  const { powerCapW, offset } = bestBetween(prepared, { lowestW, highestW }, scoreAt, likely);
  return { mostScore: scoreAt(powerCapW, offset), likelyCapW: powerCapW };
}
