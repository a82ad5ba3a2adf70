import { ArgumentError, requireNumber } from '../../errors.js';
import { NORMAL_95, studentTQuantile } from '../../numerics/distributions.js';
import { propagate } from '../../numerics/propagation.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { type FanCurve, soundLevelAtFanSpeed } from '../../thermal/fan-curve.js';
import type { SettledFan } from '../scenario/cap-scenario.js';

/** What a fan's speed does to the thermal resistance, against the speed a cooler was fitted at. */
export interface FanResponse {
  /** R(speed) / R(speed of the cooler's runs), and its relative standard error, stretched to Student's t. */
  at(fanSpeedRpm: number): { readonly ratio: number; readonly relativeStandardError: number };
  /** The ratio alone, for searches that ask at many speeds. */
  ratioAt(fanSpeedRpm: number): number;
}

/**
 * The ratio of two readings of R(n) = R∞ + a·(n/n₀)^(−b), with first-order propagation of the curve's covariance
 * [JCGM100, 5.2]: at the speed of the cooler's own runs it is 1 and certain.
 *
 * @throws ArgumentError where the cooler's speed is not known, or the curve is of another cooler
 */
export function fanResponse(cooler: CoolerModel, curve: FanCurve, caller: string): FanResponse {
  const ownRpm = cooler.fanSpeedRpm;
  if (ownRpm === undefined)
    throw new ArgumentError({
      caller,
      argument: 'cooler.fanSpeedRpm',
      expected: 'the fan speed of its runs, where the scenario gives a fan',
      received: ownRpm,
      remedy: 'log the fan speed, or give it as conditions: { fanSpeedRpm: … }, and fit the cooler again',
    });
  if (cooler.cooler !== undefined && curve.cooler !== undefined && cooler.cooler !== curve.cooler)
    throw new ArgumentError({
      caller,
      argument: 'scenario.fan.curve',
      expected: `the fan curve of '${cooler.cooler}'`,
      received: curve.cooler,
      remedy: 'fit one with fitFanCurve from models of this cooler',
    });
  for (const name of ['limitKPerW', 'convectionKPerW', 'fanSpeedExponent', 'degreesOfFreedom'] as const)
    requireNumber(
      curve[name],
      { caller, argument: `scenario.fan.curve.${name}`, remedy: 'make the curve with fitFanCurve' },
      { atLeast: 0 },
    );
  const stretch = studentTQuantile(0.975, curve.degreesOfFreedom) / NORMAL_95;
  const parameters = [curve.limitKPerW, curve.convectionKPerW, curve.fanSpeedExponent];
  const resistance = (rpm: number, p: ArrayLike<number>): number =>
    p[0] + p[1] * (rpm / curve.referenceFanSpeedRpm) ** -p[2];
  const ownKPerW = resistance(ownRpm, parameters);
  return {
    ratioAt: (fanSpeedRpm) => resistance(fanSpeedRpm, parameters) / ownKPerW,
    at(fanSpeedRpm) {
      const { value, standardError } = propagate(
        (p) => Math.log(resistance(fanSpeedRpm, p) / resistance(ownRpm, p)),
        parameters,
        curve.covariance.matrix,
      );
      return { ratio: Math.exp(value), relativeStandardError: stretch * standardError };
    },
  };
}

/** The multiples of the step within a fan's bounds, the slowest first; the highest bound where there is none. */
export function settableSpeeds({ lowestRpm, highestRpm, stepRpm }: SettledFan): readonly number[] {
  const speeds: number[] = [];
  for (let rpm = Math.ceil(lowestRpm / stepRpm - 1e-9) * stepRpm; rpm <= highestRpm + 1e-9; rpm += stepRpm)
    speeds.push(rpm);
  return speeds.length === 0 ? [highestRpm] : speeds;
}

/** Sound level at a speed, dB, where it is known at one. */
export function soundLevelOf(fan: SettledFan, fanSpeedRpm: number): number | undefined {
  return fan.sound === undefined ? undefined : soundLevelAtFanSpeed(fan.sound, fanSpeedRpm);
}

/** The fan's own power at a speed by the fan laws, W. */
export function fanPowerOf(fan: SettledFan | undefined, fanSpeedRpm: number | undefined): number {
  if (fan?.power === undefined || fanSpeedRpm === undefined) return 0;
  return fan.power.powerW * (fanSpeedRpm / fan.power.fanSpeedRpm) ** 3;
}
