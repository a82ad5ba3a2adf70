/** Caps on the steps they can be set in, W. */
export interface SettableCaps {
  readonly lowestW: number;
  readonly highestW: number;
  readonly stepW: number;
}

/** Caps are narrowed down on a grid this fine. */
const GRID_COUNT = 8;

/** Where the best cap is likely to be. */
export interface LikelyCap {
  readonly capW: number;
  /** Whether there may be other peaks: then the whole range is looked over before. */
  readonly peaks: 'one' | 'several';
}

/**
 * The settable cap with the highest score, the lowest of equals; the score is to rise up to it and to fall from there.
 *
 * @param likely - the search starts there instead of everywhere
 */
export function bestCap(
  { lowestW, highestW, stepW }: SettableCaps,
  scoreAt: (powerCapW: number) => number,
  likely?: LikelyCap,
): number {
  const last = Math.round((highestW - lowestW) / stepW);
  const known = new Map<number, number>();
  const scoreOf = (step: number): number => {
    const score = known.get(step) ?? scoreAt(lowestW + step * stepW);
    known.set(step, score);
    return score;
  };
  let range: Steps = [0, last];
  if (likely?.peaks === 'several') range = narrowed(range, scoreOf);
  if (likely !== undefined)
    range = bracketAround(Math.round((likely.capW - lowestW) / stepW), range, scoreOf);
  return tidy(lowestW + bestOnGrid(range, scoreOf) * stepW);
}

type Steps = readonly [low: number, high: number];

/** Steps between which the best lies, from one nearby uphill in strides that double. */
function bracketAround(nearby: number, [low, high]: Steps, scoreOf: (step: number) => number): Steps {
  const start = Math.min(high, Math.max(low, nearby));
  const fallsBefore = start > low && scoreOf(start - 1) >= scoreOf(start);
  const risesBehind = start < high && scoreOf(start + 1) > scoreOf(start);
  if (fallsBefore && risesBehind) return [low, high]; // no hill: everywhere
  if (!fallsBefore && !risesBehind) return [start, start];
  let behind = start;
  let here = start;
  for (let stride = 1; ; stride *= 2) {
    const next = fallsBefore ? Math.max(low, here - stride) : Math.min(high, here + stride);
    const climbs = fallsBefore ? scoreOf(next) >= scoreOf(here) : scoreOf(next) > scoreOf(here);
    if (next === here || !climbs) return fallsBefore ? [next, behind] : [behind, next];
    behind = here;
    here = next;
  }
}

/** A grid of steps that is narrowed around its best point until it is as fine as the step. */
function bestOnGrid(range: Steps, scoreOf: (step: number) => number): number {
  let steps = range;
  while (steps[1] > steps[0]) steps = narrowed(steps, scoreOf);
  return steps[0];
}

/** The steps on either side of the best point of a grid; that alone where the grid is as fine as the step. */
function narrowed([low, high]: Steps, scoreOf: (step: number) => number): Steps {
  const stride = Math.max(1, Math.floor((high - low) / GRID_COUNT));
  let best = low;
  let bestScore = Number.NEGATIVE_INFINITY;
  for (let k = low; ; k = Math.min(high, k + stride)) {
    const score = scoreOf(k);
    if (score > bestScore) {
      bestScore = score;
      best = k;
    }
    if (k === high) break;
  }
  return stride === 1 ? [best, best] : [Math.max(low, best - stride), Math.min(high, best + stride)];
}

/** A cap without the rounding of its sum. */
export const tidy = (powerW: number): number => Number(powerW.toPrecision(12));
