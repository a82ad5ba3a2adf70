import { meanOf } from '../block-means.js';
import type { RunSamples } from '../run.js';
import { type HeldStretch, LATEST_ANSWER_S } from './held-stretches.js';

/** Power is averaged over this many samples before it counts as changed; single samples do not. */
const AVERAGED_COUNT = 8;

/** A temperature that has risen by this much, K, has answered. */
const ANSWER_K = 2;

/**
 * Whether the power moves by `movingW` or more while the temperature repeats one reading, and the temperature had
 * time to answer.
 *
 * What the power does in the last 15 s of the stretch may be answered after it. A fall in its first 15 s is no
 * evidence either: a temperature that has come to rest after a fall of power may show its last reading while a
 * slower power sensor still comes down. A rise just before the stretch counts, unless the temperature rose with it.
 */
export function hasUnansweredPower(
  { timeS, powerW, temperatureC }: RunSamples,
  { firstIndex, lastIndex }: HeldStretch,
  movingW: number,
): boolean {
  const restedS = timeS[firstIndex] + LATEST_ANSWER_S;
  const answeredS = timeS[lastIndex] - LATEST_ANSWER_S;
  let sum = 0;
  const earlierIndex = firstIndex - AVERAGED_COUNT;
  const answered =
    earlierIndex < 0 || temperatureC[firstIndex] - meanOf(temperatureC, earlierIndex, firstIndex) >= ANSWER_K;
  let low = answered ? Number.POSITIVE_INFINITY : meanOf(powerW, earlierIndex, firstIndex);
  let high = Number.NEGATIVE_INFINITY;
  for (let i = firstIndex; i <= lastIndex && timeS[i] <= answeredS; i++) {
    sum += powerW[i];
    const beforeIndex = i - AVERAGED_COUNT;
    if (beforeIndex >= firstIndex) sum -= powerW[beforeIndex];
    if (beforeIndex + 1 < firstIndex) continue;
    const mean = sum / AVERAGED_COUNT;
    if (mean < low) low = mean;
    if (mean > high && timeS[beforeIndex + 1] >= restedS) high = mean;
    if (mean - low >= movingW || high - mean >= movingW) return true;
  }
  return false;
}
