import { ArgumentError, type KnownNames, requireNumber } from '../../errors.js';
import type { CoolerModel, EnclosureRise } from '../cooler-model.js';
import { enclosureRiseK, requireEnclosureNames } from '../steady-temperature.js';

/** The limit and the air of a question about bursts. */
export interface BurstLimit {
  /** Temperature not to be passed, degrees Celsius. */
  readonly limitC: number;
  /**
   * Whether the limit is for the mean temperature, or for its peaks, which stand above the mean by
   * `noise.peakAboveMeanK` of the model. Default `mean`.
   */
  readonly limitAppliesTo?: 'mean' | 'peak';
  /** Air of the room, degrees Celsius. */
  readonly ambientC: number;
  /** What the enclosure adds to the intake air; default: open bench. */
  readonly enclosure?: EnclosureRise;
}

export const BURST_LIMIT_NAMES: KnownNames<BurstLimit> = {
  limitC: true,
  limitAppliesTo: true,
  ambientC: true,
  enclosure: true,
};

/** Within this share beyond the tested powers an answer still counts as tested. */
const TESTED_MARGIN = 0.02;

/** A checked limit and air. */
export interface Headroom {
  /** What the mean temperature may be, degrees Celsius. */
  readonly limitOfMeanC: number;
  /** How far the die may rise over the intake air when the enclosure has warmed for a power, K. */
  readonly headroomAt: (powerW: number) => number;
}

/** Checks limit and air, with the enclosure warmed for `powerW`. */
export function requireHeadroom(
  model: CoolerModel,
  scenario: BurstLimit,
  caller: string,
  powerW: number,
): Headroom {
  const { limitC, limitAppliesTo = 'mean', ambientC, enclosure } = scenario;
  requireEnclosureNames(enclosure, caller);
  requireNumber(limitC, { caller, argument: 'scenario.limitC' });
  requireNumber(ambientC, { caller, argument: 'scenario.ambientC' }, { above: -273.15 });
  if (limitAppliesTo !== 'mean' && limitAppliesTo !== 'peak') {
    throw new ArgumentError({
      caller,
      argument: 'scenario.limitAppliesTo',
      expected: "'mean' or 'peak'",
      received: limitAppliesTo,
    });
  }
  const peakK = limitAppliesTo === 'peak' ? model.noise.peakAboveMeanK : 0;
  const limitOfMeanC = limitC - peakK;
  const headroomAt = (power: number): number =>
    limitOfMeanC - ambientC - (enclosure === undefined ? 0 : enclosureRiseK(enclosure, power, caller));
  const headroomK = headroomAt(powerW);
  if (headroomK > 0) return { limitOfMeanC, headroomAt };
  const lowestC = (limitC - headroomK).toFixed(1);
  throw new ArgumentError({
    caller,
    argument: 'scenario.limitC',
    expected: `above ${lowestC} °C, the intake air${peakK > 0 ? ' and the peaks' : ''}`,
    received: limitC,
    remedy: 'give the temperature that the processor may reach',
  });
}

/** The earlier power of each stage. */
export function startPowersOf(
  startPowerW: number | readonly number[],
  stageCount: number,
  caller: string,
): readonly number[] {
  const list: readonly number[] =
    typeof startPowerW === 'number' ? new Array<number>(stageCount).fill(startPowerW) : startPowerW;
  if (list.length !== stageCount) {
    throw new ArgumentError({
      caller,
      argument: 'scenario.startPowerW',
      expected: `one number or ${stageCount} of them, one a stage`,
      received: startPowerW,
    });
  }
  list.forEach((power, k) => {
    const argument = typeof startPowerW === 'number' ? 'scenario.startPowerW' : `scenario.startPowerW[${k}]`;
    requireNumber(power, { caller, argument }, { atLeast: 0 });
  });
  return list;
}

/** Whether a power lies outside those the model was fitted from. */
export function isExtrapolated(model: CoolerModel, powerW: number): boolean {
  const [low, high] = model.testedRange.powerW;
  return powerW < low * (1 - TESTED_MARGIN) || powerW > high * (1 + TESTED_MARGIN);
}

/** Checks a confidence. */
export function requireConfidence(confidence: number, caller: string): void {
  requireNumber(confidence, { caller, argument: 'scenario.confidence' }, { atLeast: 0.5, atMost: 0.99 });
}
