import { throughputOf } from '../../power/fit/throughput-relation.js';
import type { PowerCurve } from '../../power/power-curve.js';
import { frequencyFunction } from '../../power/predict/frequency-at.js';
import type { Load } from '../draws/load.js';
import type { TemperatureDraws } from '../draws/temperature-draws.js';
import { fanPowerOf, soundLevelOf } from './fan-response.js';
import { energyPerJobJ, jobRatePerH, type Reached, scoreOf, workPerWh } from './objective.js';
import type { CapSetting, PreparedCap } from './prepared-cap.js';
import { supplyPower } from './supply-power.js';

/** Point values at one setting, all at the mean of the draws. What the models do not tell is absent. */
export interface OperatingState extends Reached {
  readonly setting: CapSetting;
  /** Mean temperature of what the limit applies to, degrees Celsius. */
  readonly temperatureC: number;
  /** Mean power of the package over the loads, W: the cap, or less where it does not bind. */
  readonly packagePowerW: number;
  /** Drawn at the supply's input, W; of the package alone where no supply is described. */
  readonly supplyPowerW: number;
  readonly soundLevelDb?: number;
  /** The objective so that more is better; the cap itself where no curve tells more. */
  readonly score: number;
}

/**
 * What everything comes to at a setting; a few microseconds, for searches, frontiers and pages that drag.
 *
 * @param temperatureOf - how warm draws are at a power: their mean, or what the same setting would come to with another
 */
export function stateAt(
  prepared: PreparedCap,
  setting: CapSetting,
  temperatureOf: TemperatureOf = meanOf,
): OperatingState {
  const { scenario, knows } = prepared;
  const { powerCapW, fanSpeedRpm, voltageOffsetMv } = setting;
  const { loads, binding } = prepared.thermalAt(fanSpeedRpm);
  const bindingC = temperatureOf(binding, powerCapW);
  const reached = reachedBy(prepared, loads, powerCapW, voltageOffsetMv, temperatureOf);
  const { packagePowerW, frequencyMHz, throughputPerS } = reached;
  const supplyPowerW = supplyPower(scenario.supply, packagePowerW + fanPowerOf(scenario.fan, fanSpeedRpm));
  const soundLevelDb =
    scenario.fan === undefined || fanSpeedRpm === undefined
      ? undefined
      : soundLevelOf(scenario.fan, fanSpeedRpm);
  const { workPerJobCount } = scenario;
  return {
    setting,
    temperatureC: bindingC,
    packagePowerW,
    supplyPowerW,
    ...(soundLevelDb === undefined ? {} : { soundLevelDb }),
    ...(knows.frequency ? { frequencyMHz } : {}),
    ...(knows.throughput ? { throughputPerS, workPerWh: workPerWh(throughputPerS, supplyPowerW) } : {}),
    ...(knows.throughput && workPerJobCount !== undefined
      ? {
          jobRatePerH: jobRatePerH(throughputPerS, workPerJobCount),
          energyPerJobJ: energyPerJobJ(throughputPerS, workPerJobCount, supplyPowerW),
        }
      : {}),
    score: scoreFrom(prepared, reached, supplyPowerW, powerCapW),
  };
}

/** The score over cap and voltage offset at one fan speed. */
export type ScoreAt = (powerCapW: number, voltageOffsetMv: number | undefined) => number;

/** The score of `stateAt` over cap and offset at one fan speed, for searches that ask for nothing else. */
export function scoreAtSpeed(prepared: PreparedCap, fanSpeedRpm: number | undefined): ScoreAt {
  return scoreBy(prepared, fanSpeedRpm, fanSpeedRpm, meanOf);
}

/**
 * What that score is not above, nearly so itself: from the least means of the temperature, which take no pass over the
 * draws.
 *
 * @param fanOfRpm - the speed whose power the fan takes: slower ones take less
 */
export function mostScoreAtSpeed(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  fanOfRpm: number | undefined = fanSpeedRpm,
): ScoreAt {
  return scoreBy(prepared, fanSpeedRpm, fanOfRpm, leastMeanOf);
}

function scoreBy(
  prepared: PreparedCap,
  fanSpeedRpm: number | undefined,
  fanOfRpm: number | undefined,
  temperatureOf: TemperatureOf,
): ScoreAt {
  const { scenario } = prepared;
  const { loads } = prepared.thermalAt(fanSpeedRpm);
  const fanPowerW = fanPowerOf(scenario.fan, fanOfRpm);
  return (powerCapW, voltageOffsetMv) => {
    const reached = reachedBy(prepared, loads, powerCapW, voltageOffsetMv, temperatureOf);
    const supplyPowerW = supplyPower(scenario.supply, reached.packagePowerW + fanPowerW);
    return scoreFrom(prepared, reached, supplyPowerW, powerCapW);
  };
}

/** How warm draws are at a power, degrees Celsius. */
type TemperatureOf = (draws: TemperatureDraws, powerW: number) => number;

const meanOf: TemperatureOf = (draws, powerW) => draws.meanTemperatureC(powerW);
const leastMeanOf: TemperatureOf = (draws, powerW) => draws.leastMeanC(powerW);

/** Means over the loads by their shares of the time; 0 where no curve tells them. */
interface ReachedByLoads {
  readonly packagePowerW: number;
  readonly frequencyMHz: number;
  readonly throughputPerS: number;
}

function reachedBy(
  { scenario, knows, curvesAt }: PreparedCap,
  loads: readonly Load[],
  powerCapW: number,
  voltageOffsetMv: number | undefined,
  temperatureOf: TemperatureOf,
): ReachedByLoads {
  const curves = curvesAt(voltageOffsetMv);
  let packagePowerW = 0;
  let frequencyMHz = 0;
  let throughputPerS = 0;
  for (let k = 0; k < loads.length; k++) {
    const load = loads[k];
    const powerW = drawnPower(load, powerCapW);
    packagePowerW += load.shareFraction * powerW;
    if (!knows.frequency || powerW === 0) continue;
    const curve = curves[k] ?? curves[0]!;
    const ownC = temperatureOf(load.temperatures, powerCapW);
    const ownMHz = frequencyOf(curve, powerW, ownC, scenario.topFrequencyMHz);
    frequencyMHz += load.shareFraction * ownMHz;
    if (knows.throughput) throughputPerS += load.shareFraction * throughputOf(curve.throughput!, ownMHz);
  }
  return { packagePowerW, frequencyMHz, throughputPerS };
}

/** The objective so that more is better; the cap itself where no curve tells more. */
function scoreFrom(
  { scenario, knows }: PreparedCap,
  reached: ReachedByLoads,
  supplyPowerW: number,
  powerCapW: number,
): number {
  const { objective, workPerJobCount } = scenario;
  const known = objective === 'frequency' ? knows.frequency : knows.throughput;
  return known ? scoreOf(objective, reached, supplyPowerW, workPerJobCount) : powerCapW;
}

/** Mean power and temperature of one load under a cap. */
export function operatingPoint(
  load: Load,
  powerCapW: number,
): { readonly powerW: number; readonly temperatureC: number } {
  return {
    powerW: drawnPower(load, powerCapW),
    temperatureC: load.temperatures.meanTemperatureC(powerCapW),
  };
}

/** How much of a cap a load draws in the mean, W. */
function drawnPower({ demand }: Load, powerCapW: number): number {
  if (demand === undefined) return powerCapW;
  if (typeof demand === 'number') return Math.min(demand, powerCapW);
  if (powerCapW < demand.atLeastW || powerCapW <= demand.rangeW[0]) return powerCapW;
  const { powersW } = demand;
  let sum = 0;
  for (let i = 0; i < powersW.length; i++) sum += Math.min(powersW[i], powerCapW);
  return sum / powersW.length;
}

/** Looking a curve up costs as much as reading it, and it never changes. */
const frequencyFunctions = new WeakMap<PowerCurve, (powerW: number, temperatureC: number) => number>();

function frequencyOf(
  curve: PowerCurve,
  powerW: number,
  temperatureC: number,
  topFrequencyMHz: number | undefined,
): number {
  let frequency = frequencyFunctions.get(curve);
  if (frequency === undefined) {
    frequency = frequencyFunction(curve);
    frequencyFunctions.set(curve, frequency);
  }
  const frequencyMHz = frequency(powerW, temperatureC);
  return topFrequencyMHz === undefined ? frequencyMHz : Math.min(topFrequencyMHz, frequencyMHz);
}
