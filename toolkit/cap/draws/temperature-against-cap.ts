import { orderStatistic } from '../../numerics/order-statistic.js';
import type { CapChoice } from '../choose/cap-choice.js';
import type { TemperatureDraws } from './temperature-draws.js';

/** Mean, spread and quantiles of the steady temperature at one power, degrees Celsius. */
export interface TemperatureSpread {
  readonly meanC: number;
  readonly standardDeviationK: number;
  readonly lowC: number;
  readonly highC: number;
  readonly atConfidenceC: number;
}

/** Summarises draws of a temperature; reorders them. */
export function spreadOf(temperaturesC: Float64Array, count: number, confidence: number): TemperatureSpread {
  let sum = 0;
  for (let i = 0; i < count; i++) sum += temperaturesC[i];
  const meanC = sum / count;
  let squares = 0;
  for (let i = 0; i < count; i++) squares += (temperaturesC[i] - meanC) ** 2;
  const outside = Math.floor(0.025 * count);
  const lowRank = outside;
  const highRank = count - 1 - outside;
  const confidenceRank = count - 1 - Math.floor((1 - confidence) * count);
  // The confidence first: the two others then lie in one part each of what it has divided.
  const atConfidenceC = orderStatistic(temperaturesC, confidenceRank, 0, count);
  const elsewhere = (rank: number) =>
    rank < confidenceRank
      ? orderStatistic(temperaturesC, rank, 0, confidenceRank)
      : orderStatistic(temperaturesC, rank, confidenceRank, count);
  const lowC = elsewhere(lowRank);
  const highC = elsewhere(highRank);
  return {
    meanC,
    standardDeviationK: Math.sqrt(squares / Math.max(1, count - 1)),
    lowC,
    highC,
    atConfidenceC,
  };
}

/** A picture needs fewer draws than a decision: the band from these differs by hundredths of a kelvin. */
const PICTURE_DRAWS = 1024;
const MOST_CAPS = 50;

/** Steady temperature over a range of caps around the chosen one, from the first 1,024 draws. */
export function temperatureAgainstCap(
  draws: TemperatureDraws,
  options: {
    readonly powerCapW: number;
    readonly rangeW: readonly [lowW: number, highW: number];
    readonly confidence: number;
    /** Frequency, MHz, and the objective at a cap, as far as the curve tells them. */
    readonly reachedAt: (powerCapW: number) => {
      readonly frequencyMHz?: number;
      readonly objective?: number;
    };
  },
): CapChoice['temperatureAgainstCap'] {
  const { powerCapW, rangeW, confidence, reachedAt } = options;
  const step = roundStepAbove((rangeW[1] - rangeW[0]) / MOST_CAPS);
  const below = Math.min(Math.floor((powerCapW - rangeW[0]) / step), Math.ceil(powerCapW / step) - 1);
  const above = Math.floor((rangeW[1] - powerCapW) / step);
  const count = Math.min(draws.count, PICTURE_DRAWS);
  const temperaturesC = new Float64Array(count);
  return Array.from({ length: below + 1 + above }, (_, index) => {
    const capW = Number((powerCapW + (index - below) * step).toPrecision(12));
    draws.temperaturesAt(capW, temperaturesC, count);
    const { meanC, lowC, highC, atConfidenceC } = spreadOf(temperaturesC, count, confidence);
    return {
      powerCapW: capW,
      temperatureC: meanC,
      lowC,
      highC,
      atConfidenceC,
      ...reachedAt(capW),
    };
  });
}

/** The next larger number of the form 1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8 × 10^k. */
function roundStepAbove(step: number): number {
  const decade = 10 ** Math.floor(Math.log10(step));
  const leading = [1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10].find(
    (digit) => digit * decade >= step * (1 - 1e-9),
  );
  return (leading ?? 10) * decade;
}
