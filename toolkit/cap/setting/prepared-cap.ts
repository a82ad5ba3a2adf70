import { ArgumentError, requireNumber } from '../../errors.js';
import type { PowerCurve } from '../../power/power-curve.js';
import { powerDependenceKnown } from '../../power/predict/frequency-at.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import type { FanCurve } from '../../thermal/fan-curve.js';
import { dutyTemperatures } from '../draws/duty-temperatures.js';
import {
  chanceOfPassing,
  type LimitCap,
  limitCap,
  powersAtLimit,
  roughLimitCap,
} from '../draws/limit-cap.js';
import type { Load } from '../draws/load.js';
import { atOtherFanSpeed, drawSteady, type SteadyDraws } from '../draws/steady-draws.js';
import { steadyTemperatures, type TemperatureDraws } from '../draws/temperature-draws.js';
import { hottestOf, upToDemand, upToPower } from '../draws/temperature-mixes.js';
import { demandAtFrequency, powerAtFrequency, type TabulatedPower } from '../draws/uncapped-demand.js';
import type { CapScenario, SettledScenario } from '../scenario/cap-scenario.js';
import { settleScenario } from '../scenario/settle-scenario.js';
import { highestPowerLogged } from './cap-reach.js';
import { curveAtOffset } from './curve-at-offset.js';
import { type FanResponse, fanResponse } from './fan-response.js';
import { settableOffsets } from './settable-offsets.js';

/** Everything that can be set. What the scenario does not give for choice is absent. */
export interface CapSetting {
  readonly powerCapW: number;
  readonly fanSpeedRpm?: number;
  readonly voltageOffsetMv?: number;
}

export function settingOf(
  powerCapW: number,
  fanSpeedRpm: number | undefined,
  voltageOffsetMv: number | undefined,
): CapSetting {
  return {
    powerCapW,
    ...(fanSpeedRpm === undefined ? {} : { fanSpeedRpm }),
    ...(voltageOffsetMv === undefined ? {} : { voltageOffsetMv }),
  };
}

/** The thermal side of a question at one fan speed. */
export interface ThermalCase {
  /** The draws of each load's cooler. */
  readonly steady: readonly SteadyDraws[];
  readonly loads: readonly Load[];
  /** What the limit applies to: the one load, the hottest of several, or the highest point of a cycle. */
  readonly binding: TemperatureDraws;
  /** Each draw's largest power at the limit, W, in the order of the draws; infinite where no cap is needed. */
  readonly powersAtLimitW: Float64Array;
  /** The largest cap that holds the limit with the confidence asked for, W; infinite where any does. */
  readonly limitCapW: number;
  /** Roughly the same, from the first draws alone, W. */
  readonly roughLimitCapW: number;
  /** Share of the draws that pass the limit at a cap. */
  chanceOfPassing(powerCapW: number): number;
}

/**
 * A question about caps, settled: what all answers at all caps are worked out from. This is the core that everything in
 * this folder stands on:
 *
 * - `prepareCap` checks the inputs and makes the draws, once;
 * - `bestSetting` finds the cap (with fan speed and voltage offset where these are free) and what binds;
 * - `stateAt` gives the point values at any setting in microseconds, `estimatesAt` their uncertainties, `spreadAt`
 *   the temperature's interval, `chanceOfPassing` the chance of passing the limit.
 *
 * Nothing in it changes the answer from call to call: what is kept is only not worked out twice.
 */
export interface PreparedCap {
  readonly caller: string;
  readonly cooler: CoolerModel;
  readonly curve: PowerCurve | undefined;
  readonly scenario: SettledScenario;
  /** Cooler and curve of each load; without several loads those of the call. */
  readonly coolers: readonly CoolerModel[];
  readonly ownCurves: readonly (PowerCurve | undefined)[];
  /** What the fan's speed does, where it is to be set. */
  readonly fanCurve: FanCurve | undefined;
  /** Limit on the mean temperature, degrees Celsius. */
  readonly meanLimitC: number;
  /** Highest cap to consider, W, and why. */
  readonly ceiling: {
    readonly powerW: number;
    readonly constraint: 'max-cap' | 'default-cap' | 'tested-range';
  };
  /** Lowest cap that is of use, W. */
  readonly floorW: number;
  /** Whether frequencies, and whether throughputs, are known at any cap. */
  readonly knows: { readonly frequency: boolean; readonly throughput: boolean };
  /** The thermal side at a fan speed; without one, that of the cooler's own runs. */
  thermalAt(fanSpeedRpm: number | undefined): ThermalCase;
  /** Mean resistance at a fan speed over that of the cooler's own runs; 1 where no fan is to be set. */
  resistanceRatioAt(fanSpeedRpm: number): number;
  /** The settable voltage offsets that are worth a try, the shallowest first. */
  readonly offsetsMv: readonly (number | undefined)[];
  /** The curve of each load at a voltage offset. */
  curvesAt(voltageOffsetMv: number | undefined): readonly (PowerCurve | undefined)[];
}

/** Whether a curve tells the throughput at any cap. */
export function knowsThroughput(curve: PowerCurve | undefined): boolean {
  return curve?.throughput !== undefined && powerDependenceKnown(curve);
}

/** Checks a question and makes its draws. */
export function prepareCap(
  cooler: CoolerModel,
  curve: PowerCurve | undefined,
  scenario: CapScenario,
  caller: string,
): PreparedCap {
  const workloads = Array.isArray(scenario?.workloads) ? scenario.workloads : undefined;
  const ownCurves = workloads?.map((load) => curveOf(load) ?? curve) ?? [curve];
  const coolers = workloads?.map((load) => load?.cooler ?? cooler) ?? [cooler];
  const knows = {
    frequency: ownCurves.every((own) => own !== undefined && powerDependenceKnown(own)),
    throughput: ownCurves.every(knowsThroughput),
  };
  const fanCurve = scenario?.fan?.curve ?? cooler.fanCurve;
  const settled = settleScenario(scenario, caller, { throughput: knows.throughput, fanCurve });
  if (settled.voltageOffset !== undefined) requireVoltages(ownCurves, settled.voltageOffset.lowestMv, caller);
  if (settled.limitAppliesTo === 'peak') requirePeaks(coolers, caller);
  const steady = drawSteady(coolers, settled, caller);
  const responses =
    scenario.fan === undefined ? undefined : coolers.map((own) => fanResponse(own, fanCurve!, caller));
  const peakK = Math.max(...coolers.map(({ noise }) => Math.max(0, noise.peakAboveMeanK)));
  const meanLimitC = settled.limitC - (settled.limitAppliesTo === 'peak' ? peakK : 0);
  const cases = new Map<number | undefined, ThermalCase>();
  const curves = new Map<number, readonly (PowerCurve | undefined)[]>();
  let topLaws: readonly TabulatedPower[] | undefined;
  return {
    caller,
    cooler,
    curve,
    scenario: settled,
    coolers,
    ownCurves,
    fanCurve: settled.fan === undefined ? undefined : fanCurve,
    meanLimitC,
    ceiling: ceilingOf(settled, highestPowerLogged(cooler, curve)),
    floorW: settled.minCapW ?? settled.stepW,
    knows,
    thermalAt(fanSpeedRpm) {
      const known = cases.get(fanSpeedRpm);
      if (known !== undefined) return known;
      topLaws ??= lawsAtTop(settled.topFrequencyMHz, ownCurves, caller);
      const made = thermalCase({
        settled,
        cooler,
        steady: atSpeed(steady, responses, fanSpeedRpm),
        topLaws,
        meanLimitC,
        caller,
      });
      cases.set(fanSpeedRpm, made);
      return made;
    },
    offsetsMv: settableOffsets(settled, ownCurves),
    resistanceRatioAt: (fanSpeedRpm) => responses?.[0]?.ratioAt(fanSpeedRpm) ?? 1,
    curvesAt(voltageOffsetMv = 0) {
      if (voltageOffsetMv === 0) return ownCurves;
      const known = curves.get(voltageOffsetMv);
      if (known !== undefined) return known;
      const made = ownCurves.map((own) => own && curveAtOffset(own, voltageOffsetMv));
      curves.set(voltageOffsetMv, made);
      return made;
    },
  };
}

function atSpeed(
  steady: readonly SteadyDraws[],
  responses: readonly FanResponse[] | undefined,
  fanSpeedRpm: number | undefined,
): readonly SteadyDraws[] {
  if (responses === undefined || fanSpeedRpm === undefined) return steady;
  const moved = new Map<SteadyDraws, SteadyDraws>(); // loads on one cooler share theirs
  return steady.map((draws, k) => {
    const known = moved.get(draws);
    if (known !== undefined) return known;
    const { ratio, relativeStandardError } = responses[k].at(fanSpeedRpm);
    const made = atOtherFanSpeed(draws, ratio, relativeStandardError);
    moved.set(draws, made);
    return made;
  });
}

/** What each load draws at the top frequency over temperature; nothing where no top frequency is given. */
function lawsAtTop(
  topFrequencyMHz: number | undefined,
  ownCurves: readonly (PowerCurve | undefined)[],
  caller: string,
): readonly TabulatedPower[] {
  if (topFrequencyMHz === undefined) return [];
  return ownCurves.map((own) =>
    powerAtFrequency(requireCurveFor(own, caller), topFrequencyMHz, {
      caller,
      argument: 'scenario.topFrequencyMHz',
    }),
  );
}

function thermalCase(what: {
  readonly settled: SettledScenario;
  readonly cooler: CoolerModel;
  readonly steady: readonly SteadyDraws[];
  readonly topLaws: readonly TabulatedPower[];
  readonly meanLimitC: number;
  readonly caller: string;
}): ThermalCase {
  const { settled, cooler, steady, topLaws, meanLimitC, caller } = what;
  const { loads, binding } =
    settled.dutyCycle === undefined
      ? lastingLoads(settled, steady, topLaws)
      : dutyTemperatures(cooler, steady[0], settled.dutyCycle, caller);
  let powersAtLimitW: Float64Array | undefined;
  let atLimit: LimitCap | undefined;
  let roughLimitCapW: number | undefined;
  const allAtLimit = (): Float64Array => {
    powersAtLimitW ??= powersAtLimit(binding, meanLimitC);
    return powersAtLimitW;
  };
  const solved = (): LimitCap => {
    atLimit ??= limitCap(binding, meanLimitC, settled.confidence);
    return atLimit;
  };
  return {
    steady,
    loads,
    binding,
    get powersAtLimitW() {
      return allAtLimit();
    },
    get limitCapW() {
      return solved().powerW;
    },
    get roughLimitCapW() {
      roughLimitCapW ??= roughLimitCap(binding, meanLimitC, settled.confidence);
      return roughLimitCapW;
    },
    chanceOfPassing(powerCapW) {
      const { solvedW, solvedToW } = solved();
      return powerCapW <= solvedToW
        ? chanceOfPassing(solvedW, powerCapW, binding.count)
        : chanceOfPassing(allAtLimit(), powerCapW);
    },
  };
}

/**
 * Loads that last until everything has settled: the hottest binds. What an uncapped load draws at its top frequency is
 * taken without a voltage offset, which is on the safe side.
 */
function lastingLoads(
  settled: SettledScenario,
  steady: readonly SteadyDraws[],
  topLaws: readonly TabulatedPower[],
): { readonly loads: readonly Load[]; readonly binding: TemperatureDraws } {
  const workloads = settled.workloads ?? [{ label: 'load', shareFraction: 1 }];
  const plains = new Map(steady.map((draws) => [draws, steadyTemperatures(draws)]));
  const loads = workloads.map(({ label, shareFraction, demandW }, k): Load => {
    const plain = plains.get(steady[k])!;
    const load = { label, shareFraction };
    if (settled.topFrequencyMHz !== undefined) {
      const demand = demandAtFrequency(steady[k], topLaws[k], demandW);
      return { ...load, temperatures: upToDemand(plain, demand), demand };
    }
    if (demandW === undefined) return { ...load, temperatures: plain };
    return { ...load, temperatures: upToPower(plain, demandW), demand: demandW };
  });
  if (loads.length === 1) return { loads, binding: loads[0].temperatures };
  // Beside a load on the same cooler that takes whatever the cap allows, one with a demand is never the hottest.
  const unlimited = new Set(steady.filter((_, k) => loads[k].demand === undefined));
  const hottest = loads.filter(({ demand }, k) => demand === undefined || !unlimited.has(steady[k]));
  return { loads, binding: hottestOf([...new Set(hottest.map(({ temperatures }) => temperatures))]) };
}

/** A load's own curve, as far as it is one: what else stands there is refused where the scenario is settled. */
function curveOf(load: { readonly curve?: PowerCurve } | null | undefined): PowerCurve | undefined {
  return load?.curve?.kind === 'power-curve' ? load.curve : undefined;
}

/** What an offset gives is worked out from the voltages of the curve, and told for the whole range beforehand. */
function requireVoltages(
  curves: readonly (PowerCurve | undefined)[],
  lowestMv: number,
  caller: string,
): void {
  for (const curve of curves) {
    if (curve?.voltage === undefined)
      throw new ArgumentError({
        caller,
        argument: 'scenario.voltageOffset',
        expected: 'left out where the power curve knows no core voltage',
        received: curve === undefined ? 'no curve' : curve.label,
        remedy:
          'log the core voltage in the runs, or give voltageV with steady points, and fit the curve again',
      });
    try {
      curveAtOffset(curve, lowestMv);
    } catch (failure) {
      if (!(failure instanceof ArgumentError)) throw failure;
      throw new ArgumentError({
        caller,
        argument: 'scenario.voltageOffset.lowestMv',
        expected: failure.expected,
        received: lowestMv,
        remedy: 'give the deepest offset that was shown to run stably, in millivolts',
      });
    }
  }
}

function requirePeaks(coolers: readonly CoolerModel[], caller: string): void {
  for (const { noise } of coolers)
    requireNumber(noise.peakAboveMeanK, {
      caller,
      argument: 'cooler.noise.peakAboveMeanK',
      remedy: "make the cooler with fitCooler from whole logs, or give limitAppliesTo: 'mean'",
    });
}

function requireCurveFor(curve: PowerCurve | undefined, caller: string): PowerCurve {
  if (curve !== undefined) return curve;
  throw new ArgumentError({
    caller,
    argument: 'curve',
    expected: 'a power curve, where the scenario gives topFrequencyMHz',
    received: curve,
    remedy: 'fit one with fitPowerCurve, or leave the top frequency out',
  });
}

function ceilingOf(
  { maxCapW, defaultCapW }: SettledScenario,
  highestLoggedW: number,
): PreparedCap['ceiling'] {
  if (maxCapW === undefined && defaultCapW === undefined)
    return { powerW: highestLoggedW, constraint: 'tested-range' };
  return {
    powerW: maxCapW ?? defaultCapW!,
    constraint: maxCapW === undefined || maxCapW === defaultCapW ? 'default-cap' : 'max-cap',
  };
}
