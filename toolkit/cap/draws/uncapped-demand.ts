import { ArgumentError } from '../../errors.js';
import type { PowerCurve } from '../../power/power-curve.js';
import { powerFunction } from '../../power/predict/frequency-at.js';
import {
  leastMeanTemperature,
  leastTemperature,
  type SteadyDraws,
  slopeAt,
  temperatureOf,
} from './steady-draws.js';
import type { Demand } from './temperature-mixes.js';

/** Temperatures between which a curve's power at a held frequency is tabulated, degrees Celsius. */
const COLDEST_C = 0;
const HOTTEST_C = 160;
const SPACING_K = 2.5;
const ROW_COUNT = 1 + (HOTTEST_C - COLDEST_C) / SPACING_K;
/** Beyond this ratio to the highest power logged the curve says nothing. */
const REACH_RATIO = 4;

/** How often a power is put into the temperature it leads to and back, where roughly where that ends is enough. */
const ROUNDS = 6;
/** Where less than this is missing to a loop gain of 1, near runaway, only the climb from the coldest state decides. */
const LEAST_MISSING_RATIO = 0.2;

/** Power against temperature at one frequency, with its slope: what the feedback of leakage is solved with. */
export interface PowerOfTemperature {
  /** W at a temperature in degrees Celsius. */
  power(temperatureC: number): number;
  /** W/K: what leakage adds. */
  slope(temperatureC: number): number;
}

/** The same as straight pieces. */
export interface TabulatedPower extends PowerOfTemperature {
  /** The piece a temperature in degrees Celsius lies on. */
  pieceAt(temperatureC: number): number;
  /** Each piece's straight line: W at 0 °C, and W/K. */
  readonly interceptsW: Float64Array;
  readonly slopesWPerK: Float64Array;
  /** W: the least at a temperature in degrees Celsius and all above it that a demand is looked for at. */
  leastFrom(temperatureC: number): number;
}

/**
 * The power a curve gives at a held frequency, over temperature: a table of straight pieces 2.5 K long, within a few
 * hundredths of a watt; straight on beyond 0 and 160 °C.
 */
export function powerAtFrequency(
  curve: PowerCurve,
  frequencyMHz: number,
  where: { readonly caller: string; readonly argument: string },
): TabulatedPower {
  const powerW = powerFunction(curve);
  const rows = Float64Array.from({ length: ROW_COUNT }, (_, k) =>
    powerW(frequencyMHz, COLDEST_C + k * SPACING_K),
  );
  const { testedRange } = curve;
  const atLoggedW = powerW(frequencyMHz, (testedRange.temperatureC[0] + testedRange.temperatureC[1]) / 2);
  if (!(atLoggedW <= REACH_RATIO * testedRange.powerW[1]) || rows.some(Number.isNaN))
    throw new ArgumentError({
      ...where,
      expected: `a frequency that the power curve '${curve.label}' reaches at some power`,
      received: frequencyMHz,
      remedy: 'leave it out, or log runs at two or more caps up to that frequency',
    });
  const slopesWPerK = rows.subarray(1).map((row, k) => (row - rows[k]) / SPACING_K);
  const interceptsW = slopesWPerK.map((slope, k) => rows[k] - slope * (COLDEST_C + k * SPACING_K));
  const pieceAt = (temperatureC: number): number =>
    Math.min(ROW_COUNT - 2, Math.max(0, Math.floor((temperatureC - COLDEST_C) / SPACING_K)));
  const power = (temperatureC: number): number => {
    const k = pieceAt(temperatureC);
    return interceptsW[k] + slopesWPerK[k] * temperatureC;
  };
  const leastBeyondW = rows.slice(1);
  for (let k = ROW_COUNT - 3; k >= 0; k--) leastBeyondW[k] = Math.min(leastBeyondW[k], leastBeyondW[k + 1]);
  return {
    pieceAt,
    interceptsW,
    slopesWPerK,
    power,
    slope: (temperatureC) => slopesWPerK[pieceAt(temperatureC)],
    leastFrom: (temperatureC) =>
      Math.max(0, Math.min(power(temperatureC), leastBeyondW[pieceAt(temperatureC)])),
  };
}

/** What is known of a demand once it has been worked out in each draw. */
type SolvedDemand = Omit<Demand, 'atLeastW' | 'isAtMost'>;

/**
 * What a load draws in each draw where its frequency is held at its highest and no cap holds it back, as of `solveDemand`:
 * worked out when it is asked for, since a search tries many fan speeds at caps that hold every draw back. No draw demands
 * less than the least power at any temperature from the coolest that a power it exceeds leads to.
 */
export function demandAtFrequency(
  draws: SteadyDraws,
  law: TabulatedPower,
  mostW: number = Number.POSITIVE_INFINITY,
): Demand {
  let exceededW = law.leastFrom(draws.least.intakeC);
  for (let round = 0; round < ROUNDS; round++) exceededW = law.leastFrom(leastTemperature(draws, exceededW));
  let known: SolvedDemand | undefined;
  const solved = (): SolvedDemand => {
    known ??= solveDemand(draws, law, mostW);
    return known;
  };
  return {
    atLeastW: Math.min(mostW, exceededW),
    isAtMost(index, powerW, temperatureC) {
      if (mostW <= powerW) return true;
      // Beyond the lowest root less is asked for than is drawn. Before it more, and beyond a second one too, where the
      // loop gain is above 1.
      if (law.power(temperatureC) <= powerW && temperatureC <= HOTTEST_C) return true;
      if (law.slope(temperatureC) * slopeAt(draws, index, powerW, temperatureC) < 1) return false;
      return lowestFixedPoint(draws, index, law) <= powerW;
    },
    get powersW() {
      return solved().powersW;
    },
    get rangeW() {
      return solved().rangeW;
    },
    get temperaturesC() {
      return solved().temperaturesC;
    },
  };
}

/**
 * What a load draws in each draw where its frequency is held: the lowest root of P = P(f, T(P)), power and temperature
 * feeding each other through leakage; infinite where there is none, since then any cap holds the load back.
 */
export function solveDemand(
  draws: SteadyDraws,
  law: TabulatedPower,
  mostW: number = Number.POSITIVE_INFINITY,
): SolvedDemand {
  const powersW = new Float64Array(draws.count);
  const temperaturesC = new Float64Array(draws.count);
  solveFromMean(draws, law, powersW, temperaturesC);
  let leastW = Number.POSITIVE_INFINITY;
  let greatestW = 0;
  for (let i = 0; i < draws.count; i++) {
    const foundW = powersW[i];
    const ownW = foundW < Number.POSITIVE_INFINITY ? foundW : lowestFixedPoint(draws, i, law);
    const powerW = Math.min(mostW, ownW);
    if (powerW !== foundW) {
      powersW[i] = powerW;
      temperaturesC[i] = temperatureOf(draws, i, powerW);
    }
    leastW = Math.min(leastW, powerW);
    greatestW = Math.max(greatestW, powerW);
  }
  return { powersW, rangeW: [leastW, greatestW], temperaturesC };
}

/**
 * The roots that Newton's method reaches in a few steps from about where the mean draw has its own, in each draw the power
 * and its temperature; infinite where it does not.
 *
 * Steps are shares of the power and follow the bend of the temperature too [Chebyshev's method], so that on one straight
 * piece of the table a step of 1e-3 leaves less than 1e-9 of the power; where a step changes the piece, another follows.
 */
function solveFromMean(
  draws: SteadyDraws,
  law: TabulatedPower,
  powersW: Float64Array,
  temperaturesC: Float64Array,
): void {
  const { count, referencePowerW, intakeC, dieRiseK, riseOrder, enclosureRiseK, fan } = draws;
  const { logRatio, relativeStandardError, scores } = fan;
  const { pieceAt, interceptsW, slopesWPerK } = law;
  let meanW = law.power(draws.means.intakeC);
  for (let round = 0; round < ROUNDS; round++) meanW = law.power(leastMeanTemperature(draws, meanW));
  const logMean = Math.log(meanW / referencePowerW);
  powersW.fill(Number.POSITIVE_INFINITY);
  temperaturesC.fill(Number.POSITIVE_INFINITY);
  for (let i = 0; i < count; i++) {
    let powerW = meanW;
    let logX = logMean;
    for (let step = 0; step < 8; step++) {
      const dieK = dieRiseK[i] * Math.exp(riseOrder[i] * logX + logRatio + relativeStandardError * scores[i]);
      const enclosureK = (enclosureRiseK[i] * powerW) / referencePowerW;
      const temperatureC = intakeC[i] + dieK + enclosureK;
      if (!(temperatureC <= HOTTEST_C)) break;
      const piece = pieceAt(temperatureC);
      const kPerShare = riseOrder[i] * dieK + enclosureK;
      const wattsPerShare = powerW - slopesWPerK[piece] * kPerShare;
      if (wattsPerShare <= LEAST_MISSING_RATIO * powerW) break;
      const straight = (interceptsW[piece] + slopesWPerK[piece] * temperatureC - powerW) / wattsPerShare;
      const bendK = 0.5 * riseOrder[i] * (riseOrder[i] - 1) * dieK;
      const share = straight + (slopesWPerK[piece] * bendK * straight * straight) / wattsPerShare;
      powerW += share * powerW;
      const endC = temperatureC + share * (kPerShare + share * bendK);
      const size = Math.abs(share);
      if (size < 1e-10 || (size < 1e-3 && pieceAt(endC) === piece)) {
        powersW[i] = powerW;
        temperaturesC[i] = endC;
        break;
      }
      logX = Math.log(powerW / referencePowerW);
    }
  }
}

/**
 * The lowest root of one draw: Newton's method from the coldest state climbs to it without passing it, because the power
 * rises ever more steeply with temperature; where its slope vanishes first there is no steady state, and it is infinite.
 */
export function lowestFixedPoint(draws: SteadyDraws, index: number, law: PowerOfTemperature): number {
  let powerW = law.power(draws.intakeC[index]);
  for (let step = 0; step < 60; step++) {
    const temperatureC = temperatureOf(draws, index, powerW);
    if (temperatureC > HOTTEST_C) return Number.POSITIVE_INFINITY;
    const excessW = law.power(temperatureC) - powerW;
    const slope = 1 - law.slope(temperatureC) * slopeAt(draws, index, powerW, temperatureC);
    if (slope <= 0) return Number.POSITIVE_INFINITY;
    const change = excessW / slope;
    powerW += change;
    if (Math.abs(change) < 1e-9 * powerW) break;
  }
  return powerW;
}
