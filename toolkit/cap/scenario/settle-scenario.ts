import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import type { FanCurve } from '../../thermal/fan-curve.js';
import type { CapObjective, CapScenario, SettledScenario, UncertainInput } from './cap-scenario.js';
import {
  requireDutyCycle,
  settleEnclosure,
  settleFan,
  settleShortTerm,
  settleSupply,
  settleVoltageOffset,
  settleWorkloads,
} from './settle-parts.js';
import { centreOf, requireUncertainInput } from './uncertain-input.js';

/**
 * What `chooseCap` assumes where the scenario is silent.
 *
 * @example
 * CAP_DEFAULTS.confidence; // => 0.95
 */
export const CAP_DEFAULTS: {
  readonly limitAppliesTo: 'mean';
  readonly confidence: number;
  readonly stepW: number;
  readonly drawCount: number;
  readonly seed: number;
} = { limitAppliesTo: 'mean', confidence: 0.95, stepW: 1, drawCount: 4096, seed: 1 };

/** Draws that must lie beyond the stated confidence for its quantile to mean anything; the default leaves twice that. */
const LEAST_TAIL_DRAWS = 10;
const MOST_DRAWS = 2 ** 20;

const OBJECTIVES: readonly CapObjective[] = [
  'frequency',
  'throughput',
  'jobs-per-hour',
  'energy-per-job',
  'work-per-watt-hour',
];
const NEED_WORK_PER_JOB: readonly CapObjective[] = ['jobs-per-hour', 'energy-per-job'];

/** Above these no silicon limit and no room air is meant: the number is in another unit. */
const HIGHEST_LIMIT_C = 150;
const HIGHEST_AMBIENT_C = 60;
const LOWEST_AMBIENT_C = -60;

export const CAP_SCENARIO_NAMES: KnownNames<CapScenario> = {
  limitC: true,
  limitAppliesTo: true,
  ambientC: true,
  enclosure: true,
  confidence: true,
  stepW: true,
  minCapW: true,
  maxCapW: true,
  defaultCapW: true,
  objective: true,
  workPerJobCount: true,
  minThroughputPerS: true,
  maxSoundLevelDb: true,
  supply: true,
  fan: true,
  voltageOffset: true,
  topFrequencyMHz: true,
  workloads: true,
  dutyCycle: true,
  shortTerm: true,
  drawCount: true,
  seed: true,
};

/**
 * Checks a scenario and fills in its defaults.
 *
 * @param known - whether the curve, or the curves of all loads, tell the throughput: then that is the default objective; and the cooler's own fan curve
 * @throws ArgumentError naming the option at fault: a limit or room air in another unit than degrees Celsius, a
 *   limit that is not above the room air, a reversed range, a confidence outside (0, 1), a step that is not
 *   positive, caps that contradict each other, an objective that needs what is not given, an option of another name
 * @throws NumericalError where the fan's lowest speed is louder than allowed
 */
export function settleScenario(
  scenario: CapScenario,
  caller: string,
  known: { readonly throughput: boolean; readonly fanCurve?: FanCurve | undefined } = { throughput: false },
): SettledScenario {
  requireKnownNames(scenario, CAP_SCENARIO_NAMES, { caller, argument: 'scenario' });
  requireLimit(scenario.limitC, caller);
  requireAmbient(scenario.ambientC, caller);
  if (scenario.limitC <= centreOf(scenario.ambientC))
    throw new ArgumentError({
      caller,
      argument: 'scenario.limitC',
      expected: `above the room air of ${centreOf(scenario.ambientC)} °C`,
      received: scenario.limitC,
      remedy: 'nothing cools below the air around it: give a higher limit or cooler air',
    });
  const limitAppliesTo = scenario.limitAppliesTo ?? CAP_DEFAULTS.limitAppliesTo;
  if (limitAppliesTo !== 'mean' && limitAppliesTo !== 'peak')
    throw new ArgumentError({
      caller,
      argument: 'scenario.limitAppliesTo',
      expected: "'mean' or 'peak'",
      received: limitAppliesTo,
    });
  const confidence = scenario.confidence ?? CAP_DEFAULTS.confidence;
  requireNumber(
    confidence,
    { caller, argument: 'scenario.confidence', remedy: 'write 95 % as 0.95; certainty (1) has no cap' },
    { above: 0, below: 1 },
  );
  const stepW = scenario.stepW ?? CAP_DEFAULTS.stepW;
  requireNumber(stepW, { caller, argument: 'scenario.stepW' }, { above: 0 });
  requireCaps(scenario, caller);
  const drawCount = settleDrawCount(scenario.drawCount, confidence, caller);
  const seed = scenario.seed ?? CAP_DEFAULTS.seed;
  if (!Number.isSafeInteger(seed) || seed < 0)
    throw new ArgumentError({
      caller,
      argument: 'scenario.seed',
      expected: 'a whole number, 0 or more',
      received: seed,
    });
  const {
    enclosure: _e,
    supply: _s,
    fan: _f,
    voltageOffset: _v,
    workloads: _w,
    shortTerm: _t,
    ...plain
  } = scenario;
  requireTogether(scenario, caller);
  return {
    ...plain,
    limitAppliesTo,
    confidence,
    stepW,
    objective: settleObjective(scenario, caller, known.throughput),
    drawCount,
    seed,
    ...present('enclosure', settleEnclosure(scenario.enclosure, caller)),
    ...present('supply', settleSupply(scenario.supply, caller)),
    ...present(
      'fan',
      settleFan(scenario.fan, scenario.fan?.curve ?? known.fanCurve, scenario.maxSoundLevelDb, caller),
    ),
    ...present('voltageOffset', settleVoltageOffset(scenario.voltageOffset, caller)),
    ...present('workloads', settleWorkloads(scenario.workloads, caller)),
    ...present('shortTerm', settleShortTerm(scenario.shortTerm, caller)),
  };
}

function present<Name extends string, Value>(
  name: Name,
  value: Value | undefined,
): { readonly [Key in Name]?: Value } {
  return (value === undefined ? {} : { [name]: value }) as { readonly [Key in Name]?: Value };
}

/** What can be asked together, and what each number needs beside it. */
function requireTogether(scenario: CapScenario, caller: string): void {
  const { workloads, dutyCycle, topFrequencyMHz, minThroughputPerS, workPerJobCount } = scenario;
  requireDutyCycle(dutyCycle, caller);
  if (workloads !== undefined && dutyCycle !== undefined)
    throw new ArgumentError({
      caller,
      argument: 'scenario.dutyCycle',
      expected: 'given without `workloads`',
      received: 'both',
      remedy: 'ask once for the loads that last and once for the cycle, and take the lower cap',
    });
  if (topFrequencyMHz !== undefined) {
    requireNumber(
      topFrequencyMHz,
      { caller, argument: 'scenario.topFrequencyMHz', remedy: 'write 4.2 GHz as 4200' },
      { above: 100, atMost: 20_000 },
    );
    if (dutyCycle !== undefined)
      throw new ArgumentError({
        caller,
        argument: 'scenario.topFrequencyMHz',
        expected: 'given without `dutyCycle`',
        received: 'both',
        remedy: 'give the demandW of the phases that reach the top frequency',
      });
  }
  for (const [argument, value] of Object.entries({ minThroughputPerS, workPerJobCount }))
    if (value !== undefined) requireNumber(value, { caller, argument: `scenario.${argument}` }, { above: 0 });
}

function settleObjective(
  { objective, workPerJobCount, minThroughputPerS }: CapScenario,
  caller: string,
  knowsThroughput: boolean,
): CapObjective {
  if (minThroughputPerS !== undefined && !knowsThroughput)
    throw withoutThroughput('scenario.minThroughputPerS', minThroughputPerS, caller);
  if (objective === undefined) return knowsThroughput ? 'throughput' : 'frequency';
  if (!OBJECTIVES.includes(objective))
    throw new ArgumentError({
      caller,
      argument: 'scenario.objective',
      expected: `one of ${OBJECTIVES.join(', ')}`,
      received: objective,
    });
  if (objective !== 'frequency' && !knowsThroughput)
    throw withoutThroughput('scenario.objective', objective, caller);
  if (NEED_WORK_PER_JOB.includes(objective) && workPerJobCount === undefined)
    throw new ArgumentError({
      caller,
      argument: 'scenario.workPerJobCount',
      expected: `a number, where the objective is ${objective}`,
      received: workPerJobCount,
      remedy: 'give the work that makes one job, in the units of the logged throughput',
    });
  return objective;
}

function withoutThroughput(argument: string, received: unknown, caller: string): ArgumentError {
  return new ArgumentError({
    caller,
    argument,
    expected: "left out, or 'frequency' as the objective, where the power curve does not know the throughput",
    received,
    remedy: 'log the work done per second beside the frequency and fit the power curve again',
  });
}

function requireLimit(limitC: unknown, caller: string): asserts limitC is number {
  const where = { caller, argument: 'scenario.limitC' };
  requireNumber(limitC, where);
  if (limitC <= HIGHEST_LIMIT_C) return;
  const remedy = limitC >= 300 ? asKelvin(limitC) : asFahrenheit(limitC);
  throw new ArgumentError({
    ...where,
    expected: `in degrees Celsius, at most ${HIGHEST_LIMIT_C}`,
    received: limitC,
    ...(remedy === undefined ? {} : { remedy }),
  });
}

export function requireAmbient(ambientC: unknown, caller: string): asserts ambientC is UncertainInput {
  const argument = 'scenario.ambientC';
  requireUncertainInput(ambientC, { caller, argument, remedy: 'give the air temperature of the room' });
  const values =
    typeof ambientC === 'number'
      ? [ambientC]
      : 'mean' in ambientC
        ? [ambientC.mean]
        : [ambientC.low, ambientC.high];
  for (const value of values) {
    if (value >= LOWEST_AMBIENT_C && value <= HIGHEST_AMBIENT_C) continue;
    const remedy = value > 220 ? asKelvin(value) : asFahrenheit(value);
    throw new ArgumentError({
      caller,
      argument,
      expected: `room air in degrees Celsius, ${LOWEST_AMBIENT_C} to ${HIGHEST_AMBIENT_C}`,
      received: value,
      ...(remedy === undefined ? {} : { remedy }),
    });
  }
}

function asKelvin(value: number): string | undefined {
  return value <= 430
    ? `${value} looks like kelvin: ${value} K are ${(value - 273.15).toFixed(1)} °C`
    : undefined;
}

function asFahrenheit(value: number): string | undefined {
  return value > 0
    ? `${value} looks like °F: ${value} °F are ${((value - 32) / 1.8).toFixed(1)} °C`
    : undefined;
}

function requireCaps(scenario: CapScenario, caller: string): void {
  for (const name of ['minCapW', 'maxCapW', 'defaultCapW'] as const)
    if (scenario[name] !== undefined)
      requireNumber(scenario[name], { caller, argument: `scenario.${name}` }, { above: 0 });
  const { minCapW, maxCapW, defaultCapW } = scenario;
  if (minCapW === undefined) return;
  if (maxCapW !== undefined && minCapW > maxCapW)
    throw new ArgumentError({
      caller,
      argument: 'scenario.minCapW',
      expected: `at most \`maxCapW\`, ${maxCapW} W`,
      received: minCapW,
    });
  if (maxCapW === undefined && defaultCapW !== undefined && minCapW > defaultCapW)
    throw new ArgumentError({
      caller,
      argument: 'scenario.minCapW',
      expected: `at most \`defaultCapW\`, ${defaultCapW} W`,
      received: minCapW,
      remedy: "give `maxCapW` if caps above the maker's default are meant",
    });
}

function settleDrawCount(drawCount: number | undefined, confidence: number, caller: string): number {
  const tail = Math.min(confidence, 1 - confidence);
  const wanted = 2 ** Math.ceil(Math.log2((2 * LEAST_TAIL_DRAWS) / tail));
  const count = drawCount ?? Math.min(MOST_DRAWS, Math.max(CAP_DEFAULTS.drawCount, wanted));
  const needed = Math.ceil(LEAST_TAIL_DRAWS / tail - 1e-9);
  if (needed > MOST_DRAWS)
    throw new ArgumentError({
      caller,
      argument: 'scenario.confidence',
      expected: `between ${LEAST_TAIL_DRAWS / MOST_DRAWS} and 1 − ${LEAST_TAIL_DRAWS / MOST_DRAWS}`,
      received: confidence,
      remedy: 'no uncertainty is known well enough for a claim beyond that',
    });
  if (!Number.isSafeInteger(count) || count < needed || count > MOST_DRAWS)
    throw new ArgumentError({
      caller,
      argument: 'scenario.drawCount',
      expected: `a whole number from ${needed} (for a confidence of ${confidence}) to ${MOST_DRAWS}`,
      received: count,
    });
  return count;
}
