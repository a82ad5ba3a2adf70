import { orderStatistic } from '../../numerics/order-statistic.js';
import type { TemperatureDraws } from './temperature-draws.js';

/** Draws of which the powers at the limit tell roughly where those of all lie. */
const SAMPLED_COUNT = 512;
/** Below this the sample would cost as much as it saves. */
const LEAST_COUNT = 4 * SAMPLED_COUNT;
/** How far above its expected place the bound is taken, in standard deviations of random draws: quasi-random ones scatter less. */
const SAMPLED_DEVIATIONS = 1.5;
/** A bound that draws lie at, rather than beside, is passed by them in spite of rounding. */
const ROUNDING_RATIO = 1e-9;

/** Memory that is written anew in each call. */
let places = new Uint32Array(0);

/** The largest cap that holds the limit with a confidence, and the draws that had to be solved for it. */
export interface LimitCap {
  readonly powerW: number;
  /** Largest powers at the limit: those of all draws that have one, at or below `solvedToW`, W, in no order. */
  readonly solvedW: Float64Array;
  readonly solvedToW: number;
}

/**
 * The largest cap that holds the limit with a confidence, W: an order statistic of the draws' largest powers, so that at
 * most the fraction 1 − confidence of the draws passes the limit there.
 *
 * Only the draws that pass the limit at a bound just above need to be solved, since the others allow more. Where the bound
 * was too low all are.
 */
export function limitCap(draws: TemperatureDraws, limitC: number, confidence: number): LimitCap {
  const rank = limitRank(draws.count, confidence);
  const boundW = boundAbove(draws, limitC, rank / draws.count);
  if (places.length < draws.count) places = new Uint32Array(draws.count);
  const found = draws.passingDraws(limitC, boundW * (1 + ROUNDING_RATIO), places);
  if (found > rank) {
    const solvedW = new Float64Array(found);
    for (let k = 0; k < found; k++) solvedW[k] = draws.powerAtLimit(places[k], limitC);
    const powerW = orderStatistic(solvedW, rank);
    if (powerW <= boundW) return { powerW, solvedW, solvedToW: boundW };
  }
  const solvedW = powersAtLimit(draws, limitC);
  return { powerW: orderStatistic(solvedW, rank), solvedW, solvedToW: Number.POSITIVE_INFINITY };
}

/** Each draw's largest power at the limit, W, in the order of the draws; infinite where no cap is needed. */
export function powersAtLimit(
  draws: TemperatureDraws,
  limitC: number,
  count: number = draws.count,
): Float64Array {
  const powersW = new Float64Array(count);
  for (let i = 0; i < count; i++) powersW[i] = draws.powerAtLimit(i, limitC);
  return powersW;
}

/** A power that most likely lies just above what a share of the draws can reach at most, W. */
function boundAbove(draws: TemperatureDraws, limitC: number, share: number): number {
  if (draws.count < LEAST_COUNT) return Number.POSITIVE_INFINITY;
  const deviation = Math.sqrt((share * (1 - share)) / SAMPLED_COUNT);
  return sampledQuantile(draws, limitC, share + SAMPLED_DEVIATIONS * deviation);
}

/** Roughly the largest cap that holds the limit with a confidence, W: that of the first draws. */
export function roughLimitCap(draws: TemperatureDraws, limitC: number, confidence: number): number {
  return sampledQuantile(draws, limitC, 1 - confidence);
}

/** A quantile of what the first draws allow, W. */
function sampledQuantile(draws: TemperatureDraws, limitC: number, share: number): number {
  const powersW = powersAtLimit(draws, limitC, Math.min(draws.count, SAMPLED_COUNT));
  const rank = Math.ceil(share * powersW.length);
  return rank < powersW.length ? orderStatistic(powersW, rank) : Number.POSITIVE_INFINITY;
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
    const powerW = powersAtLimitW[i];
    if (powerW < lowest || powerW > highest || powerW === 0 || powerW === Number.POSITIVE_INFINITY) continue;
    sum += 1 / draws.slopeAt(i, powerW, meanLimitC);
    found++;
  }
  return found === 0 ? 0 : sum / found;
}

/** Share of the draws that pass the limit at a cap; of some of them where all others allow more. */
export function chanceOfPassing(
  powersAtLimitW: Float64Array,
  powerCapW: number,
  count: number = powersAtLimitW.length,
): number {
  const bound = powerCapW - 1e-9;
  let below = 0;
  for (let i = 0; i < powersAtLimitW.length; i++) if (powersAtLimitW[i] < bound) below++;
  return below / count;
}

/** The same from the draws' temperatures at that cap. */
export function shareAbove(temperaturesC: Float64Array, limitC: number): number {
  const bound = limitC + 1e-9;
  let above = 0;
  for (let i = 0; i < temperaturesC.length; i++) if (temperaturesC[i] > bound) above++;
  return above / temperaturesC.length;
}
