import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../errors.js';
import { ENCLOSURE_RISE_NAMES } from '../thermal/steady-temperature.js';
import type { CapScenario, SettledScenario, UncertainInput } from './cap-choice.js';
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

/** Above these no silicon limit and no room air is meant: the number is in another unit. */
const HIGHEST_LIMIT_C = 150;
const HIGHEST_AMBIENT_C = 60;
const LOWEST_AMBIENT_C = -60;

const CAP_SCENARIO_NAMES: KnownNames<CapScenario> = {
  limitC: true,
  limitAppliesTo: true,
  ambientC: true,
  enclosure: true,
  confidence: true,
  stepW: true,
  minCapW: true,
  maxCapW: true,
  defaultCapW: true,
  drawCount: true,
  seed: true,
};

/**
 * Checks a scenario and fills in its defaults.
 *
 * @throws ArgumentError naming the option at fault: a limit or room air in another unit than degrees Celsius, a
 *   limit that is not above the room air, a reversed range, a confidence outside (0, 1), a step that is not
 *   positive, caps that contradict each other, an option of another name
 */
export function settleScenario(scenario: CapScenario, caller: string): SettledScenario {
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
  requireEnclosure(scenario.enclosure, caller);
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
  return { ...scenario, limitAppliesTo, confidence, stepW, drawCount, seed };
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

function requireAmbient(ambientC: unknown, caller: string): asserts ambientC is UncertainInput {
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

function requireEnclosure(enclosure: CapScenario['enclosure'], caller: string): void {
  if (enclosure === undefined) return;
  requireKnownNames(enclosure, ENCLOSURE_RISE_NAMES, {
    caller,
    argument: 'scenario.enclosure',
    remedy: 'leave it out for an open bench',
  });
  requireUncertainInput(
    enclosure.riseK,
    {
      caller,
      argument: 'scenario.enclosure.riseK',
      remedy: 'an enclosure warms the intake air by 0 K or more',
    },
    { atLeast: 0 },
  );
  if (enclosure.atPowerW !== undefined)
    requireNumber(enclosure.atPowerW, { caller, argument: 'scenario.enclosure.atPowerW' }, { above: 0 });
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
