import {
  frequencyFunction,
  type PowerAndTemperature,
  powerDependenceKnown,
  slopes,
} from '../power/frequency-at.js';
import type { PowerCurve } from '../power/power-curve.js';
import { liesOutside } from './cap-cautions.js';
import type { CapChoice } from './cap-choice.js';
import {
  frequencyCovariance,
  frequencyWithSpread,
  fromCurveAndDraws,
  standardErrorOfSum,
} from './cap-frequency.js';
import { orderStatistic } from './order-statistic.js';
import { type SteadyDraws, temperaturesAt } from './steady-draws.js';

/** What the cost is worked out from. */
export interface CostProblem {
  readonly curve: PowerCurve;
  readonly draws: SteadyDraws;
  readonly defaultCapW: number;
  /** Limit on the mean temperature, degrees Celsius: where the processor holds itself back. */
  readonly meanLimitC: number;
  readonly powersAtLimitW: Float64Array;
  /** The recommended cap and the mean temperature there. */
  readonly atCap: PowerAndTemperature;
  /** Each draw's temperature at the recommended cap, degrees Celsius. */
  readonly temperaturesAtCapC: Float64Array;
}

/**
 * What the recommended cap costs against the default cap on the same cooler.
 *
 * In every draw the default cap sustains min(default, power at the limit); the comparison is with the median of
 * these powers at the mean of the temperatures they give. The loss is a difference of two frequencies of one curve
 * in one room on one cooler: its uncertainty is propagated for the difference, not added up from the two.
 */
export function capCost(problem: CostProblem): NonNullable<CapChoice['cost']> {
  const { curve, draws, defaultCapW, meanLimitC, powersAtLimitW, atCap, temperaturesAtCapC } = problem;
  const { count } = draws;
  const powersW = new Float64Array(count);
  const temperaturesC = new Float64Array(count);
  temperaturesAt(draws, defaultCapW, temperaturesC);
  for (let i = 0; i < count; i++) {
    const held = powersAtLimitW[i]! < defaultCapW;
    powersW[i] = held ? powersAtLimitW[i]! : defaultCapW;
    if (held) temperaturesC[i] = Math.max(meanLimitC, draws.intakeC[i]!);
  }
  const sustainedPowerW = orderStatistic(powersW.slice(), count >>> 1);
  const heldAtLimit = sustainedPowerW < defaultCapW;
  const atDefault = { powerW: sustainedPowerW, temperatureC: mean(temperaturesC) };
  const common = { defaultCapW, sustainedPowerW, heldAtLimit };

  if (!powerDependenceKnown(curve) || sustainedPowerW === 0) {
    const missing = { kind: 'unavailable', reason: 'not-identifiable' } as const;
    return { ...common, frequencyMHz: missing, frequencyLossMHz: missing, lossFraction: missing };
  }
  const frequency = frequencyFunction(curve);
  const defaultMHz = frequency(atDefault.powerW, atDefault.temperatureC);
  const lossMHz = defaultMHz - frequency(atCap.powerW, atCap.temperatureC);
  const lossFraction = lossMHz / defaultMHz;

  // Deviations from these central values, draw by draw, to first order in power and temperature.
  const ofDefault = slopes(curve, atDefault);
  const ofCap = slopes(curve, atCap);
  const defaultDeviation = new Float64Array(count);
  const lossDeviation = new Float64Array(count);
  const fractionDeviation = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const deviation =
      ofDefault.perPower * (powersW[i]! - sustainedPowerW) +
      ofDefault.perTemperature * (temperaturesC[i]! - atDefault.temperatureC);
    defaultDeviation[i] = deviation;
    lossDeviation[i] = deviation - ofCap.perTemperature * (temperaturesAtCapC[i]! - atCap.temperatureC);
    fractionDeviation[i] = (lossDeviation[i]! - lossFraction * deviation) / defaultMHz;
  }
  const covariance = frequencyCovariance(curve, [atDefault, atCap]);
  const frequencyMHz = frequencyWithSpread(curve, atDefault, standardDeviation(defaultDeviation));
  const extrapolated =
    (frequencyMHz.kind === 'estimated' && frequencyMHz.extrapolated === true) ||
    liesOutside(atCap.powerW, curve.testedRange.powerW);
  return {
    ...common,
    frequencyMHz,
    frequencyLossMHz: fromCurveAndDraws(
      curve,
      lossMHz,
      { ofCurve: standardErrorOfSum([1, -1], covariance), ofDraws: standardDeviation(lossDeviation) },
      extrapolated,
    ),
    lossFraction: fromCurveAndDraws(
      curve,
      lossFraction,
      {
        ofCurve: standardErrorOfSum([(1 - lossFraction) / defaultMHz, -1 / defaultMHz], covariance),
        ofDraws: standardDeviation(fractionDeviation),
      },
      extrapolated,
    ),
  };
}

function mean(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value;
  return sum / values.length;
}

function standardDeviation(values: Float64Array): number {
  const centre = mean(values);
  let squares = 0;
  for (const value of values) squares += (value - centre) ** 2;
  return Math.sqrt(squares / Math.max(1, values.length - 1));
}
