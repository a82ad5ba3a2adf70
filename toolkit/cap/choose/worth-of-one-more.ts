import type { BestSetting } from '../setting/best-at-speed.js';
import { stateAt } from '../setting/operating-state.js';
import type { CapSetting, PreparedCap } from '../setting/prepared-cap.js';
import { throughputAtConfidence } from '../setting/setting-estimates.js';
import type { WorthOfOneMore } from './cap-choice.js';

/** Speeds this far apart tell the slope over fan speed. */
const SPEED_STEP_RPM = 20;
/** Caps this share apart tell the slope over the cap. */
const CAP_STEP_RATIO = 0.01;

/**
 * What one more kelvin of the limit, kelvin of room air, watt of cap or budget, turn of the fan and millivolt of offset
 * is worth: in watts of cap, where the constraint it belongs to binds, and as a share of the objective.
 *
 * Slopes at the recommended setting, before the steps cut anything: d objective = ∂/∂cap · d cap + ∂/∂T · dT and so on; what
 * else is set stays as it is. Where the objective itself keeps the cap, its slope over the cap is 0 and a moved best cap adds
 * nothing.
 *
 * @param capPerLimitWPerK - what a kelvin of the limit adds to the cap where the temperature binds
 */
export function worthOfOneMore(
  prepared: PreparedCap,
  { setting, bindingConstraint }: BestSetting,
  capPerLimitWPerK: number,
): readonly WorthOfOneMore[] {
  const { scenario, knows } = prepared;
  const known = knows.frequency;
  const perWatt = known ? logSlopeOverCap(prepared, setting) : undefined;
  const perKelvin = known ? logSlopeOverTemperature(prepared, setting) : undefined;
  const limitChangeW = bindingConstraint === 'temperature' ? capPerLimitWPerK : 0;
  const needs = bindingConstraint === 'min-throughput' ? neededFor(prepared, setting) : undefined;
  const budgetChangeW = bindingConstraint === 'supply' ? scenario.supply!.efficiencyFraction : 0;
  /** The cap's change, and what the objective changes by itself and with the cap. */
  const changes = (capChangeW: number, atSameCap = 0): Omit<WorthOfOneMore, 'of' | 'unit'> =>
    perWatt === undefined
      ? { capChangeW }
      : { capChangeW, objectiveChangeFraction: atSameCap + perWatt * capChangeW };
  const roomChangeW = needs?.perKelvinW ?? 0 - limitChangeW;
  const speed = setting.fanSpeedRpm === undefined ? undefined : speedsAround(setting.fanSpeedRpm);
  const offset =
    setting.voltageOffsetMv === undefined || !known ? undefined : offsetsAround(prepared, setting);
  return [
    { of: 'limit', unit: 'K', ...changes(limitChangeW) },
    { of: 'room-air', unit: 'K', ...changes(roomChangeW, perKelvin) },
    { of: 'cap', unit: 'W', ...changes(1) },
    ...(scenario.supply?.budgetW === undefined
      ? []
      : [{ of: 'supply-budget' as const, unit: 'W' as const, ...changes(budgetChangeW) }]),
    ...(speed === undefined
      ? []
      : [
          {
            of: 'fan-speed' as const,
            unit: 'rpm' as const,
            ...changes(
              needs?.per(speed) ??
                (bindingConstraint === 'temperature' ? limitSlopeOver(prepared, speed) : 0),
              known ? logSlopeOver(prepared, setting, speed) : undefined,
            ),
          },
        ]),
    ...(offset === undefined
      ? []
      : [
          {
            of: 'voltage-offset' as const,
            unit: 'mV' as const,
            ...changes(needs?.per(offset) ?? 0, logSlopeOver(prepared, setting, offset)),
          },
        ]),
  ];
}

/** A setting with a little more of something and one with a little less, and how many units lie between. */
interface Around {
  readonly more: Partial<CapSetting>;
  readonly less: Partial<CapSetting>;
  readonly units: number;
}

function speedsAround(fanSpeedRpm: number): Around {
  const stepRpm = Math.min(SPEED_STEP_RPM, 0.1 * fanSpeedRpm);
  return {
    more: { fanSpeedRpm: fanSpeedRpm + stepRpm },
    less: { fanSpeedRpm: fanSpeedRpm - stepRpm },
    units: 2 * stepRpm,
  };
}

/** From the next shallower offset where there is one: a deeper one may be out of reach. */
function offsetsAround(prepared: PreparedCap, setting: CapSetting): Around {
  const { lowestMv, highestMv, stepMv } = prepared.scenario.voltageOffset!;
  const offset = setting.voltageOffsetMv!;
  const [deep, shallow] =
    offset + stepMv <= highestMv + 1e-9
      ? [offset, offset + stepMv]
      : [Math.max(lowestMv, offset - stepMv), offset];
  return { more: { voltageOffsetMv: deep }, less: { voltageOffsetMv: shallow }, units: shallow - deep };
}

/** d ln objective per unit at the same cap. */
function logSlopeOver(prepared: PreparedCap, setting: CapSetting, { more, less, units }: Around): number {
  const scoreAt = (change: Partial<CapSetting>): number => stateAt(prepared, { ...setting, ...change }).score;
  return units === 0 ? 0 : Math.log(scoreAt(more) / scoreAt(less)) / units;
}

/** What a turn adds to the largest cap at the limit, W. */
function limitSlopeOver(prepared: PreparedCap, { more, less, units }: Around): number {
  const limitCapAt = ({ fanSpeedRpm }: Partial<CapSetting>): number =>
    prepared.thermalAt(fanSpeedRpm).limitCapW;
  const slope = (limitCapAt(more) - limitCapAt(less)) / units;
  return Number.isFinite(slope) ? slope : 0;
}

/**
 * How the lowest cap that reaches the least throughput moves, W: by as much as makes up for what the throughput loses at
 * the same cap, d cap = −(∂y/∂x)/(∂y/∂cap), y what it reaches with the confidence asked for.
 */
function neededFor(
  prepared: PreparedCap,
  setting: CapSetting,
): { readonly perKelvinW: number; per(around: Around): number } {
  const { confidence } = prepared.scenario;
  const reached = (change: Partial<CapSetting>, warmerK?: number): number =>
    throughputAtConfidence(prepared, { ...setting, ...change }, confidence, warmerK) ?? Number.NaN;
  const stepW = CAP_STEP_RATIO * setting.powerCapW;
  const perCap =
    (reached({ powerCapW: setting.powerCapW + stepW }) - reached({ powerCapW: setting.powerCapW - stepW })) /
    (2 * stepW);
  const needed = (change: number): number => {
    const neededW = 0 - change / perCap;
    return perCap > 0 && Number.isFinite(neededW) ? neededW : 0;
  };
  return {
    perKelvinW: needed((reached({}, 1) - reached({}, -1)) / 2),
    per: ({ more, less, units }) => (units === 0 ? 0 : needed((reached(more) - reached(less)) / units)),
  };
}

/** d ln objective / d cap along the cooler's own line, 1/W. */
function logSlopeOverCap(prepared: PreparedCap, setting: CapSetting): number {
  const stepW = CAP_STEP_RATIO * setting.powerCapW;
  const scoreAt = (powerCapW: number): number => stateAt(prepared, { ...setting, powerCapW }).score;
  return Math.log(scoreAt(setting.powerCapW + stepW) / scoreAt(setting.powerCapW - stepW)) / (2 * stepW);
}

/** d ln objective / dT at the same cap, 1/K: what leakage costs. */
function logSlopeOverTemperature(prepared: PreparedCap, setting: CapSetting): number {
  const scoreAt = (shiftK: number): number =>
    stateAt(prepared, setting, (draws, powerW) => draws.meanTemperatureC(powerW) + shiftK).score;
  return Math.log(scoreAt(1) / scoreAt(-1)) / 2;
}
