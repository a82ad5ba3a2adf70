import type { BestSetting } from '../setting/best-at-speed.js';
import { stateAt } from '../setting/operating-state.js';
import type { CapSetting, PreparedCap } from '../setting/prepared-cap.js';
import type { WorthOfOneMore } from './cap-choice.js';

/** Speeds this far apart tell the slope over fan speed. */
const SPEED_STEP_RPM = 20;

/**
 * What one more kelvin of the limit, kelvin of room air, watt of cap or budget, turn of the fan and millivolt of offset
 * is worth: in watts of cap, where the constraint it belongs to binds, and as a share of the objective.
 *
 * Slopes at the recommended setting, before the steps cut anything: d objective = ∂/∂cap · d cap + ∂/∂T · dT and so on.
 *
 * @param capPerLimitWPerK - what a kelvin of the limit adds to the cap where the temperature binds
 */
export function worthOfOneMore(
  prepared: PreparedCap,
  { setting, bindingConstraint }: BestSetting,
  capPerLimitWPerK: number,
): readonly WorthOfOneMore[] {
  const { scenario, knows } = prepared;
  const isHot = bindingConstraint === 'temperature';
  const known = knows.frequency;
  const perWatt = known ? logSlopeOverCap(prepared, setting) : undefined;
  const perKelvin = known ? logSlopeOverTemperature(prepared, setting) : undefined;
  const share = (change: number | undefined): Pick<WorthOfOneMore, 'objectiveChangeFraction'> =>
    change === undefined ? {} : { objectiveChangeFraction: change };
  const byCap = (capChangeW: number): number | undefined =>
    perWatt === undefined ? undefined : perWatt * capChangeW;
  const limitChangeW = isHot ? capPerLimitWPerK : 0;
  const budgetChangeW = bindingConstraint === 'supply' ? scenario.supply!.efficiencyFraction : 0;
  return [
    { of: 'limit', unit: 'K', capChangeW: limitChangeW, ...share(byCap(limitChangeW)) },
    {
      of: 'room-air',
      unit: 'K',
      capChangeW: 0 - limitChangeW,
      ...share(perWatt === undefined ? undefined : perKelvin! - perWatt * limitChangeW),
    },
    { of: 'cap', unit: 'W', capChangeW: 1, ...share(byCap(1)) },
    ...(scenario.supply?.budgetW === undefined
      ? []
      : [
          {
            of: 'supply-budget' as const,
            unit: 'W' as const,
            capChangeW: budgetChangeW,
            ...share(byCap(budgetChangeW)),
          },
        ]),
    ...(setting.fanSpeedRpm === undefined ? [] : [worthOfSpeed(prepared, setting, isHot, perWatt)]),
    ...(setting.voltageOffsetMv === undefined || !known ? [] : [worthOfOffset(prepared, setting)]),
  ];
}

/** d ln objective / d cap along the cooler's own line, 1/W. */
function logSlopeOverCap(prepared: PreparedCap, setting: CapSetting): number {
  const stepW = 0.01 * setting.powerCapW;
  const scoreAt = (powerCapW: number): number => stateAt(prepared, { ...setting, powerCapW }).score;
  return Math.log(scoreAt(setting.powerCapW + stepW) / scoreAt(setting.powerCapW - stepW)) / (2 * stepW);
}

/** d ln objective / dT at the same cap, 1/K: what leakage costs. */
function logSlopeOverTemperature(prepared: PreparedCap, setting: CapSetting): number {
  const scoreAt = (shiftK: number): number =>
    stateAt(prepared, setting, (draws, powerW) => draws.meanTemperatureC(powerW) + shiftK).score;
  return Math.log(scoreAt(1) / scoreAt(-1)) / 2;
}

function worthOfSpeed(
  prepared: PreparedCap,
  setting: CapSetting,
  isHot: boolean,
  perWatt: number | undefined,
): WorthOfOneMore {
  const fanSpeedRpm = setting.fanSpeedRpm!;
  const stepRpm = Math.min(SPEED_STEP_RPM, 0.1 * fanSpeedRpm);
  const faster = { ...setting, fanSpeedRpm: fanSpeedRpm + stepRpm };
  const slower = { ...setting, fanSpeedRpm: fanSpeedRpm - stepRpm };
  const limitSlope =
    (prepared.thermalAt(faster.fanSpeedRpm).limitCapW - prepared.thermalAt(slower.fanSpeedRpm).limitCapW) /
    (2 * stepRpm);
  const capChangeW = isHot && Number.isFinite(limitSlope) ? limitSlope : 0;
  return {
    of: 'fan-speed',
    unit: 'rpm',
    capChangeW,
    ...(perWatt === undefined
      ? {}
      : {
          objectiveChangeFraction:
            Math.log(stateAt(prepared, faster).score / stateAt(prepared, slower).score) / (2 * stepRpm) +
            perWatt * capChangeW,
        }),
  };
}

/** From the next shallower offset where there is one: a deeper one may be out of reach. */
function worthOfOffset(prepared: PreparedCap, setting: CapSetting): WorthOfOneMore {
  const { lowestMv, highestMv, stepMv } = prepared.scenario.voltageOffset!;
  const offset = setting.voltageOffsetMv!;
  const [deep, shallow] =
    offset + stepMv <= highestMv + 1e-9
      ? [offset, offset + stepMv]
      : [Math.max(lowestMv, offset - stepMv), offset];
  const scoreAt = (voltageOffsetMv: number): number =>
    stateAt(prepared, { ...setting, voltageOffsetMv }).score;
  return {
    of: 'voltage-offset',
    unit: 'mV',
    capChangeW: 0,
    objectiveChangeFraction:
      deep === shallow ? 0 : Math.log(scoreAt(deep) / scoreAt(shallow)) / (shallow - deep),
  };
}
