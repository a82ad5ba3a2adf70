import { bestCap, type LikelyCap } from './best-cap.js';
import type { BindingConstraint, CapBound } from './binding-constraint.js';
import { lowestReaching, lowestTried } from './least-cap.js';
import { growsWithPower } from './objective.js';
import {
  mostScoreAtSpeed,
  type OperatingState,
  type ScoreAt,
  scoreAtSpeed,
  stateAt,
} from './operating-state.js';
import { type CapSetting, type PreparedCap, settingOf } from './prepared-cap.js';
import { stepDown } from './step-down.js';

/** The best setting within all constraints, and what binds. */
export interface BestSetting {
  readonly setting: CapSetting;
  readonly state: OperatingState;
  /** Largest cap that holds the limit at this fan speed, before the highest cap and the step cut it, W. */
  readonly limitCapW: number;
  readonly bindingConstraint: BindingConstraint;
}

/** What has come of the search at one fan speed. */
export interface TriedSpeed {
  /** Absent where none satisfies all constraints and is better than the score to beat. */
  readonly best?: BestSetting;
  /** The lowest cap that reaches the least throughput, or beyond the highest; absent where that was not asked, W. */
  readonly reachingFromW?: number;
  /** The same of each offset that reaches it. */
  readonly reaching?: readonly ReachingFrom[];
}

/** A score must be better by this share to count as better: rounding is no reason for another setting. */
const SAME_SCORE_RATIO = 1e-9;

/** Whether a score, or what might be reached, is better by more than rounding; anything is better than nothing. */
export function isBetter(score: number, than: number | undefined): boolean {
  return score > (than === undefined ? Number.NEGATIVE_INFINITY : than * (1 + SAME_SCORE_RATIO));
}

/** What is known before a speed is tried. */
export interface KnownBefore {
  /** The score that it must be better than. */
  readonly toBeat?: number | undefined;
  /** A cap near the best. */
  readonly likelyCapW?: number | undefined;
  /** What reaches the least throughput at a speed nearby. */
  readonly likelyReaching?: readonly ReachingFrom[] | undefined;
}

/** The best cap and voltage offset at one fan speed under a bound. */
export function bestAtSpeed(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  bound: CapBound,
  known: KnownBefore = {},
): TriedSpeed {
  const { scenario, floorW } = prepared;
  const { toBeat } = known;
  const highestW = stepDown(bound.powerW, scenario.stepW);
  if (highestW < floorW - 1e-9) return {};
  const lowestW = Math.min(highestW, lowestTried(prepared));
  const scoreAt = scoreAtSpeed(prepared, fanSpeedRpm);
  const bestFrom = (fromW: number, likelyCapW: number): CapAndOffset =>
    bestBetween(prepared, { lowestW: fromW, highestW }, scoreAt, { capW: likelyCapW, peaks: 'one' });
  const likelyCapW =
    known.likelyCapW ??
    bestBetween(prepared, { lowestW, highestW }, mostScoreAtSpeed(prepared, fanSpeedRpm)).powerCapW;
  let best = bestFrom(lowestW, likelyCapW);
  if (!isBetter(scoreAt(best.powerCapW, best.offset), toBeat)) return {};
  // What reaches the throughput is asked last: its uncertainty costs more than all else.
  const offsetsMv = scenario.minThroughputPerS === undefined ? [best.offset] : prepared.offsetsMv;
  const reaching = reachingCaps(
    prepared,
    { lowestW, highestW },
    { fanSpeedRpm, offsetsMv },
    known.likelyReaching,
  );
  if (reaching.length === 0) return { reachingFromW: highestW + scenario.stepW };
  const reachingFromW = Math.min(...reaching.map(({ fromW }) => fromW));
  const reachesFrom = ({ offset }: CapAndOffset): number =>
    reaching.find((each) => each.offset === offset)?.fromW ?? Number.POSITIVE_INFINITY;
  if (reachesFrom(best) > best.powerCapW) best = bestReaching(prepared, reaching, highestW, scoreAt);
  if (!isBetter(scoreAt(best.powerCapW, best.offset), toBeat)) return { reachingFromW, reaching };
  const state = stateAt(prepared, settingOf(best.powerCapW, fanSpeedRpm, best.offset));
  return {
    best: {
      setting: state.setting,
      state,
      limitCapW: prepared.thermalAt(fanSpeedRpm).limitCapW,
      bindingConstraint: whatBinds(prepared, bound, {
        powerCapW: best.powerCapW,
        lowestCapW: reachesFrom(best),
        highestCapW: highestW,
      }),
    },
    reachingFromW,
    reaching,
  };
}

/** An offset, and the lowest settable cap from which it reaches the least throughput, W. */
export interface ReachingFrom {
  readonly offset: number | undefined;
  readonly fromW: number;
}

/**
 * The offsets with which some cap reaches the least throughput: each from another one.
 *
 * @param likely - the same at another speed, which hardly differs
 */
export function reachingCaps(
  prepared: PreparedCap,
  range: { readonly lowestW: number; readonly highestW: number },
  {
    fanSpeedRpm,
    offsetsMv,
  }: { readonly fanSpeedRpm: number | undefined; readonly offsetsMv: readonly (number | undefined)[] },
  likely: readonly ReachingFrom[] = [],
): readonly ReachingFrom[] {
  return offsetsMv.flatMap((offset) => {
    const guessW = likely.find((each) => each.offset === offset)?.fromW;
    const fromW = lowestReaching(prepared, range, fanSpeedRpm, offset, guessW);
    return fromW === undefined ? [] : [{ offset, fromW }];
  });
}

/** The best cap and offset among those that reach the least throughput. */
function bestReaching(
  { scenario: { objective, stepW } }: PreparedCap,
  reaching: readonly ReachingFrom[],
  highestW: number,
  scoreAt: ScoreAt,
): CapAndOffset {
  let best: CapAndOffset | undefined;
  for (const { offset, fromW } of reaching) {
    const powerCapW = growsWithPower(objective)
      ? highestW
      : bestCap({ lowestW: fromW, highestW, stepW }, (capW) => scoreAt(capW, offset), {
          capW: fromW,
          peaks: 'one',
        });
    if (best === undefined || isBetter(scoreAt(powerCapW, offset), scoreAt(best.powerCapW, best.offset)))
      best = { powerCapW, offset };
  }
  return best!;
}

/** What is set at one fan speed; the offset in millivolts, where there is a choice. */
export interface CapAndOffset {
  readonly powerCapW: number;
  readonly offset: number | undefined;
}

/**
 * The cap between two and the offset with the highest score: at the highest cap where more power is always better.
 *
 * @param likely - see `bestCap`
 */
export function bestBetween(
  prepared: PreparedCap,
  range: { readonly lowestW: number; readonly highestW: number },
  scoreAt: ScoreAt,
  likely?: LikelyCap,
): CapAndOffset {
  const { objective, stepW } = prepared.scenario;
  let powerCapW = range.highestW;
  let offset = bestOffset(prepared, powerCapW, scoreAt);
  // The best offset hardly depends on the cap: two rounds settle both.
  for (let round = 0; round < 2 && !growsWithPower(objective); round++) {
    powerCapW = bestCap({ ...range, stepW }, (capW) => scoreAt(capW, offset), likely);
    const next = bestOffset(prepared, powerCapW, scoreAt);
    if (next === offset) break;
    offset = next;
  }
  return { powerCapW, offset };
}

/** The shallowest offset than which none has a better score at a cap. */
export function bestOffset(
  { offsetsMv }: PreparedCap,
  powerCapW: number,
  scoreAt: ScoreAt,
): number | undefined {
  const [first, ...deeper] = offsetsMv;
  if (deeper.length === 0) return first;
  let best = first;
  let bestScore = scoreAt(powerCapW, first);
  for (const offset of deeper) {
    const score = scoreAt(powerCapW, offset);
    if (isBetter(score, bestScore)) [best, bestScore] = [offset, score];
  }
  return best;
}

function whatBinds(
  prepared: PreparedCap,
  bound: CapBound,
  caps: { readonly powerCapW: number; readonly lowestCapW: number; readonly highestCapW: number },
): BindingConstraint {
  const { powerCapW, lowestCapW, highestCapW } = caps;
  if (powerCapW >= highestCapW) return bound.constraint;
  if (powerCapW > lowestCapW) return 'objective';
  return lowestCapW > prepared.floorW + prepared.scenario.stepW - 1e-9 ? 'min-throughput' : 'min-cap';
}
