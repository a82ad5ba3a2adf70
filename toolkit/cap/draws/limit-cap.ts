import { orderStatistic } from '../../numerics/order-statistic.js';
import type { TemperatureDraws } from './temperature-draws.js';

/**
 * The largest cap that holds the limit with a confidence, W: an order statistic of the draws' largest powers, so that at
 * most the fraction 1 − confidence of the draws passes the limit there.
 */
export function limitCap(powersAtLimitW: Float64Array, confidence: number): number {
  const rank = limitRank(powersAtLimitW.length, confidence);
  const lowest = lowestOf(powersAtLimitW, rank);
  return orderStatistic(lowest.length > rank ? lowest : powersAtLimitW.slice(), rank);
}

/** Values of which a few say where most of the others need not be looked at. */
const SAMPLED_COUNT = 256;
/** Below this the sample would cost as much as it saves. */
const LEAST_COUNT = 8 * SAMPLED_COUNT;

/**
 * The lowest values, so many that most likely the one at a rank is among them: those up to a bound four standard
 * deviations above that rank of a sample. All of them where nothing would be saved.
 */
function lowestOf(values: Float64Array, rank: number): Float64Array {
  const { length } = values;
  const share = rank / length;
  if (length < LEAST_COUNT || share > 0.25) return values.slice();
  const stride = Math.floor(length / SAMPLED_COUNT);
  const sample = new Float64Array(SAMPLED_COUNT);
  for (let k = 0; k < SAMPLED_COUNT; k++) sample[k] = values[k * stride]!;
  const sampledRank = SAMPLED_COUNT * share + 4 * Math.sqrt(SAMPLED_COUNT * share * (1 - share)) + 2;
  const bound = orderStatistic(sample, Math.min(SAMPLED_COUNT - 1, Math.ceil(sampledRank)));
  const lowest = new Float64Array(length);
  let count = 0;
  for (let i = 0; i < length; i++) if (values[i]! <= bound) lowest[count++] = values[i]!;
  return lowest.subarray(0, count);
}

/** Place of that cap among the sorted powers. */
export function limitRank(count: number, confidence: number): number {
  return Math.floor((1 - confidence) * count);
}

/** What one kelvin of the limit adds to the cap: the mean of dP/dT over the draws around the quantile, W/K. */
export function capPerLimit(
  draws: TemperatureDraws,
  meanLimitC: number,
  powersAtLimitW: Float64Array,
  confidence: number,
): number {
  const { count } = draws;
  const rank = limitRank(count, confidence);
  const reach = Math.ceil(count / 100);
  const sorted = powersAtLimitW.slice();
  const lowest = orderStatistic(sorted, Math.max(0, rank - reach));
  const highest = orderStatistic(sorted, Math.min(count - 1, rank + reach), Math.max(0, rank - reach));
  let sum = 0;
  let found = 0;
  for (let i = 0; i < count; i++) {
    const powerW = powersAtLimitW[i]!;
    if (powerW < lowest || powerW > highest || powerW === 0 || powerW === Number.POSITIVE_INFINITY) continue;
    sum += 1 / draws.slopeAt(i, powerW, meanLimitC);
    found++;
  }
  return found === 0 ? 0 : sum / found;
}

/** Share of the draws that pass the limit at a cap. */
export function chanceOfPassing(powersAtLimitW: Float64Array, powerCapW: number): number {
  const bound = powerCapW - 1e-9;
  let below = 0;
  for (let i = 0; i < powersAtLimitW.length; i++) if (powersAtLimitW[i]! < bound) below++;
  return below / powersAtLimitW.length;
}
