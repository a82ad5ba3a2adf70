import { LOWEST_POWER_SHARE } from './convection.js';
import type { CoolerModel } from './cooler-model.js';
import { lagApartFrom } from './lag-apart.js';
import { requireStages } from './require-stages.js';

/** What a cooler model computes with: one set of plain numbers, the fitted ones or a draw from their uncertainty. */
export interface CoolerNumbers {
  /** Fastest first. */
  readonly timeConstantsS: readonly number[];
  readonly resistancesKPerW: readonly number[];
  readonly sensorLagS?: number;
  readonly powerExponent: number;
  readonly atPowerW: number;
}

/** The fitted numbers of a model with stages. */
export function coolerNumbers(model: CoolerModel, caller: string): CoolerNumbers {
  const { timeConstantsS, resistancesKPerW, sensorLagS } = requireStages(model, caller);
  const { powerExponent, atPowerW } = model.resistanceLaw;
  return {
    timeConstantsS,
    resistancesKPerW,
    ...(sensorLagS === undefined ? {} : { sensorLagS }),
    powerExponent,
    atPowerW,
  };
}

/**
 * Rise over the air where each stage has followed the power as far as `followedW` says, W: the model of
 * `simulateTemperature`, Σₖ rₖ xₖ + R (g(xₙ) − xₙ), sensor lag by partial fractions.
 *
 * @param followedW - what a unit-gain pole of a time constant, s, that started as stage k did, has made of the power
 */
export function riseOfStages(
  cooler: CoolerNumbers,
  followedW: (timeConstantS: number, stage: number) => number,
): number {
  const { timeConstantsS, resistancesKPerW, powerExponent, atPowerW } = cooler;
  const count = timeConstantsS.length;
  const lagS =
    cooler.sensorLagS === undefined ? undefined : lagApartFrom(cooler.sensorLagS, timeConstantsS, count);
  let riseK = 0;
  let totalKPerW = 0;
  let x = 0;
  for (let k = 0; k < count; k++) {
    const timeConstantS = timeConstantsS[k];
    x = followedW(timeConstantS, k);
    if (lagS !== undefined) {
      const share = timeConstantS / (timeConstantS - lagS);
      x = share * x + (1 - share) * followedW(lagS, k);
    }
    riseK += resistancesKPerW[k] * x;
    totalKPerW += resistancesKPerW[k];
  }
  if (powerExponent === 0) return riseK;
  return riseK + totalKPerW * x * (Math.max(x / atPowerW, LOWEST_POWER_SHARE) ** -powerExponent - 1);
}

/** Rise after `elapsedS` at a constant power, from stages that had followed `startPowersW`. */
export function riseAfter(
  cooler: CoolerNumbers,
  powerW: number,
  startPowersW: readonly number[],
  elapsedS: number,
): number {
  return riseOfStages(
    cooler,
    (timeConstantS, k) => powerW + (startPowersW[k] - powerW) * Math.exp(-elapsedS / timeConstantS),
  );
}

/** Rise once everything has settled at a power. */
export function steadyRise(cooler: CoolerNumbers, powerW: number): number {
  return riseOfStages(cooler, () => powerW);
}
