import { type KnownNames, requireKnownNames, requireNumber } from '../errors.js';
import type { Estimate } from '../numerics/estimate.js';
import { estimated, inUnit } from '../numerics/estimates.js';
import type { CoolerModel, EnclosureRise } from './cooler-model.js';
import { fanResistance } from './fan-law.js';
import { requireFanCurve, requireFanSpeed } from './require-fan-curve.js';
import { requireModel } from './require-model.js';

/** Where a steady temperature is asked for. */
export interface SteadyScenario {
  /** Package power, W. */
  readonly powerW: number;
  /** Air of the room, degrees Celsius. */
  readonly ambientC: number;
  /** What the enclosure adds to the intake air; default: open bench. */
  readonly enclosure?: EnclosureRise;
  /** Fan speed, revolutions per minute, for a model with a `fanCurve`; default: the speed the model is stated at. */
  readonly fanSpeedRpm?: number;
}

const SCENARIO_NAMES: KnownNames<SteadyScenario> = {
  powerW: true,
  ambientC: true,
  enclosure: true,
  fanSpeedRpm: true,
};

export const ENCLOSURE_RISE_NAMES: KnownNames<EnclosureRise> = { riseK: true, atPowerW: true };

/** Within this share beyond the tested powers an answer still counts as tested. */
const TESTED_MARGIN = 0.02;

/**
 * Thermal resistance from die to intake air at a given power, K/W: R(P) = R₀ (P / P₀)^(−q), with first-order
 * propagation of the uncertainties of R₀ and q and their correlation [JCGM100]. Where the model knows how it goes with
 * the fan speed, R₀ is R∞ + a (n / n₀)^(−b) at the speed asked for.
 *
 * @param model - from `fitCooler` or `coolerFromSteadyPoints`
 * @param powerW - package power, W, > 0
 * @param options - fanSpeedRpm: for a model with a `fanCurve`; default: the speed the model is stated at
 * @throws ArgumentError if the power or the fan speed is not positive, or the model has no fan curve to ask
 * @example
 * const model = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 64, ambientC: 24 }]);
 * requireValue(resistanceAt(model, 80)); // => 0.5
 */
export function resistanceAt(
  model: CoolerModel,
  powerW: number,
  options: { readonly fanSpeedRpm?: number } = {},
): Estimate {
  const caller = 'resistanceAt';
  requireModel(model, caller);
  requireNumber(powerW, { caller, argument: 'powerW' }, { above: 0 });
  requireKnownNames(options, FAN_OPTION_NAMES, { caller, argument: 'options' });
  return inUnit(resistanceEstimate(model, powerW, options), 'K/W');
}

/** `resistanceAt` for fields whose names say the unit. */
export function resistanceEstimate(
  model: CoolerModel,
  powerW: number,
  options: { readonly fanSpeedRpm?: number } = {},
): Estimate {
  const law = model.resistanceLaw;
  const stated = atFanSpeed(model, options.fanSpeedRpm, 'resistanceAt', 'options.fanSpeedRpm');
  const logRatio = Math.log(powerW / law.atPowerW);
  const share = Math.exp(-law.powerExponent * logRatio);
  const value = stated.value * share;
  const fromResistance = share * stated.standardError;
  const fromExponent = -value * logRatio * law.exponentStandardError;
  const variance =
    fromResistance ** 2 + fromExponent ** 2 + 2 * law.correlation * fromResistance * fromExponent;
  const [low, high] = model.testedRange.powerW;
  return estimated(value, Math.sqrt(Math.max(0, variance)), {
    degreesOfFreedom: law.degreesOfFreedom,
    extrapolated:
      stated.extrapolated || powerW < low * (1 - TESTED_MARGIN) || powerW > high * (1 + TESTED_MARGIN),
  });
}

const FAN_OPTION_NAMES: KnownNames<{ readonly fanSpeedRpm?: number }> = { fanSpeedRpm: true };

/** The resistance at the power the model is stated at, K/W, and a fan speed. */
function atFanSpeed(
  model: CoolerModel,
  fanSpeedRpm: number | undefined,
  caller: string,
  argument: string,
): { readonly value: number; readonly standardError: number; readonly extrapolated: boolean } {
  const { thermalResistanceKPerW: value, resistanceStandardErrorKPerW: standardError } = model.resistanceLaw;
  if (fanSpeedRpm === undefined) return { value, standardError, extrapolated: false };
  return fanResistance(
    requireFanCurve(model, caller, argument),
    requireFanSpeed(fanSpeedRpm, caller, argument),
  );
}

/**
 * Die temperature once everything has settled: T = T_air + rise of the enclosure + P · R(P).
 *
 * The interval carries the uncertainty of the model; room and enclosure are taken as given (see `chooseCap` for
 * uncertain ones).
 *
 * @param model - from `fitCooler` or `coolerFromSteadyPoints`
 * @param scenario - power, room, enclosure; see `SteadyScenario`
 * @returns degrees Celsius; `extrapolated` where the power was not logged
 * @throws ArgumentError if the power is not positive, a temperature is not a number, or a fan speed is asked of a model
 * without a fan curve
 * @example
 * const model = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 64, ambientC: 24 }]);
 * requireValue(steadyTemperature(model, { powerW: 80, ambientC: 20, enclosure: { riseK: 8 } })); // => 68
 */
export function steadyTemperature(model: CoolerModel, scenario: SteadyScenario): Estimate {
  const caller = 'steadyTemperature';
  requireModel(model, caller);
  requireKnownNames(scenario, SCENARIO_NAMES, { caller, argument: 'scenario' });
  const { powerW, ambientC, enclosure, fanSpeedRpm } = scenario;
  requireEnclosureNames(enclosure, caller);
  requireNumber(powerW, { caller, argument: 'scenario.powerW' }, { above: 0 });
  requireNumber(ambientC, { caller, argument: 'scenario.ambientC' }, { above: -273.15 });
  if (fanSpeedRpm !== undefined) {
    requireFanCurve(model, caller, 'scenario.fanSpeedRpm');
    requireFanSpeed(fanSpeedRpm, caller, 'scenario.fanSpeedRpm');
  }
  const resistance = resistanceEstimate(model, powerW, fanSpeedRpm === undefined ? {} : { fanSpeedRpm });
  if (resistance.kind === 'unavailable') return resistance;
  const riseK = enclosure === undefined ? 0 : enclosureRiseK(enclosure, powerW, caller);
  const offsetC = ambientC + riseK;
  return {
    kind: 'estimated',
    value: offsetC + powerW * resistance.value,
    standardError: powerW * resistance.standardError,
    interval95: [offsetC + powerW * resistance.interval95[0], offsetC + powerW * resistance.interval95[1]],
    extrapolated: resistance.extrapolated === true,
    unit: '°C',
  };
}

/** Throws an `ArgumentError` where an enclosure is given that is no object, or has names that are not known. */
export function requireEnclosureNames(enclosure: unknown, caller: string): void {
  if (enclosure === undefined) return;
  requireKnownNames(enclosure, ENCLOSURE_RISE_NAMES, {
    caller,
    argument: 'scenario.enclosure',
    remedy: 'leave it out for an open bench',
  });
}

/** What an enclosure adds to the intake air at a power, K. */
export function enclosureRiseK(enclosure: EnclosureRise, powerW: number, caller: string): number {
  requireNumber(enclosure.riseK, { caller, argument: 'scenario.enclosure.riseK' });
  if (enclosure.atPowerW === undefined) return enclosure.riseK;
  requireNumber(enclosure.atPowerW, { caller, argument: 'scenario.enclosure.atPowerW' }, { above: 0 });
  return (enclosure.riseK * powerW) / enclosure.atPowerW;
}
