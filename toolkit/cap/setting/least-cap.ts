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
  const reaches = (powerCapW: number): boolean => {
    const reached = throughputAtConfidence(prepared, settingOf(powerCapW, fanSpeedRpm, offset), confidence);
    return reached !== undefined && reached >= minThroughputPerS;
  };
  if (!reaches(highestW)) return undefined;
  let low = -1;
  let high = Math.round((highestW - lowestW) / stepW);
  const probe = (k: number): boolean => {
    const does = reaches(lowestW + k * stepW);
    if (does) high = k;
    else low = k;
    return does;
  };
  const guess = guessW === undefined ? Number.NaN : Math.round((guessW - lowestW) / stepW);
  if (guess >= 0 && guess < high) {
    // Away from the guess in strides that double, until the answer lies within the last.
    if (probe(guess)) for (let stride = 1; high > 0 && probe(Math.max(0, high - stride)); stride *= 2);
    else for (let stride = 1; high - low > 1 && !probe(Math.min(high - 1, low + stride)); stride *= 2);
  }
  while (high - low > 1) probe((low + high) >> 1);
  return tidy(lowestW + high * stepW);
}
