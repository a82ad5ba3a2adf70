import { NumericalError } from '../../errors.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import { orderStatistic } from '../../numerics/order-statistic.js';
import { limitRank } from '../draws/limit-cap.js';
import { bestOffset } from './best-at-speed.js';
import type { CapBound } from './binding-constraint.js';
import { fanPowerOf } from './fan-response.js';
import { scoreAtSpeed } from './operating-state.js';
import { percent } from './percent.js';
import { type PreparedCap, settingOf } from './prepared-cap.js';
import { throughputAtConfidence } from './setting-estimates.js';
import { stepDown } from './step-down.js';
import { supplyPower } from './supply-power.js';

/** Limits and rooms farther away than this are not suggested. */
const FARTHEST_WAY_OUT_K = 50;

/** No settable cap lies between the lowest of use and the highest allowed: why, by how much, and what would do. */
export function notFeasible(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  bound: CapBound,
): NumericalError {
  if (bound.constraint === 'temperature') return tooHot(prepared, fanSpeedRpm);
  if (bound.constraint === 'supply') return beyondSupply(prepared, fanSpeedRpm, bound.powerW);
  const { scenario, floorW, caller } = prepared;
  const range =
    bound.constraint === 'tested-range'
      ? `no cap of ${floorW} W or more, in steps of ${scenario.stepW} W, lies within the powers logged, at most ${formatNumber(bound.powerW)} W; give \`defaultCapW\` or \`maxCapW\` to consider higher ones, or log a run at a higher power`
      : `no multiple of the step of ${scenario.stepW} W lies between the lowest cap, ${floorW} W, and the highest, ${bound.powerW} W; give a finer \`stepW\``;
  return new NumericalError(`${caller}: ${range}`);
}

function tooHot(prepared: PreparedCap, fanSpeedRpm: number | undefined): NumericalError {
  const { cooler, scenario, floorW, caller } = prepared;
  const { powersAtLimitW, limitCapW } = prepared.thermalAt(fanSpeedRpm);
  const excessK = excessAt(prepared, fanSpeedRpm, floorW);
  const holding =
    powersAtLimitW.reduce((sum, powerW) => (powerW >= floorW ? sum + 1 : sum), 0) / powersAtLimitW.length;
  const largest =
    limitCapW > 0
      ? `the largest that does is ${limitCapW.toFixed(1)} W, ${(floorW - limitCapW).toFixed(1)} W short`
      : restingInWords(excessAt(prepared, fanSpeedRpm, 0));
  const { stepW, minCapW } = scenario;
  const waysOut = [
    ...kelvinWaysOut(scenario.limitC, excessK),
    ...(minCapW !== undefined && stepDown(limitCapW, stepW) > 0
      ? [`a lowest cap of ${stepDown(limitCapW, stepW)} W`]
      : []),
    ...(minCapW === undefined && limitCapW > 0
      ? [`a step of ${Number(Math.min(1, limitCapW / 10).toPrecision(1))} W`]
      : []),
    ...(holding >= 0.01 ? [`a confidence of ${Math.floor(holding * 100) / 100}`] : []),
    'a better cooler',
  ];
  return new NumericalError(
    `${caller}: no cap from ${floorW} W up holds ${scenario.limitC} °C with ${percent(scenario.confidence)} confidence on '${cooler.label}': ${largest}; ` +
      `nearest ways out, each alone: ${listed(waysOut)}`,
  );
}

function restingInWords(excessK: number): string {
  return excessK > 0
    ? `the air at the intake alone exceeds the limit, by ${excessK.toFixed(1)} K`
    : 'the air at the intake alone reaches the limit';
}

/** How far the temperature at a cap lies above the limit at the confidence asked for, rounded up to 0.1 K. */
function excessAt(prepared: PreparedCap, fanSpeedRpm: number | undefined, powerCapW: number): number {
  const { binding } = prepared.thermalAt(fanSpeedRpm);
  const temperaturesC = new Float64Array(binding.count);
  binding.temperaturesAt(powerCapW, temperaturesC);
  const rank = binding.count - 1 - limitRank(binding.count, prepared.scenario.confidence);
  return Math.ceil((orderStatistic(temperaturesC, rank) - prepared.meanLimitC) * 10 - 1e-9) / 10;
}

/** A way out that no silicon and no room offers is none. */
function kelvinWaysOut(limitC: number, excessK: number): readonly string[] {
  if (!(excessK > 0 && excessK <= FARTHEST_WAY_OUT_K)) return [];
  return [
    `a limit of ${Number((limitC + excessK).toFixed(1))} °C`,
    `room air ${excessK.toFixed(1)} K cooler`,
  ];
}

function beyondSupply(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  packageW: number,
): NumericalError {
  const { scenario, floorW, caller } = prepared;
  const supply = scenario.supply!;
  const fanW = fanPowerOf(scenario.fan, fanSpeedRpm);
  const neededW = supplyPower(supply, floorW + fanW);
  const rest = supply.restOfMachineW + fanW;
  const left =
    packageW > 0
      ? `leaves ${packageW.toFixed(1)} W for the package, ${(floorW - packageW).toFixed(1)} W short of the lowest cap of ${floorW} W`
      : `does not even feed the rest of the machine, ${formatNumber(rest)} W`;
  const lowerCapW = stepDown(packageW, scenario.stepW);
  const waysOut = [
    `a budget of ${Math.ceil(neededW)} W`,
    ...(lowerCapW > 0 ? [`a lowest cap of ${lowerCapW} W`] : []),
    ...(rest > 0 ? [`a rest of the machine of ${Math.max(0, rest - (floorW - packageW)).toFixed(1)} W`] : []),
  ];
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
  const offset = bestOffset(prepared, powerCapW, scoreAtSpeed(prepared, fanSpeedRpm));
  const reachedAt = (capW: number): number =>
    throughputAtConfidence(prepared, settingOf(capW, fanSpeedRpm, offset), confidence) ?? 0;
  const reached = reachedAt(powerCapW);
  const neededW = capReaching(reachedAt, wanted, powerCapW, scenario.stepW);
  const waysOut = [
    `a least throughput of ${Number(reached.toPrecision(3))} per second`,
    ...(neededW === undefined
      ? ['runs logged at higher caps, so that the throughput there is better known']
      : bound.constraint === 'temperature'
        ? kelvinWaysOut(scenario.limitC, excessAt(prepared, fanSpeedRpm, neededW))
        : bound.constraint === 'supply'
          ? [
              `a supply budget of ${Math.ceil(supplyPower(scenario.supply, neededW + fanPowerOf(scenario.fan, fanSpeedRpm)))} W`,
            ]
          : [`a highest cap of ${neededW} W, if its maker allows it`]),
  ];
  const bindsAs = {
    temperature: 'the temperature limit',
    supply: "the supply's budget",
    'max-cap': 'the highest cap',
    'default-cap': "the maker's default cap",
    'tested-range': 'the highest power logged',
  }[bound.constraint];
  return new NumericalError(
    `${caller}: the least throughput fails: ${bindsAs} allows ${powerCapW} W, which reaches ${Number(reached.toPrecision(3))} per second with ${percent(confidence)} confidence, ${Number((wanted - reached).toPrecision(2))} short of the ${wanted} asked for; ` +
      `nearest ways out, each alone: ${listed(waysOut)}`,
  );
}

/**
 * The lowest settable cap that reaches a throughput, up to twice the one that does not; W. Step by step: far from what was
 * logged the uncertainty grows faster than the throughput, so that reaching it may end again.
 */
function capReaching(
  reachedAt: (powerCapW: number) => number,
  wanted: number,
  powerCapW: number,
  stepW: number,
): number | undefined {
  const stride = Math.max(1, Math.round(powerCapW / 200 / stepW)) * stepW;
  for (let capW = powerCapW + stride; capW <= 2 * powerCapW; capW += stride)
    if (reachedAt(capW) >= wanted) return Number(capW.toPrecision(12));
  return undefined;
}

function listed(items: readonly string[]): string {
  return items.length < 2 ? items.join('') : `${items.slice(0, -1).join(', ')}, or ${items.at(-1)}`;
}
