/** Caps on the steps they can be set in, W. */
export interface SettableCaps {
  readonly lowestW: number;
  readonly highestW: number;
  readonly stepW: number;
}

/** Caps are narrowed down on a grid this fine. */
const GRID_COUNT = 8;

/**
 * The settable cap with the highest score, the lowest of equals; the score is to rise up to it and to fall from there.
 *
 * @param likelyW - a cap that is near it: the search starts there instead of everywhere
 */
export function bestCap(
  { lowestW, highestW, stepW }: SettableCaps,
  scoreAt: (powerCapW: number) => number,
  likelyW?: number,
): number {
  const last = Math.round((highestW - lowestW) / stepW);
  const known = new Map<number, number>();
  const scoreOf = (step: number): number => {
    const score = known.get(step) ?? scoreAt(lowestW + step * stepW);
    known.set(step, score);
    return score;
  };
  const likely =
    likelyW === undefined ? undefined : Math.min(last, Math.max(0, Math.round((likelyW - lowestW) / stepW)));
  const [low, high] = likely === undefined ? [0, last] : bracketAround(likely, last, scoreOf);
  return tidy(lowestW + bestOnGrid(low, high, scoreOf) * stepW);
}

/** Steps between which the best lies, from one nearby uphill in strides that double. */
function bracketAround(
  likely: number,
  last: number,
  scoreOf: (step: number) => number,
): readonly [low: number, high: number] {
  const fallsBefore = likely > 0 && scoreOf(likely - 1) >= scoreOf(likely);
  const risesBehind = likely < last && scoreOf(likely + 1) > scoreOf(likely);
  if (fallsBefore && risesBehind) return [0, last]; // no hill: everywhere
  if (!fallsBefore && !risesBehind) return [likely, likely];
  let behind = likely;
  let here = likely;
  for (let stride = 1; ; stride *= 2) {
    const next = fallsBefore ? Math.max(0, here - stride) : Math.min(last, here + stride);
    const climbs = fallsBefore ? scoreOf(next) >= scoreOf(here) : scoreOf(next) > scoreOf(here);
    if (next === here || !climbs) return fallsBefore ? [next, behind] : [behind, next];
    behind = here;
    here = next;
  }
}

/** A grid of steps that is narrowed around its best point until it is as fine as the step. */
function bestOnGrid(lowest: number, highest: number, scoreOf: (step: number) => number): number {
  let low = lowest;
  let high = highest;
  for (;;) {
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
    if (stride === 1) return best;
    low = Math.max(low, best - stride);
    high = Math.min(high, best + stride);
  }
}

/** A cap without the rounding of its sum. */
export const tidy = (powerW: number): number => Number(powerW.toPrecision(12));
