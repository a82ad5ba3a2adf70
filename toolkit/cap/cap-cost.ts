import { orderStatistic } from '../numerics/order-statistic.js';
import {
  frequencyCovariance,
  frequencyFunction,
  type PowerAndTemperature,
  powerDependenceKnown,
  slopes,
} from '../power/frequency-at.js';
import type { PowerCurve } from '../power/power-curve.js';
import type { CapChoice } from './cap-choice.js';
import { frequencyWithSpread, fromCurveAndDraws, standardErrorOfSum } from './cap-frequency.js';
import { liesOutside } from './cap-reach.js';
import { type SteadyDraws, temperaturesAt } from './steady-draws.js';

/** What the cost is worked out from. */
export interface CostProblem {
  /** Without one the powers are known and the frequencies are not. */
  readonly curve: PowerCurve | undefined;
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
  let heldCount = 0;
  for (let i = 0; i < count; i++) {
    const held = powersAtLimitW[i]! < defaultCapW;
    powersW[i] = held ? powersAtLimitW[i]! : defaultCapW;
    if (!held) continue;
    temperaturesC[i] = Math.max(meanLimitC, draws.intakeC[i]!);
    heldCount++;
  }
  const sustainedPowerW = orderStatistic(powersW.slice(), count >>> 1);
  const heldAtLimit = sustainedPowerW < defaultCapW;
  const atDefault = { powerW: sustainedPowerW, temperatureC: mean(temperaturesC) };
  const common = { defaultCapW, sustainedPowerW, heldAtLimit, chanceOfPassingLimit: heldCount / count };

  if (curve === undefined || !powerDependenceKnown(curve) || sustainedPowerW === 0) {
    const missing = { kind: 'unavailable', reason: 'not-identifiable' } as const;
    return { ...common, frequencyMHz: missing, frequencyLossMHz: missing, lossFraction: missing };
  }
  const frequency = frequencyFunction(curve);
  const defaultMHz = frequency(atDefault.powerW, atDefault.temperatureC);
  const lossMHz = defaultMHz - frequency(atCap.powerW, atCap.temperatureC);
  const lossFraction = lossMHz / defaultMHz;

  // Deviations of the draws from their mean, to first order in power and temperature.
  const meanPowerW = mean(powersW);
  const ofDefault = slopes(curve, atDefault);
  const ofCap = slopes(curve, atCap);
  let defaultSquares = 0;
  let lossSquares = 0;
  let fractionSquares = 0;
  for (let i = 0; i < count; i++) {
    const atDefaultMHz =
      ofDefault.perPower * (powersW[i]! - meanPowerW) +
      ofDefault.perTemperature * (temperaturesC[i]! - atDefault.temperatureC);
    const lostMHz = atDefaultMHz - ofCap.perTemperature * (temperaturesAtCapC[i]! - atCap.temperatureC);
    defaultSquares += atDefaultMHz ** 2;
    lossSquares += lostMHz ** 2;
    fractionSquares += ((lostMHz - lossFraction * atDefaultMHz) / defaultMHz) ** 2;
  }
  const [ofDefaultMHz, ofLossMHz, ofFraction] = [defaultSquares, lossSquares, fractionSquares].map(
    (squares) => Math.sqrt(squares / count),
  ) as [number, number, number];
  const covariance = frequencyCovariance(curve, [atDefault, atCap]);
  const frequencyMHz = frequencyWithSpread(curve, atDefault, ofDefaultMHz);
  const extrapolated =
    (frequencyMHz.kind === 'estimated' && frequencyMHz.extrapolated === true) ||
    liesOutside(atCap.powerW, curve.testedRange.powerW);
  return {
    ...common,
    frequencyMHz,
    frequencyLossMHz: fromCurveAndDraws(
      curve,
      lossMHz,
      { ofCurve: standardErrorOfSum([1, -1], covariance), ofDraws: ofLossMHz },
      extrapolated,
    ),
    lossFraction: fromCurveAndDraws(
      curve,
      lossFraction,
      {
        ofCurve: standardErrorOfSum([(1 - lossFraction) / defaultMHz, -1 / defaultMHz], covariance),
        ofDraws: ofFraction,
      },
      extrapolated,
    ),
  };
}

function mean(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i]!;
  return sum / values.length;
}
