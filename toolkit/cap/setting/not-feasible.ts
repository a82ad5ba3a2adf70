import { NumericalError } from '../../errors.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import { orderStatistic } from '../../numerics/order-statistic.js';
import { limitRank } from '../draws/limit-cap.js';
import { bestOffset } from './best-at-speed.js';
import type { CapBound } from './binding-constraint.js';
import { boundBesideLimit } from './cap-bound.js';
import { liesWithinReach, lowestWithinReach, rangeInWords } from './cap-reach.js';
import { fanPowerOf } from './fan-response.js';
import { lowestSettable } from './least-cap.js';
import { scoreAtSpeed } from './operating-state.js';
import { percent } from './percent.js';
import { type PreparedCap, settingOf } from './prepared-cap.js';
import { throughputAtConfidence } from './setting-estimates.js';
import { stepDown } from './step-down.js';
import { packagePowerWithin, supplyPower } from './supply-power.js';

/** Limits and rooms farther away than this are not suggested. */
const FARTHEST_WAY_OUT_K = 50;
/** Nor a limit above this, which no silicon offers, degrees Celsius. */
const HIGHEST_LIMIT_C = 125;
/** Steps that people set caps in, W. */
const USUAL_STEPS_W = [100, 50, 25, 20, 10, 5, 2, 1, 0.5, 0.25, 0.125, 0.1, 0.05, 0.01];

/** No settable cap lies between the lowest of use and the highest allowed: why, by how much, and what would do. */
export function notFeasible(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  bound: CapBound,
): NumericalError {
  const { scenario, floorW, caller } = prepared;
  const { stepW } = scenario;
  if (bound.constraint === 'tested-range')
    return new NumericalError(
      `${caller}: no cap of ${formatNumber(floorW)} W or more, in steps of ${stepW} W, lies within the powers logged, at most ${formatNumber(bound.powerW)} W; give \`defaultCapW\` or \`maxCapW\` to consider higher ones, or log a run at a higher power`,
    );
  if (bound.powerW < floorW && bound.constraint === 'temperature') return tooHot(prepared, fanSpeedRpm);
  if (bound.powerW < floorW && bound.constraint === 'supply')
    return beyondSupply(prepared, fanSpeedRpm, bound.powerW);
  return betweenSteps(prepared, fanSpeedRpm, bound);
}

/** There are caps that hold, and none of them can be set. */
function betweenSteps(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  bound: CapBound,
): NumericalError {
  const { cooler, scenario, floorW, caller } = prepared;
  const { stepW, minCapW } = scenario;
  const finerW = USUAL_STEPS_W.find(
    (usualW) => usualW < stepW && stepDown(bound.powerW, usualW) >= (minCapW ?? usualW),
  );
  if (!liesWithinReach(cooler, bound.powerW))
    return new NumericalError(
      `${caller}: ${boundInWords[bound.constraint]}, ${formatNumber(bound.powerW)} W, lies below the lowest settable cap, ${formatNumber(floorW)} W, and far from the ${rangeInWords(cooler.testedRange.powerW)} that '${cooler.label}' was logged at; give powers in W`,
    );
  const waysOut = [
    ...(finerW === undefined ? [] : [`a step of ${finerW} W`]),
    ...lowerCap(prepared, minCapW, bound.powerW),
    ...waysToReach(prepared, fanSpeedRpm, lowestSettable(prepared)),
  ];
  return new NumericalError(
    `${caller}: no multiple of the step of ${stepW} W lies between the lowest cap, ${formatNumber(floorW)} W, and ${boundInWords[bound.constraint]}, ${formatNumber(bound.powerW)} W; ` +
      `nearest ways out, each alone: ${listed(waysOut)}`,
  );
}

function tooHot(prepared: PreparedCap, fanSpeedRpm: number | undefined): NumericalError {
  const { cooler, scenario, caller } = prepared;
  const { limitCapW } = prepared.thermalAt(fanSpeedRpm);
  const lowestW = lowestSettable(prepared);
  const largest =
    limitCapW > 0
      ? `the largest that does is ${limitCapW.toFixed(1)} W, ${(lowestW - limitCapW).toFixed(1)} W short`
      : restingInWords(excessAt(prepared, fanSpeedRpm, 0));
  const { minCapW } = scenario;
  const finerW =
    minCapW === undefined && liesWithinReach(cooler, limitCapW)
      ? USUAL_STEPS_W.find((usualW) => usualW <= Math.min(1, limitCapW / 10))
      : undefined;
  const waysOut = [
    ...waysToReach(prepared, fanSpeedRpm, neededCap(prepared, fanSpeedRpm)),
    ...lowerCap(prepared, minCapW, limitCapW),
    ...(finerW === undefined ? [] : [`a step of ${finerW} W`]),
    ...lowerConfidence(prepared, fanSpeedRpm, lowestW),
    // No cooler takes heat into air that is as warm as the die may be.
    ...(limitCapW > 0 ? ['a better cooler'] : []),
  ];
  if (waysOut.length === 0) waysOut.push('cooler air at the intake');
  return new NumericalError(
    `${caller}: no cap from ${lowestW} W up holds ${formatNumber(scenario.limitC)} °C with ${percent(scenario.confidence)} confidence on '${cooler.label}': ${largest}; ` +
      `nearest ways out, each alone: ${listed(waysOut)}`,
  );
}

function restingInWords(excessK: number): string {
  return excessK > 0
    ? `the air at the intake alone exceeds the limit, by ${excessK.toFixed(1)} K`
    : 'the air at the intake alone reaches the limit';
}

function beyondSupply(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  packageW: number,
): NumericalError {
  const { scenario, floorW, caller } = prepared;
  const supply = scenario.supply!;
  const rest = supply.restOfMachineW + fanPowerOf(scenario.fan, fanSpeedRpm);
  const neededW = neededCap(prepared, fanSpeedRpm);
  const left =
    packageW > 0
      ? `leaves ${packageW.toFixed(1)} W for the package, ${(floorW - packageW).toFixed(1)} W short of the lowest cap of ${formatNumber(floorW)} W`
      : `does not even feed the rest of the machine, ${formatNumber(rest)} W`;
  const smallerRestW =
    neededW === undefined ? -1 : Math.floor(10 * (supply.restOfMachineW - neededW + packageW) + 1e-9) / 10;
  const supplyAlone = neededW !== undefined && neededW <= boundBesideSupply(prepared, fanSpeedRpm);
  const waysOut = [
    ...waysToReach(prepared, fanSpeedRpm, neededW),
    ...lowerCap(prepared, scenario.minCapW, packageW),
    ...(supplyAlone && smallerRestW >= 0 ? [`a rest of the machine of ${smallerRestW.toFixed(1)} W`] : []),
  ];
  if (waysOut.length === 0) waysOut.push('a supply that gives more and a better cooler');
  return new NumericalError(
    `${caller}: the supply fails: its budget of ${formatNumber(supply.budgetW!)} W ${left}; nearest ways out, each alone: ${listed(waysOut)}`,
  );
}

/** The highest cap allowed does not reach the least throughput: by how much, and what would do. */
export function tooLittleThroughput(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  bound: CapBound,
): NumericalError {
  const { scenario, caller } = prepared;
  const { confidence } = scenario;
  const wanted = scenario.minThroughputPerS!;
  const powerCapW = stepDown(bound.powerW, scenario.stepW);
  const reached = reachedAt(prepared, fanSpeedRpm, powerCapW);
  const neededW = capReaching(prepared, fanSpeedRpm, powerCapW);
  const waysOut = [
    `a least throughput of ${roundedDown(reached)} per second`,
    ...(neededW === undefined
      ? ['runs logged at higher caps, so that the throughput there is better known']
      : waysToReach(prepared, fanSpeedRpm, neededW)),
  ];
  return new NumericalError(
    `${caller}: the least throughput fails: ${boundInWords[bound.constraint]} allows ${formatNumber(powerCapW)} W, which reaches ${roundedDown(reached)} per second with ${percent(confidence)} confidence, ${Number((wanted - reached).toPrecision(2))} short of the ${formatNumber(wanted)} asked for; ` +
      `nearest ways out, each alone: ${listed(waysOut)}`,
  );
}

const boundInWords: Readonly<Record<CapBound['constraint'], string>> = {
  temperature: 'the temperature limit',
  supply: "the supply's budget",
  'max-cap': 'the highest cap',
  'default-cap': "the maker's default cap",
  'tested-range': 'the highest power logged',
};

/**
 * What would have to be other for a cap to be allowed: each way alone, or, where several constraints keep it away, all of
 * them together as one way. None where one of them has no way out.
 */
function waysToReach(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  neededW: number | undefined,
): readonly string[] {
  if (neededW === undefined || !liesWithinReach(prepared.cooler, neededW)) return [];
  const { scenario, ceiling } = prepared;
  const fanW = fanPowerOf(scenario.fan, fanSpeedRpm);
  const ways: (readonly string[])[] = [];
  if (neededW > prepared.thermalAt(fanSpeedRpm).limitCapW)
    ways.push(kelvinWaysOut(scenario.limitC, excessAt(prepared, fanSpeedRpm, neededW)));
  if (neededW > packagePowerWithin(scenario.supply, fanW))
    ways.push([`a supply budget of ${Math.ceil(supplyPower(scenario.supply, neededW + fanW))} W`]);
  if (neededW > ceiling.powerW)
    ways.push([`a highest cap of ${formatNumber(neededW)} W, if its maker allows it`]);
  if (ways.some((each) => each.length === 0)) return [];
  return ways.length === 1
    ? ways[0]
    : ways.length === 0
      ? []
      : [ways.map(([first]) => first).join(' together with ')];
}

/**
 * The lowest settable cap of use that the data can carry and that reaches the least throughput as well, W; `undefined` where
 * none does.
 */
function neededCap(prepared: PreparedCap, fanSpeedRpm: number | undefined): number | undefined {
  const { stepW } = prepared.scenario;
  const carriedW = Math.ceil(lowestWithinReach(prepared.cooler) / stepW) * stepW;
  const lowestW = Math.max(lowestSettable(prepared), Number(carriedW.toPrecision(12)));
  return prepared.scenario.minThroughputPerS === undefined ||
    reachedAt(prepared, fanSpeedRpm, lowestW) >= prepared.scenario.minThroughputPerS
    ? lowestW
    : capReaching(prepared, fanSpeedRpm, lowestW);
}

/** The highest cap allowed by all but the supply, W. */
function boundBesideSupply(prepared: PreparedCap, fanSpeedRpm: number | undefined): number {
  return Math.min(prepared.thermalAt(fanSpeedRpm).limitCapW, prepared.ceiling.powerW);
}

/** How far the temperature at a cap lies above the limit at the confidence asked for, K, rounded up to 0.1 K. */
function excessAt(prepared: PreparedCap, fanSpeedRpm: number | undefined, powerCapW: number): number {
  const { binding } = prepared.thermalAt(fanSpeedRpm);
  const temperaturesC = new Float64Array(binding.count);
  binding.temperaturesAt(powerCapW, temperaturesC);
  const rank = binding.count - 1 - limitRank(binding.count, prepared.scenario.confidence);
  return roundedUp(orderStatistic(temperaturesC, rank) - prepared.meanLimitC);
}

/** A way out that no silicon and no room offers is none. */
function kelvinWaysOut(limitC: number, excessK: number): readonly string[] {
  if (!(excessK > 0 && excessK <= FARTHEST_WAY_OUT_K)) return [];
  const higherC = roundedUp(limitC + excessK);
  return [
    ...(higherC <= HIGHEST_LIMIT_C ? [`a limit of ${higherC} °C`] : []),
    `room air ${excessK.toFixed(1)} K cooler`,
  ];
}

/** A lowest cap that a bound allows, where one was asked for and the data reach so low. */
function lowerCap(prepared: PreparedCap, minCapW: number | undefined, boundW: number): readonly string[] {
  const { cooler, scenario } = prepared;
  const lowerW = stepDown(boundW, scenario.stepW);
  if (minCapW === undefined || !liesWithinReach(cooler, lowerW)) return [];
  return scenario.minThroughputPerS === undefined ? [`a lowest cap of ${lowerW} W`] : [];
}

/** Less confidence with which a cap holds the limit, where that alone is what fails. */
function lowerConfidence(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  lowestW: number,
): readonly string[] {
  const { scenario } = prepared;
  const { powersAtLimitW } = prepared.thermalAt(fanSpeedRpm);
  const holding =
    powersAtLimitW.reduce((sum, powerW) => (powerW >= lowestW ? sum + 1 : sum), 0) / powersAtLimitW.length;
  const confidence = Math.floor(100 * holding - 1e-9) / 100;
  const alone =
    lowestW <= boundBesideLimit(prepared, fanSpeedRpm).powerW && scenario.minThroughputPerS === undefined;
  return alone && confidence >= 0.01 && confidence < scenario.confidence
    ? [`a confidence of ${confidence}`]
    : [];
}

/** Work that a settable cap reaches with the confidence asked for, at its best voltage offset, per second. */
function reachedAt(prepared: PreparedCap, fanSpeedRpm: number | undefined, powerCapW: number): number {
  const offset = bestOffset(prepared, powerCapW, scoreAtSpeed(prepared, fanSpeedRpm));
  const setting = settingOf(powerCapW, fanSpeedRpm, offset);
  return throughputAtConfidence(prepared, setting, prepared.scenario.confidence) ?? 0;
}

/**
 * The lowest settable cap that reaches the least throughput, up to twice the one that does not; W. Step by step: far from
 * what was logged the uncertainty grows faster than the throughput, so that reaching it may end again.
 */
function capReaching(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  powerCapW: number,
): number | undefined {
  const { stepW, minThroughputPerS } = prepared.scenario;
  const stride = Math.max(1, Math.round(powerCapW / 200 / stepW)) * stepW;
  for (let capW = powerCapW + stride; capW <= 2 * powerCapW; capW += stride)
    if (reachedAt(prepared, fanSpeedRpm, capW) >= minThroughputPerS!) return Number(capW.toPrecision(12));
  return undefined;
}

/** To 0.1, never below. */
const roundedUp = (value: number): number => Math.ceil(value * 10 - 1e-9) / 10;

/** To three digits, never above. */
function roundedDown(value: number): number {
  if (!(value > 0)) return 0;
  const unit = 10 ** (Math.floor(Math.log10(value)) - 2);
  return Number((Math.floor(value / unit + 1e-9) * unit).toPrecision(3));
}

function listed(items: readonly string[]): string {
  return items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')}, or ${items.at(-1)}`;
}
