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

/** Orders of the exponents are within 0.25 of each other, powers within a factor 16: 0.7¹⁶/16! is below rounding. */
const TERM_COUNT = 16;

/**
 * Mean of T = intake + a·xᵐ + b·x over the draws, as a function of x that costs a few multiplications: with m̄ the mean
 * of m, xᵐ = x^m̄ · Σₖ (m − m̄)ᵏ (ln x)ᵏ / k!, so the means of a·(m − m̄)ᵏ/k! are worked out once.
 */
function meanOverDraws(draws: SteadyDraws): (powerW: number) => number {
  const { count, referencePowerW, intakeC, dieRiseK, riseOrder, enclosureRiseK } = draws;
  let intake = 0;
  let order = 0;
  let enclosure = 0;
  for (let i = 0; i < count; i++) {
    intake += intakeC[i]!;
    order += riseOrder[i]!;
    if (enclosureRiseK !== undefined) enclosure += enclosureRiseK[i]!;
  }
  intake /= count;
  order /= count;
  enclosure /= count;
  const moments = new Float64Array(TERM_COUNT);
  for (let i = 0; i < count; i++) {
    const departure = riseOrder[i]! - order;
    let term = dieRiseK[i]!;
    moments[0]! += term;
    // Beyond that a term no longer counts, whatever the power within a factor of 16.
    for (let k = 1; k < TERM_COUNT && Math.abs(term) > 1e-16; k++) {
      term *= departure / k;
      moments[k]! += term;
    }
  }
  for (let k = 0; k < TERM_COUNT; k++) moments[k]! /= count;
  return (powerW) => {
    if (!(powerW > 0)) return intake;
    const x = powerW / referencePowerW;
    const logX = Math.log(x);
    let sum = 0;
    for (let k = TERM_COUNT - 1; k >= 0; k--) sum = sum * logX + moments[k]!;
    return intake + Math.exp(order * logX) * sum + enclosure * x;
  };
}
