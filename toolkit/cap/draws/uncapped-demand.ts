import { ArgumentError } from '../../errors.js';
import type { PowerCurve } from '../../power/power-curve.js';
import { powerFunction } from '../../power/predict/frequency-at.js';
import { type SteadyDraws, slopeAt, temperatureOf } from './steady-draws.js';
import type { Demand } from './temperature-mixes.js';

/** Temperatures between which a curve's power at a held frequency is tabulated, degrees Celsius. */
const COLDEST_C = 0;
const HOTTEST_C = 160;
const SPACING_K = 2.5;
const ROW_COUNT = 1 + (HOTTEST_C - COLDEST_C) / SPACING_K;
/** Beyond this ratio to the highest power logged the curve says nothing. */
const REACH_RATIO = 4;

/** Power against temperature at one frequency, with its slope: what the feedback of leakage is solved with. */
export interface PowerOfTemperature {
  /** W at a temperature in degrees Celsius. */
  power(temperatureC: number): number;
  /** W/K: what leakage adds. */
  slope(temperatureC: number): number;
}

/**
 * The power a curve gives at a held frequency, over temperature: a table of straight pieces 2.5 K long, within a few
 * hundredths of a watt; straight on beyond 0 and 160 °C.
 */
export function powerAtFrequency(
  curve: PowerCurve,
  frequencyMHz: number,
  where: { readonly caller: string; readonly argument: string },
): PowerOfTemperature {
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
  const pieceAt = (temperatureC: number): number =>
    Math.min(ROW_COUNT - 2, Math.max(0, Math.floor((temperatureC - COLDEST_C) / SPACING_K)));
  return {
    power(temperatureC) {
      const k = pieceAt(temperatureC);
      const share = (temperatureC - COLDEST_C) / SPACING_K - k;
      return rows[k] + share * (rows[k + 1] - rows[k]);
    },
    slope(temperatureC) {
      const k = pieceAt(temperatureC);
      return (rows[k + 1] - rows[k]) / SPACING_K;
    },
  };
}

/**
 * What a load draws in each draw where its frequency is held at its highest and no cap holds it back: the lowest root
 * of P = P(f, T(P)), power and temperature feeding each other through leakage.
 *
 * Newton's method from the coldest state climbs to the lowest root without passing it, because the power rises ever
 * more steeply with temperature; where its slope vanishes first there is no steady state, and the demand is infinite:
 * then any cap holds the load back.
 */
export function demandAtFrequency(
  draws: SteadyDraws,
  law: PowerOfTemperature,
  mostW: number = Number.POSITIVE_INFINITY,
): Demand {
  const powersW = new Float64Array(draws.count);
  const temperaturesC = new Float64Array(draws.count);
  let leastW = Number.POSITIVE_INFINITY;
  let greatestW = 0;
  for (let i = 0; i < draws.count; i++) {
    const powerW = Math.min(mostW, lowestFixedPoint(draws, i, law));
    powersW[i] = powerW;
    leastW = Math.min(leastW, powerW);
    greatestW = Math.max(greatestW, powerW);
    temperaturesC[i] = Number.isFinite(powerW) ? temperatureOf(draws, i, powerW) : Number.POSITIVE_INFINITY;
  }
  return { powersW, rangeW: [leastW, greatestW], temperaturesC };
}

function lowestFixedPoint(draws: SteadyDraws, index: number, law: PowerOfTemperature): number {
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
