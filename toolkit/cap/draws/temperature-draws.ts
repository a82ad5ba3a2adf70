import { powersAtLimit, type SteadyDraws, slopeAt, temperaturesAt } from './steady-draws.js';

/**
 * Draws of the temperature that a limit applies to, as a function of the package power the cap allows.
 *
 * One cooler in the steady state is the plain case; a mix of loads and a cycle of loads answer the same questions, so
 * that everything above asks no further. Temperatures never fall as the power rises.
 */
export interface TemperatureDraws {
  readonly count: number;
  /** Temperature of each draw at a power of 0, degrees Celsius: what no cap can undercut. */
  readonly restingC: Float64Array;
  /** Each draw's temperature at a power, degrees Celsius; of the first `count` draws. */
  temperaturesAt(powerW: number, temperaturesC: Float64Array, count?: number): void;
  /**
   * The power at which each draw's temperature is the limit, W: 0 where it is passed at rest already, infinite where it
   * is passed at no power.
   */
  powersAtLimit(limitC: number, powersW: Float64Array): void;
  /** Mean of the draws' temperatures at a power, degrees Celsius. */
  meanTemperatureC(powerW: number): number;
  /** dT/dP of one draw at a power where its temperature is known, K/W. */
  slopeAt(index: number, powerW: number, temperatureC: number): number;
}

/** One cooler in the steady state at a held power. */
export function steadyTemperatures(draws: SteadyDraws): TemperatureDraws {
  let mean: ((powerW: number) => number) | undefined;
  return {
    count: draws.count,
    restingC: draws.intakeC,
    temperaturesAt: (powerW, temperaturesC, count) => temperaturesAt(draws, powerW, temperaturesC, count),
    powersAtLimit: (limitC, powersW) => powersAtLimit(draws, limitC, powersW),
    meanTemperatureC(powerW) {
      mean ??= meanOverDraws(draws);
      return mean(powerW);
    },
    slopeAt: (index, powerW, temperatureC) => slopeAt(draws, index, powerW, temperatureC),
  };
}

/** Powers within this factor of the reference are met exactly; what the series leaves out beyond it is below 1e-9 K. */
const POWER_FACTOR = 16;
/** Terms of the series are left out from where their sum could not reach this, K. */
const NEGLIGIBLE_K = 1e-13;
const MOST_TERMS = 24;

/**
 * Mean of T = intake + a·xᵐ + b·x over the draws, as a function of x that costs a few multiplications: with m̄ the mean
 * of m, xᵐ = x^m̄ · Σₖ (m − m̄)ᵏ (ln x)ᵏ / k!, so the means of a·(m − m̄)ᵏ/k! are worked out once.
 */
function meanOverDraws(draws: SteadyDraws): (powerW: number) => number {
  const { count, referencePowerW, intakeC, dieRiseK, riseOrder, enclosureRiseK } = draws;
  let intake = 0;
  let order = 0;
  let enclosure = 0;
  let largestRiseK = 0;
  let lowestOrder = Number.POSITIVE_INFINITY;
  let highestOrder = 0;
  for (let i = 0; i < count; i++) {
    intake += intakeC[i]!;
    const ownOrder = riseOrder[i]!;
    order += ownOrder;
    if (ownOrder < lowestOrder) lowestOrder = ownOrder;
    if (ownOrder > highestOrder) highestOrder = ownOrder;
    if (dieRiseK[i]! > largestRiseK) largestRiseK = dieRiseK[i]!;
    if (enclosureRiseK !== undefined) enclosure += enclosureRiseK[i]!;
  }
  intake /= count;
  order /= count;
  enclosure /= count;
  const termCount = termsNeeded(largestRiseK, Math.max(highestOrder - order, order - lowestOrder));
  const moments = new Float64Array(termCount);
  const terms = dieRiseK.slice();
  for (let k = 0; k < termCount; k += 4) {
    // Four sums at a time, which stay in registers.
    let [s0, s1, s2, s3] = [0, 0, 0, 0];
    for (let i = 0; i < count; i++) {
      const departure = riseOrder[i]! - order;
      let term = terms[i]!;
      s0 += term;
      term *= departure;
      s1 += term;
      term *= departure;
      s2 += term;
      term *= departure;
      s3 += term;
      terms[i] = term * departure;
    }
    moments.set([s0, s1, s2, s3], k);
  }
  let factorial = 1;
  for (let k = 0; k < termCount; k++) {
    if (k > 1) factorial *= k;
    moments[k]! /= count * factorial;
  }
  return (powerW) => {
    if (!(powerW > 0)) return intake;
    const x = powerW / referencePowerW;
    const logX = Math.log(x);
    let sum = 0;
    for (let k = termCount - 1; k >= 0; k--) sum = sum * logX + moments[k]!;
    return intake + Math.exp(order * logX) * sum + enclosure * x;
  };
}

/** Terms until a·(|m − m̄|·ln 16)ᵏ/k! is negligible, a multiple of four. */
function termsNeeded(largestRiseK: number, largestDeparture: number): number {
  const growth = largestDeparture * Math.log(POWER_FACTOR);
  let termK = largestRiseK;
  let count = 1;
  while (count < MOST_TERMS && termK > NEGLIGIBLE_K) {
    termK *= growth / count;
    count++;
  }
  return 4 * Math.ceil(count / 4);
}
