import {
  dieRises,
  leastMeanTemperature,
  passingDraws,
  powerAtLimit,
  type SteadyDraws,
  slopeAt,
  temperaturesAt,
} from './steady-draws.js';

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
   * The power at which one draw's temperature is the limit, W: 0 where it is passed at rest already, infinite where it
   * is passed at no power.
   */
  powerAtLimit(index: number, limitC: number): number;
  /**
   * Writes down the places of the draws that pass a limit at a power, in their order, and returns how many there are; a
   * few that do not may be among them, none that does is left out.
   */
  passingDraws(limitC: number, powerW: number, places: Uint32Array): number;
  /** Mean of the draws' temperatures at a power, degrees Celsius. */
  meanTemperatureC(powerW: number): number;
  /** What that mean is not below, worked out without asking every draw, degrees Celsius. */
  leastMeanC(powerW: number): number;
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
    powerAtLimit: (index, limitC) => powerAtLimit(draws, index, limitC),
    passingDraws: (limitC, powerW, places) => passingDraws(draws, limitC, powerW, places),
    meanTemperatureC(powerW) {
      mean ??= meanOverDraws(draws);
      return mean(powerW);
    },
    leastMeanC: (powerW) => leastMeanTemperature(draws, powerW),
    slopeAt: (index, powerW, temperatureC) => slopeAt(draws, index, powerW, temperatureC),
  };
}

/** The draws that pass a limit at a power, by the temperatures of all of them. */
export function passingByTemperature(
  draws: Pick<TemperatureDraws, 'count' | 'temperaturesAt'>,
  limitC: number,
  powerW: number,
  places: Uint32Array,
): number {
  const temperaturesC = new Float64Array(draws.count);
  draws.temperaturesAt(powerW, temperaturesC);
  let found = 0;
  for (let i = 0; i < draws.count; i++) if (!(temperaturesC[i] <= limitC)) places[found++] = i;
  return found;
}

/**
 * Mean of T = intake + a·xᵐ + b·x over the draws, as a function of x that costs a few multiplications: with m₀ in the
 * middle of the orders, xᵐ = x^m₀ · Σₖ (m − m₀)ᵏ (ln x)ᵏ / k!, so the means of a·(m − m₀)ᵏ are worked out once. Orders
 * between 0.75 and 1 leave a sum of eight terms within 2e-11 of the rise at four times the reference power or a quarter.
 */
function meanOverDraws(draws: SteadyDraws): (powerW: number) => number {
  const { count, referencePowerW } = draws;
  const order = (draws.riseOrderRange[0] + draws.riseOrderRange[1]) / 2;
  const coefficients = momentsAbout(draws, order).map((moment, k) => moment / count / FACTORIALS[k]);
  const { intakeC: intake, enclosureRiseK: enclosure } = draws.means;
  return (powerW) => {
    if (!(powerW > 0)) return intake;
    const x = powerW / referencePowerW;
    const logX = Math.log(x);
    let series = 0;
    for (let k = coefficients.length - 1; k >= 0; k--) series = series * logX + coefficients[k];
    return intake + Math.exp(order * logX) * series + enclosure * x;
  };
}

const FACTORIALS: readonly number[] = [1, 1, 2, 6, 24, 120, 720, 5040];

/** Sums of a·(m − m₀)ᵏ over the draws, k from 0 to 7: as many as stay in registers. */
function momentsAbout(draws: SteadyDraws, order: number): Float64Array {
  const { count, riseOrder } = draws;
  const { riseK, ratio } = dieRises(draws);
  let [s0, s1, s2, s3, s4, s5, s6, s7] = [0, 0, 0, 0, 0, 0, 0, 0];
  for (let i = 0; i < count; i++) {
    const departure = riseOrder[i] - order;
    let term = riseK[i] * ratio;
    s0 += term;
    term *= departure;
    s1 += term;
    term *= departure;
    s2 += term;
    term *= departure;
    s3 += term;
    term *= departure;
    s4 += term;
    term *= departure;
    s5 += term;
    term *= departure;
    s6 += term;
    term *= departure;
    s7 += term;
  }
  return Float64Array.of(s0, s1, s2, s3, s4, s5, s6, s7);
}
