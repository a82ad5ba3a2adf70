import { NumericalError } from '../errors.js';
import { formatNumber } from '../numerics/format-estimate.js';
import { orderStatistic } from '../numerics/order-statistic.js';
import type { CoolerModel } from '../thermal/cooler-model.js';
import type { CapChoice, SettledScenario } from './cap-choice.js';
import { powersAtLimit, type SteadyDraws, slopeAt, temperaturesAt } from './steady-draws.js';
import { stepDown } from './step-down.js';

/** Limits and rooms farther away than this are not suggested. */
const FARTHEST_WAY_OUT_K = 50;

/** What the cap is to be found from. */
export interface CapProblem {
  readonly cooler: CoolerModel;
  readonly draws: SteadyDraws;
  readonly scenario: SettledScenario;
  /** Limit on the mean temperature, degrees Celsius. */
  readonly meanLimitC: number;
  /** No higher cap is given where the scenario names neither a highest nor a default cap, W. */
  readonly highestLoggedW: number;
  readonly caller: string;
}

/** The cap and what follows from the same draws. */
export interface CapAtConfidence {
  readonly powerCapW: number;
  readonly unroundedCapW: number;
  readonly bindingConstraint: CapChoice['bindingConstraint'];
  /** What one more kelvin of the limit adds to the unrounded cap; one kelvin of room air takes it away. */
  readonly capPerLimitWPerK: number;
  /** Each draw's largest power at the limit, W, in the order of the draws. */
  readonly powersAtLimitW: Float64Array;
}

/**
 * The largest settable cap that holds the limit in the share of draws asked for.
 *
 * The unrounded cap is an order statistic of the draws' largest powers: at most the fraction 1 − confidence of the
 * draws passes the limit there.
 *
 * @throws NumericalError where no cap from the lowest one up holds the limit, with the nearest ways out
 */
export function capAtConfidence(problem: CapProblem): CapAtConfidence {
  const { cooler, draws, scenario, meanLimitC, highestLoggedW, caller } = problem;
  const { count } = draws;
  const powersAtLimitW = new Float64Array(count);
  powersAtLimit(draws, meanLimitC, powersAtLimitW);
  const sorted = powersAtLimitW.slice();
  const rank = Math.floor((1 - scenario.confidence) * count);
  const unroundedCapW = orderStatistic(sorted, rank);

  const { bound, bindingConstraint } = upperBound(scenario, highestLoggedW, unroundedCapW);
  const powerCapW = stepDown(bound, scenario.stepW);
  const lowestW = scenario.minCapW ?? scenario.stepW;
  if (powerCapW < lowestW - 1e-9)
    throw bindingConstraint === 'temperature'
      ? notFeasible({ cooler, draws, scenario, meanLimitC, powersAtLimitW, unroundedCapW, lowestW, caller })
      : new NumericalError(`${caller}: ${emptyRange({ scenario, bound, bindingConstraint, lowestW })}`);
  return {
    powerCapW,
    unroundedCapW,
    bindingConstraint,
    capPerLimitWPerK: capPerLimit(draws, meanLimitC, powersAtLimitW, sorted, rank),
    powersAtLimitW,
  };
}

function upperBound(
  scenario: SettledScenario,
  highestLoggedW: number,
  unroundedCapW: number,
): { readonly bound: number; readonly bindingConstraint: CapChoice['bindingConstraint'] } {
  const { maxCapW, defaultCapW } = scenario;
  const highestW = maxCapW ?? defaultCapW ?? highestLoggedW;
  if (unroundedCapW <= highestW) return { bound: unroundedCapW, bindingConstraint: 'temperature' };
  if (maxCapW === undefined && defaultCapW === undefined)
    return { bound: highestW, bindingConstraint: 'tested-range' };
  return {
    bound: highestW,
    bindingConstraint: maxCapW === undefined || maxCapW === defaultCapW ? 'default-cap' : 'max-cap',
  };
}

/** Why no settable cap lies between the lowest and the highest, and what to give. */
function emptyRange(range: {
  readonly scenario: SettledScenario;
  readonly bound: number;
  readonly bindingConstraint: CapChoice['bindingConstraint'];
  readonly lowestW: number;
}): string {
  const { scenario, bound, bindingConstraint, lowestW } = range;
  return bindingConstraint === 'tested-range'
    ? `no cap of ${lowestW} W or more, in steps of ${scenario.stepW} W, lies within the powers logged, at most ${formatNumber(bound)} W; give \`defaultCapW\` or \`maxCapW\` to consider higher ones, or log a run at a higher power`
    : `no multiple of the step of ${scenario.stepW} W lies between the lowest cap, ${lowestW} W, and the highest, ${bound} W; give a finer \`stepW\``;
}

/** Mean of dP/dT over the draws around the quantile: what the quantile itself moves by. */
function capPerLimit(
  draws: SteadyDraws,
  meanLimitC: number,
  powersAtLimitW: Float64Array,
  sorted: Float64Array,
  rank: number,
): number {
  const reach = Math.ceil(draws.count / 100);
  const lowest = orderStatistic(sorted, Math.max(0, rank - reach), 0, rank + 1);
  const highest = orderStatistic(sorted, Math.min(draws.count - 1, rank + reach), rank);
  let sum = 0;
  let count = 0;
  for (let i = 0; i < draws.count; i++) {
    const powerW = powersAtLimitW[i]!;
    if (powerW < lowest || powerW > highest || powerW === 0) continue;
    sum += 1 / slopeAt(draws, i, powerW, meanLimitC);
    count++;
  }
  return count === 0 ? 0 : sum / count;
}

function notFeasible(what: {
  readonly cooler: CoolerModel;
  readonly draws: SteadyDraws;
  readonly scenario: SettledScenario;
  readonly meanLimitC: number;
  readonly powersAtLimitW: Float64Array;
  readonly unroundedCapW: number;
  readonly lowestW: number;
  readonly caller: string;
}): NumericalError {
  const { cooler, draws, scenario, meanLimitC, powersAtLimitW, unroundedCapW, lowestW, caller } = what;
  const temperaturesC = new Float64Array(draws.count);
  temperaturesAt(draws, lowestW, temperaturesC);
  const rank = draws.count - 1 - Math.floor((1 - scenario.confidence) * draws.count);
  const excessK = Math.ceil((orderStatistic(temperaturesC, rank) - meanLimitC) * 10 - 1e-9) / 10;
  const holding =
    powersAtLimitW.reduce((sum, powerW) => (powerW >= lowestW ? sum + 1 : sum), 0) / draws.count;
  const largest =
    unroundedCapW > 0
      ? `the largest that does is ${unroundedCapW.toFixed(1)} W, ${(lowestW - unroundedCapW).toFixed(1)} W short`
      : 'the air at the intake alone passes the limit';
  // A way out that no silicon and no room offers is none.
  const withinReach = excessK <= FARTHEST_WAY_OUT_K;
  const waysOut = [
    ...(withinReach
      ? [
          `a limit of ${Number((scenario.limitC + excessK).toFixed(1))} °C`,
          `room air ${excessK.toFixed(1)} K cooler`,
        ]
      : []),
    ...(scenario.minCapW !== undefined && stepDown(unroundedCapW, scenario.stepW) > 0
      ? [`a lowest cap of ${stepDown(unroundedCapW, scenario.stepW)} W`]
      : []),
    ...(scenario.minCapW === undefined && unroundedCapW > 0
      ? [`a step of ${Number(Math.min(1, unroundedCapW / 10).toPrecision(1))} W`]
      : []),
    ...(holding >= 0.01 ? [`a confidence of ${Math.floor(holding * 100) / 100}`] : []),
  ];
  return new NumericalError(
    `${caller}: no cap from ${lowestW} W up holds ${scenario.limitC} °C with ${percent(scenario.confidence)} confidence on '${cooler.label}': ${largest}; ` +
      `nearest ways out, each alone: ${[...waysOut, 'a better cooler'].join(', ').replace(/, a better cooler$/, ', or a better cooler')}`,
  );
}

/** A confidence as a percentage with no more digits than it has. */
export function percent(fraction: number): string {
  return `${Number((fraction * 100).toPrecision(6))} %`;
}
