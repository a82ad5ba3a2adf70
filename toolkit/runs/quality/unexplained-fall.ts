import type { RunSamples } from '../run.js';
import { type HeldStretch, LATEST_ANSWER_S } from './held-stretches.js';

/** A fall of temperature by this much, K, out of rest cannot happen at unchanged power. */
export const UNEXPLAINED_FALL_K = 10;

/** At rest the temperature falls by at most this much, K, in the time in which it then falls by 10 K. */
const REST_K = 2.5;

/** Shortest blocks compared: this long, s, and this many samples, so that no single sample decides. */
const SHORTEST_BLOCK_S = 6;
const LEAST_BLOCK_COUNT = 5;

/** A fan that speeds up by this share explains a fall. */
const FASTER_FAN_FRACTION = 0.05;

/**
 * Whether the temperature above the air falls, out of rest, while the power reads unchanged.
 *
 * At unchanged power every stage relaxes, and a relaxation only slows down: in two stretches of one length the
 * temperature falls less in the later one, whatever the load before was. So a fall by 10 K in a time in which,
 * just before, it fell by less than a quarter of that shows a power that changed unseen. Block means are compared
 * over 6 s, 12 s, 24 s … since a slow cooler shows the same fall over a longer time. The first 15 s are left out,
 * in which a lagging sensor may still show the temperature before the power changed.
 */
export function hasUnexplainedFall(samples: RunSamples, { firstIndex, lastIndex }: HeldStretch): boolean {
  const { timeS } = samples;
  const startS = timeS[firstIndex] + LATEST_ANSWER_S;
  const endS = timeS[lastIndex];
  const meanIntervalS = (endS - timeS[firstIndex]) / (lastIndex - firstIndex);
  let blockS = Math.max(SHORTEST_BLOCK_S, LEAST_BLOCK_COUNT * meanIntervalS);
  for (; 5 * blockS <= endS - startS; blockS *= 2) {
    const { riseK, fanSpeedRpm } = meansOver(samples, { firstIndex, lastIndex, startS, blockS });
    // From the block before to the block after, since a fall may be inside the one between; where a gap in the
    // log leaves a block empty, its mean is NaN and every comparison fails.
    for (let k = 3; k + 1 < riseK.length; k++) {
      const bridged = riseK[k] + riseK[k - 2];
      const isRest = riseK[k - 3] - riseK[k - 1] <= REST_K;
      const isFall = riseK[k - 1] - riseK[k + 1] >= UNEXPLAINED_FALL_K;
      const isFanFaster =
        fanSpeedRpm !== undefined && fanSpeedRpm[k + 1] > (1 + FASTER_FAN_FRACTION) * fanSpeedRpm[k - 1];
      if (isRest && isFall && !isFanFaster && !Number.isNaN(bridged)) return true;
    }
  }
  return false;
}

/** Means over blocks of one duration: of the temperature above the air (above 0 °C where no air was logged) and of the fan. */
function meansOver(
  { timeS, temperatureC, ambientC, fanSpeedRpm }: RunSamples,
  where: HeldStretch & { readonly startS: number; readonly blockS: number },
): { readonly riseK: Float64Array; readonly fanSpeedRpm?: Float64Array } {
  const { firstIndex, lastIndex, startS, blockS } = where;
  const count = Math.floor((timeS[lastIndex] - startS) / blockS);
  const riseK = new Float64Array(count);
  const fan = new Float64Array(count);
  const counts = new Float64Array(count);
  for (let i = firstIndex; i <= lastIndex; i++) {
    const k = Math.floor((timeS[i] - startS) / blockS);
    if (k < 0 || k >= count) continue;
    riseK[k] += temperatureC[i] - (ambientC === undefined ? 0 : ambientC[i]);
    if (fanSpeedRpm !== undefined) fan[k] += fanSpeedRpm[i];
    counts[k]++;
  }
  const meansOf = (sums: Float64Array): Float64Array => sums.map((sum, k) => sum / counts[k]);
  return { riseK: meansOf(riseK), ...(fanSpeedRpm === undefined ? {} : { fanSpeedRpm: meansOf(fan) }) };
}
