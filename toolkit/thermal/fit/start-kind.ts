/** How the state at the start of a stretch of a run is described. */
export type StartKind =
  /** In equilibrium at one earlier power: one unknown. */
  | 'equilibrium'
  /** Each stage on its own, one unknown a stage: after a gap, or warm from something the record does not hold. */
  | 'free'
  /**
   * Warm, and the power never changes: n stages and n starts cannot be told apart. Fitted as an equilibrium, but only
   * the total resistance means something.
   */
  | 'inseparable';

/** Power below this share of the highest sustained one is idle. */
const IDLE_SHARE = 0.5;
/** The power has changed where it departs from the start's by this share of the highest, for `SUSTAINED_S`. */
const CHANGE_SHARE = 0.15;
const SUSTAINED_S = 30;
/** A die that cools by more than this while idle before the load was warm from earlier work, K … */
const COOLING_K = 1.5;
/** … if the idle part lasts long enough to tell, s. */
const SHORTEST_IDLE_S = 15;
/** A start under load at more than this share of the final rise was in the middle of a load. */
const WARM_SHARE = 0.4;

/** What a piece of a run shows of its start. Times since the piece began, s; power, W; rise over the air, K. */
export function startKindOf(
  elapsedS: Float64Array,
  powerW: Float64Array,
  riseK: Float64Array,
  highestPowerW: number,
): StartKind {
  const count = elapsedS.length;
  let firstLoaded = 0;
  while (firstLoaded < count && powerW[firstLoaded] < IDLE_SHARE * highestPowerW) firstLoaded++;
  if (firstLoaded > 0) {
    const idleS = elapsedS[Math.min(firstLoaded, count) - 1];
    if (idleS < SHORTEST_IDLE_S) return 'equilibrium';
    const part = Math.max(1, firstLoaded >> 2);
    const fallK = meanOf(riseK, 0, part) - meanOf(riseK, firstLoaded - part, firstLoaded);
    return fallK > COOLING_K ? 'free' : 'equilibrium';
  }
  if (riseK[0] < WARM_SHARE * riseK[count - 1]) return 'equilibrium';
  return changesLater(elapsedS, powerW, CHANGE_SHARE * highestPowerW) ? 'free' : 'inseparable';
}

/** Whether the power stays away from its start value by more than `changeW` for long enough to show. */
function changesLater(elapsedS: Float64Array, powerW: Float64Array, changeW: number): boolean {
  const startW = meanOf(powerW, 0, Math.min(5, powerW.length));
  let since: number | undefined;
  for (let i = 0; i < powerW.length; i++) {
    if (Math.abs(powerW[i] - startW) <= changeW) since = undefined;
    else since ??= elapsedS[i];
    if (since !== undefined && elapsedS[i] - since >= SUSTAINED_S) return true;
  }
  return false;
}

function meanOf(values: Float64Array, begin: number, end: number): number {
  let sum = 0;
  for (let i = begin; i < end; i++) sum += values[i];
  return sum / Math.max(1, end - begin);
}
