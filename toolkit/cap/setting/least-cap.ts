import { tidy } from './best-cap.js';
import { lowestWithinReach } from './cap-reach.js';
import { type PreparedCap, settingOf } from './prepared-cap.js';
import { throughputAtConfidence } from './setting-estimates.js';
import { stepDown } from './step-down.js';

/** The lowest settable cap that is of use, W. */
export function lowestSettable({ floorW, scenario: { stepW } }: PreparedCap): number {
  const down = stepDown(floorW, stepW);
  return down >= floorW - 1e-9 ? down : tidy(down + stepW);
}

/**
 * The lowest settable cap that is tried, W: half of what the data can carry, since further down a curve ends at its lowest
 * frequency, and less power for the same frequency would look ever more efficient.
 */
export function lowestTried(prepared: PreparedCap): number {
  const { stepW } = prepared.scenario;
  const fromW = 0.5 * lowestWithinReach(prepared.cooler);
  return Math.max(lowestSettable(prepared), tidy(Math.ceil(fromW / stepW - 1e-9) * stepW));
}

/** So often the cap is looked for where a straight line has it, then in the middle. */
const MOST_ON_LINE = 6;

/**
 * The lowest settable cap from one up to another that reaches the least throughput; `undefined` where none does.
 *
 * @param guessW - where to look first: what another speed needs, which hardly differs
 */
export function lowestReaching(
  prepared: PreparedCap,
  caps: { readonly lowestW: number; readonly highestW: number },
  fanSpeedRpm: number | undefined,
  offset: number | undefined,
  guessW?: number,
): number | undefined {
  const { minThroughputPerS, stepW, confidence } = prepared.scenario;
  const { lowestW, highestW } = caps;
  if (minThroughputPerS === undefined) return lowestW;
  const excessAt = (k: number): number => {
    const setting = settingOf(lowestW + k * stepW, fanSpeedRpm, offset);
    const reached = throughputAtConfidence(prepared, setting, confidence);
    return reached === undefined ? Number.NaN : reached - minThroughputPerS;
  };
  let low = -1;
  let high = Math.round((highestW - lowestW) / stepW);
  let last = { k: high, excess: excessAt(high) };
  if (!(last.excess >= 0)) return undefined;
  const guess = guessW === undefined ? Number.NaN : Math.round((guessW - lowestW) / stepW);
  let next = guess >= 0 && guess < high ? guess : (low + high) >> 1;
  for (let count = 1; high - low > 1; count++) {
    const excess = excessAt(next);
    if (excess >= 0) high = next;
    else low = next;
    // Where the line through the last two ends: the throughput hardly bends.
    const onLine = Math.ceil(next - (excess * (next - last.k)) / (excess - last.excess));
    last = { k: next, excess };
    const middle = (low + high) >> 1;
    next =
      count > MOST_ON_LINE || Number.isNaN(onLine) ? middle : Math.min(high - 1, Math.max(low + 1, onLine));
  }
  return tidy(lowestW + high * stepW);
}
