import { mostPowerRatio } from '../draws/steady-draws.js';
import type { CapBound } from './binding-constraint.js';
import { fanPowerOf } from './fan-response.js';
import type { PreparedCap } from './prepared-cap.js';
import { packagePowerWithin } from './supply-power.js';

/** The highest cap allowed at a fan speed, before the step cuts it, and what sets it. */
export function capBound(prepared: PreparedCap, fanSpeedRpm: number | undefined): CapBound {
  const { limitCapW } = prepared.thermalAt(fanSpeedRpm);
  const bound = boundBesideLimit(prepared, fanSpeedRpm);
  return limitCapW <= bound.powerW ? { powerW: limitCapW, constraint: 'temperature' } : bound;
}

/** The same where the temperature is left out. */
export function boundBesideLimit(
  { scenario, ceiling }: PreparedCap,
  fanSpeedRpm: number | undefined,
): CapBound {
  const suppliedW = packagePowerWithin(scenario.supply, fanPowerOf(scenario.fan, fanSpeedRpm));
  return suppliedW <= ceiling.powerW ? { powerW: suppliedW, constraint: 'supply' } : ceiling;
}

/** What the limit allows at most at a slower fan speed, from what it allows at a faster one, W. */
export function mostLimitCap(prepared: PreparedCap, fasterRpm: number, slowerRpm: number): number {
  const faster = prepared.thermalAt(fasterRpm);
  if (prepared.scenario.dutyCycle !== undefined) return faster.limitCapW;
  const slower = prepared.thermalAt(slowerRpm);
  return (
    faster.limitCapW * Math.max(...faster.steady.map((draws, k) => mostPowerRatio(draws, slower.steady[k])))
  );
}

/** The largest cap at the limit to be expected at other speeds, from that at one and the fan's mean response, W. */
export function expectedLimitCap(
  prepared: PreparedCap,
  knownRpm: number,
  knownLimitCapW: number,
): (fanSpeedRpm: number) => number {
  const order = 1 / (1 - prepared.cooler.resistanceLaw.powerExponent);
  const knownRatio = prepared.resistanceRatioAt(knownRpm);
  return (fanSpeedRpm) => knownLimitCapW * (knownRatio / prepared.resistanceRatioAt(fanSpeedRpm)) ** order;
}
