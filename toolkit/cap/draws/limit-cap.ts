import { orderStatistic } from '../../numerics/order-statistic.js';
import type { TemperatureDraws } from './temperature-draws.js';

/**
 * The largest cap that holds the limit with a confidence, W: an order statistic of the draws' largest powers, so that at
 * most the fraction 1 − confidence of the draws passes the limit there.
 */
export function limitCap(powersAtLimitW: Float64Array, confidence: number): number {
  return orderStatistic(powersAtLimitW.slice(), limitRank(powersAtLimitW.length, confidence));
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
