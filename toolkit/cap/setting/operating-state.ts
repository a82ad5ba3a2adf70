import { throughputOf } from '../../power/fit/throughput-relation.js';
import type { PowerCurve } from '../../power/power-curve.js';
import { frequencyFunction } from '../../power/predict/frequency-at.js';
import type { Load } from '../draws/load.js';
import type { TemperatureDraws } from '../draws/temperature-draws.js';
import { fanPowerOf, soundLevelOf } from './fan-response.js';
import { type Reached, scoreOf } from './objective.js';
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
  temperatureOf: (draws: TemperatureDraws, powerW: number) => number = meanTemperature,
): OperatingState {
  const { scenario, knows } = prepared;
  const { powerCapW, fanSpeedRpm, voltageOffsetMv } = setting;
  const { loads, binding } = prepared.thermalAt(fanSpeedRpm);
  const curves = prepared.curvesAt(voltageOffsetMv);
  const bindingC = temperatureOf(binding, powerCapW);
  let packagePowerW = 0;
  let frequencyMHz = 0;
  let throughputPerS = 0;
  loads.forEach((load, k) => {
    const powerW = drawnPower(load.demandW, powerCapW);
    packagePowerW += load.shareFraction * powerW;
    if (!knows.frequency || powerW === 0) return;
    const ownC = load.temperatures === binding ? bindingC : temperatureOf(load.temperatures, powerCapW);
    const curve = curves[k] ?? curves[0]!;
    const ownMHz = frequencyOf(curve, powerW, ownC, scenario.topFrequencyMHz);
    frequencyMHz += load.shareFraction * ownMHz;
    if (knows.throughput) throughputPerS += load.shareFraction * throughputOf(curve.throughput!, ownMHz);
  });
  const supplyPowerW = supplyPower(scenario.supply, packagePowerW + fanPowerOf(scenario.fan, fanSpeedRpm));
  const soundLevelDb =
    scenario.fan === undefined || fanSpeedRpm === undefined
      ? undefined
      : soundLevelOf(scenario.fan, fanSpeedRpm);
  const { workPerJobCount } = scenario;
  const state = {
    setting,
    temperatureC: bindingC,
    packagePowerW,
    supplyPowerW,
    ...(soundLevelDb === undefined ? {} : { soundLevelDb }),
    ...(knows.frequency ? { frequencyMHz } : {}),
    ...(knows.throughput ? { throughputPerS, workPerWh: (3600 * throughputPerS) / supplyPowerW } : {}),
    ...(knows.throughput && workPerJobCount !== undefined
      ? {
          jobRatePerH: (3600 * throughputPerS) / workPerJobCount,
          energyPerJobJ: (supplyPowerW * workPerJobCount) / throughputPerS,
        }
      : {}),
  };
  return { ...state, score: scoreOf(scenario.objective, state) ?? powerCapW };
}

function meanTemperature(draws: TemperatureDraws, powerW: number): number {
  return draws.meanTemperatureC(powerW);
}

/** Mean power and temperature of one load under a cap. */
export function operatingPoint(
  { temperatures, demandW }: Load,
  powerCapW: number,
): { readonly powerW: number; readonly temperatureC: number } {
  return { powerW: drawnPower(demandW, powerCapW), temperatureC: temperatures.meanTemperatureC(powerCapW) };
}

function drawnPower(demandW: Load['demandW'], powerCapW: number): number {
  if (demandW === undefined) return powerCapW;
  if (typeof demandW === 'number') return Math.min(demandW, powerCapW);
  let sum = 0;
  for (let i = 0; i < demandW.length; i++) sum += Math.min(demandW[i], powerCapW);
  return sum / demandW.length;
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
