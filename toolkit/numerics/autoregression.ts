import type { RandomStream } from './random.js';

/**
 * A stationary normal process that depends on its own past: x_i = Σ aⱼ x_{i−j} + e_i.
 *
 * The best predictors of all orders up to the process's own are kept: with them it can begin as if it had always been
 * running.
 */
export interface Autoregression {
  /** Coefficients a₁ … a_m of the best prediction from the m samples before, for m = 0 … order. */
  readonly predictors: readonly Float64Array[];
  /** Standard deviation of what each of them leaves open. */
  readonly innovationDeviations: readonly number[];
}

/** Beyond this many samples back nothing is looked for. */
const MOST_ORDER = 60;
/** Nor beyond this share of the record: correlations over most of it are known from a few products. */
const ORDER_SHARE = 0.25;
/** An innovation variance below this share of the variance is rounding. */
const LEAST_INNOVATION_SHARE = 1e-6;

/**
 * Autoregression with given autocovariances, by the Yule–Walker equations in Levinson–Durbin recursion; its order by
 * Akaike's criterion [BrockwellDavis1991, ch. 5 and 9].
 *
 * @param autocovariances - at lag 0, 1, 2 …; at lag 0 above 0
 * @param sampleCount - how many samples they come from
 */
export function fitAutoregression(autocovariances: ArrayLike<number>, sampleCount: number): Autoregression {
  const variance = autocovariances[0];
  const predictors = [new Float64Array(0)];
  const variances = [variance];
  const most = Math.min(highestOrder(sampleCount), autocovariances.length - 1);
  for (let m = 1; m <= most; m++) {
    const before = predictors[m - 1];
    let open = autocovariances[m];
    for (let j = 0; j < before.length; j++) open -= before[j] * autocovariances[m - 1 - j];
    const partial = open / variances[m - 1];
    const left = variances[m - 1] * (1 - partial * partial);
    if (!(left > LEAST_INNOVATION_SHARE * variance)) break;
    const next = new Float64Array(m);
    for (let j = 0; j < m - 1; j++) next[j] = before[j] - partial * before[m - 2 - j];
    next[m - 1] = partial;
    predictors.push(next);
    variances.push(left);
  }
  const criterion = (m: number): number => sampleCount * Math.log(variances[m]) + 2 * m;
  let order = 0;
  for (let m = 1; m < variances.length; m++) if (criterion(m) < criterion(order)) order = m;
  return {
    predictors: predictors.slice(0, order + 1),
    innovationDeviations: variances.slice(0, order + 1).map(Math.sqrt),
  };
}

/** The highest order that `fitAutoregression` considers for a record, hence the longest lag it needs. */
export function highestOrder(sampleCount: number): number {
  return Math.max(0, Math.min(MOST_ORDER, Math.floor(ORDER_SHARE * sampleCount)));
}

/** Fills `into` with one course of the process, stationary from its first sample on. */
export function drawAutoregression(
  { predictors, innovationDeviations }: Autoregression,
  random: RandomStream,
  into: Float64Array,
): void {
  const order = predictors.length - 1;
  for (let i = 0; i < into.length; i++) {
    const m = Math.min(i, order);
    const coefficients = predictors[m];
    let value = innovationDeviations[m] * random.normal();
    for (let j = 0; j < m; j++) value += coefficients[j] * into[i - 1 - j];
    into[i] = value;
  }
}
