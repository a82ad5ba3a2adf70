import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../errors.js';
import type { PowerSample } from '../runs/run.js';
import { airAtDie } from './air-at-die.js';
import { LOWEST_POWER_SHARE } from './convection.js';
import type { CoolerModel } from './cooler-model.js';
import { allocateFanResponse, fillFanResponse } from './fan-response.js';
import { lagApartFrom } from './lag-apart.js';
import { allocatePoleResponse, fillPoleResponse } from './pole-response.js';
import { requireFanCurve, requireFanSpeed } from './require-fan-curve.js';
import { requireStages } from './require-stages.js';

/** What drives a simulation. */
export interface TemperatureSimulation {
  /** Sample times, s, increasing; length m. */
  readonly timeS: ArrayLike<number>;
  /** Package power, W: one value a sample, or one for all. */
  readonly powerW: number | ArrayLike<number>;
  /** Air at the intake, degrees Celsius: one value a sample, or one for all. */
  readonly ambientC: number | ArrayLike<number>;
  /** Earlier power in whose steady state the simulation starts, W: one, or one a stage. Default 0: everything at ambient. */
  readonly startPowerW?: number | readonly number[];
  /**
   * Fan speed, revolutions per minute: one value a sample, or one for all; for a model with a `fanCurve`. Default: the
   * speed the model is stated at.
   */
  readonly fanSpeedRpm?: number | ArrayLike<number>;
  /** Default `interval-mean`. */
  readonly powerSample?: PowerSample;
}

const SIMULATION_NAMES: KnownNames<TemperatureSimulation> = {
  timeS: true,
  powerW: true,
  ambientC: true,
  startPowerW: true,
  fanSpeedRpm: true,
  powerSample: true,
};

/**
 * Temperature over time that a fitted cooler model predicts for any course of power and air.
 *
 * T(t) = a(t) + Σₖ rₖ xₖ(t) + rₙ d(t) + (R xₙ(t) + rₙ d(t)) · (ψ(xₙ) − 1) with ψ(x) = (x / P₀)^(−q): the model of
 * `fitCooler`, sensor lag included, a the air as the die sees it, exact for power that is constant between samples. d is
 * what a fan speed other than the model's changes of the slowest stage, at its own heat capacity.
 *
 * @param model - a model with stages, from `fitCooler`
 * @param simulation - times, power, air, start; see `TemperatureSimulation`
 * @returns degrees Celsius, length m
 * @throws ArgumentError if lengths differ, times do not increase, a value is not finite or the model has no stages
 * @example
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 80)), temperatureC: timeS.map((t) => 22 + 40 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * const model = fitCooler(run, { powerExponent: 0 });
 * simulateTemperature(model, { timeS: [0, 60], powerW: [0, 100], ambientC: 20 })[1]; // => 51.606 within 1e-3
 */
export function simulateTemperature(model: CoolerModel, simulation: TemperatureSimulation): Float64Array {
  const caller = 'simulateTemperature';
  const { timeConstantsS, resistancesKPerW, airTimeConstantS, ...poles } = requireStages(model, caller);
  requireKnownNames(simulation, SIMULATION_NAMES, { caller, argument: 'simulation' });
  const { timeS, powerSample = 'interval-mean' } = simulation;
  requireList(timeS, caller, 'simulation.timeS');
  const sensorLagS =
    poles.sensorLagS === undefined
      ? undefined
      : lagApartFrom(poles.sensorLagS, timeConstantsS, timeConstantsS.length);
  const count = timeS.length;
  const fanSpeedRpm =
    simulation.fanSpeedRpm === undefined
      ? undefined
      : spread(simulation.fanSpeedRpm, count, caller, 'simulation.fanSpeedRpm');
  const fanCurve =
    fanSpeedRpm === undefined ? undefined : requireFanCurve(model, caller, 'simulation.fanSpeedRpm');
  const powerW = spread(simulation.powerW, count, caller, 'simulation.powerW');
  const ambientC = spread(simulation.ambientC, count, caller, 'simulation.ambientC');
  const startPowersW = spread(
    simulation.startPowerW ?? 0,
    timeConstantsS.length,
    caller,
    'simulation.startPowerW',
    ', one a stage',
  );
  /** The sample whose power and fan speed hold during the step that ends at sample i. */
  const held = (i: number): number => (powerSample === 'interval-mean' ? i : Math.max(0, i - 1));
  const stepS = new Float64Array(count);
  const drivePowerW = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    if (i > 0) {
      stepS[i] = timeS[i] - timeS[i - 1];
      if (!(stepS[i] > 0)) {
        requireNumber(
          stepS[i],
          { caller, argument: `simulation.timeS[${i}] − timeS[${i - 1}]` },
          { above: 0 },
        );
      }
    }
    drivePowerW[i] = powerW[held(i)];
  }

  const { atPowerW, powerExponent } = model.resistanceLaw;
  const total = resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
  const response = allocatePoleResponse(count);
  const lag = allocatePoleResponse(count);
  if (sensorLagS !== undefined) fillPoleResponse(sensorLagS, { stepS, drivePowerW }, 0, lag);
  const slowestStage = timeConstantsS.length - 1;
  const fan = fanCurve === undefined ? undefined : allocateFanResponse(count);
  if (fan !== undefined && fanCurve !== undefined && fanSpeedRpm !== undefined) {
    const { referenceFanSpeedRpm, convectionKPerW, fanSpeedExponent } = fanCurve;
    const logFanRatio = Float64Array.from({ length: count }, (_, i) => {
      const speedRpm = requireFanSpeed(fanSpeedRpm[held(i)], caller, `simulation.fanSpeedRpm[${held(i)}]`);
      return Math.log(speedRpm / referenceFanSpeedRpm);
    });
    fillFanResponse(
      timeConstantsS[slowestStage],
      { stepS, drivePowerW, logFanRatio },
      startPowersW[slowestStage],
      { share: convectionKPerW / resistancesKPerW[slowestStage], exponent: fanSpeedExponent },
      fan,
    );
  }
  const temperatureC = airAtDie(timeS, ambientC, airTimeConstantS);
  timeConstantsS.forEach((timeConstantS, k) => {
    const start = startPowersW[k];
    fillPoleResponse(timeConstantS, { stepS, drivePowerW }, start, response);
    const share = sensorLagS === undefined ? 1 : timeConstantS / (timeConstantS - sensorLagS);
    const slowest = k === slowestStage;
    for (let i = 0; i < count; i++) {
      const own = response.value[i];
      const x =
        sensorLagS === undefined ? own : share * own + (1 - share) * (lag.value[i] + start * lag.decay[i]);
      temperatureC[i] += resistancesKPerW[k] * x;
      if (!slowest) continue;
      const fromFanK = fan === undefined ? 0 : resistancesKPerW[k] * (fan.value[i] - own);
      temperatureC[i] += fromFanK;
      if (powerExponent !== 0) {
        const bend = Math.max(x / atPowerW, LOWEST_POWER_SHARE) ** -powerExponent - 1;
        temperatureC[i] += (total * x + fromFanK) * bend;
      }
    }
  });
  return temperatureC;
}

function requireList(value: unknown, caller: string, argument: string): void {
  if (typeof value === 'object' && value !== null && 'length' in value) return;
  throw new ArgumentError({ caller, argument, expected: 'an array of numbers', received: value });
}

function spread(
  value: number | ArrayLike<number>,
  count: number,
  caller: string,
  argument: string,
  which = '',
): ArrayLike<number> {
  if (typeof value === 'number') {
    requireNumber(value, { caller, argument });
    return new Float64Array(count).fill(value);
  }
  requireList(value, caller, argument);
  if (value.length !== count) {
    throw new ArgumentError({
      caller,
      argument,
      expected: `one number or ${count} of them${which}`,
      received: `${value.length} of them`,
    });
  }
  for (let i = 0; i < count; i++) {
    if (!Number.isFinite(value[i])) requireNumber(value[i], { caller, argument: `${argument}[${i}]` });
  }
  return value;
}
