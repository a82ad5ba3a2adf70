import { inverse, Matrix } from 'ml-matrix';
import {
  ArgumentError,
  type KnownNames,
  NumericalError,
  requireKind,
  requireKnownNames,
  requireNumber,
} from '../errors.js';
import type { Estimate } from '../numerics/estimate.js';
import { estimated, inUnit } from '../numerics/estimates.js';
import { leastSquares } from '../numerics/least-squares/least-squares.js';
import type { CoolerModel } from './cooler-model.js';
import {
  assumedFanExponent,
  DISTINCT_SPEED_RATIO,
  FAN_CURVE_PARAMETERS,
  FAN_EXPONENT_PRIOR,
  type FanCurve,
  fanResistance,
} from './fan-law.js';
import { requireModels } from './require-model.js';
import { resistanceEstimate } from './steady-temperature.js';

export type { FanCurve } from './fan-law.js';

const OPTION_NAMES: KnownNames<{ readonly atPowerW?: number }> = { atPowerW: true };

/**
 * Fits the resistance of one cooler as a function of its fan's speed, from models fitted at two fixed speeds or
 * more: weighted least squares over R∞ ≥ 0, a ≥ 0 and b, with a prior on b that gives way where the data speak.
 *
 * @param models - one for each fan speed, with `fanSpeedRpm`
 * @param options - atPowerW: where to compare, W; default: the power of the first model
 * @throws ArgumentError if fewer than two distinct speeds are known or the coolers differ
 * @throws NumericalError if the resistance does not fall with speed
 * @example
 * const at = (fanSpeedRpm: number, temperatureC: number) =>
 *   coolerFromSteadyPoints([{ powerW: 80, temperatureC, ambientC: 24 }], { fanSpeedRpm, temperatureUncertaintyK: 0.1 });
 * const curve = fitFanCurve([at(1000, 74), at(1500, 66.7), at(2200, 62)]);
 * requireValue(resistanceAtFanSpeed(curve, 1500)); // => 0.534 within 0.005
 */
export function fitFanCurve(
  models: readonly CoolerModel[],
  options: { readonly atPowerW?: number } = {},
): FanCurve {
  const caller = 'fitFanCurve';
  requireSpeeds(models, caller);
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const { atPowerW = models[0].resistanceLaw.atPowerW } = options;
  requireNumber(atPowerW, { caller, argument: 'options.atPowerW' }, { above: 0 });
  const points = models
    .map((model) => ({
      fanSpeedRpm: model.fanSpeedRpm as number,
      thermalResistanceKPerW: resistanceEstimate(model, atPowerW),
    }))
    .sort((a, b) => a.fanSpeedRpm - b.fanSpeedRpm);
  const speeds = points.map((point) => point.fanSpeedRpm);
  const values = points.map(({ thermalResistanceKPerW }) =>
    thermalResistanceKPerW.kind === 'estimated'
      ? thermalResistanceKPerW
      : { value: Number.NaN, standardError: Number.NaN },
  );
  const referenceFanSpeedRpm = Math.exp(
    speeds.reduce((sum, speed) => sum + Math.log(speed), 0) / speeds.length,
  );
  const slowest = values[0].value;
  const fastest = values[values.length - 1].value;
  if (!(slowest > fastest)) {
    throw new NumericalError(
      `fitFanCurve: the resistance does not fall from ${Math.round(speeds[0])} rpm (${slowest.toPrecision(3)} K/W) to ` +
        `${Math.round(speeds[speeds.length - 1])} rpm (${fastest.toPrecision(3)} K/W); check that the runs differ in fan speed alone`,
    );
  }
  const fit = leastSquares(
    ([limit, convection, exponent], out) => {
      speeds.forEach((speed, i) => {
        const modelled = limit + convection * (speed / referenceFanSpeedRpm) ** -exponent;
        out[i] = (modelled - values[i].value) / values[i].standardError;
      });
      out[speeds.length] = (exponent - FAN_EXPONENT_PRIOR.mean) / FAN_EXPONENT_PRIOR.standardDeviation;
    },
    [0.4 * fastest, 0.5 * (slowest + fastest) - 0.4 * fastest, FAN_EXPONENT_PRIOR.mean],
    { residualCount: speeds.length + 1, lowerBounds: [0, 0, 0.05], upperBounds: [slowest, 10 * slowest, 2] },
  );
  const [limitKPerW, convectionKPerW, exponent] = fit.parameters;
  const covariance = covarianceOf(fit.jacobian, fit.atBound, fit.sumOfSquares, fit.degreesOfFreedom);
  const { cooler } = models[0];
  return {
    kind: 'fan-curve',
    ...(cooler === undefined ? {} : { cooler }),
    atPowerW,
    referenceFanSpeedRpm,
    limitKPerW,
    convectionKPerW,
    fanSpeedExponent: exponent,
    covariance: { parameters: FAN_CURVE_PARAMETERS, matrix: covariance },
    degreesOfFreedom: Math.min(...models.map((model) => model.resistanceLaw.degreesOfFreedom)),
    points,
    testedRange: { fanSpeedRpm: [speeds[0], speeds[speeds.length - 1]] },
    findings: assumedFanExponent(speeds.length),
  };
}

/**
 * Thermal resistance at a fan speed, K/W.
 *
 * @throws ArgumentError if the speed is not positive
 * @example
 * const at = (fanSpeedRpm: number, temperatureC: number) =>
 *   coolerFromSteadyPoints([{ powerW: 80, temperatureC, ambientC: 24 }], { fanSpeedRpm });
 * const curve = fitFanCurve([at(1000, 74), at(2200, 62)]);
 * resistanceAtFanSpeed(curve, 3000); // => ({ kind: 'estimated', extrapolated: true })
 */
export function resistanceAtFanSpeed(curve: FanCurve, fanSpeedRpm: number): Estimate {
  requireKind(curve, 'fan-curve', {
    caller: 'resistanceAtFanSpeed',
    argument: 'curve',
    remedy: 'make one with fitFanCurve',
  });
  requireNumber(fanSpeedRpm, { caller: 'resistanceAtFanSpeed', argument: 'fanSpeedRpm' }, { above: 0 });
  const { value, standardError, extrapolated } = fanResistance(curve, fanSpeedRpm);
  const options = { degreesOfFreedom: curve.degreesOfFreedom, extrapolated };
  return inUnit(estimated(value, standardError, options), 'K/W');
}

const SOUND_NAMES: KnownNames<{ readonly soundLevelDb: number; readonly fanSpeedRpm: number }> = {
  soundLevelDb: true,
  fanSpeedRpm: true,
};

/**
 * Sound level of a fan at another speed by the fan laws: L = L₀ + 50 log₁₀(n / n₀) dB: sound power goes
 * with the fifth power of speed (fan laws, from memory).
 *
 * @param known - a level measured at one speed: soundLevelDb, fanSpeedRpm > 0
 * @param fanSpeedRpm - where it is asked for, > 0
 * @throws ArgumentError if a number is not in its domain
 * @example
 * soundLevelAtFanSpeed({ soundLevelDb: 30, fanSpeedRpm: 1000 }, 2000); // => 45.0515 within 1e-4
 */
export function soundLevelAtFanSpeed(
  known: { readonly soundLevelDb: number; readonly fanSpeedRpm: number },
  fanSpeedRpm: number,
): number {
  const caller = 'soundLevelAtFanSpeed';
  requireKnownNames(known, SOUND_NAMES, { caller, argument: 'known' });
  requireNumber(known.soundLevelDb, { caller, argument: 'known.soundLevelDb' });
  requireNumber(known.fanSpeedRpm, { caller, argument: 'known.fanSpeedRpm' }, { above: 0 });
  requireNumber(fanSpeedRpm, { caller, argument: 'fanSpeedRpm' }, { above: 0 });
  return known.soundLevelDb + 50 * Math.log10(fanSpeedRpm / known.fanSpeedRpm);
}

/**
 * The points carry their standard errors, so JᵀJ is inverted as it is, and widened only where the points disagree by
 * more than these; a parameter at its bound does not vary.
 */
function covarianceOf(
  jacobian: Float64Array,
  atBound: readonly boolean[],
  sumOfSquares: number,
  degreesOfFreedom: number,
): number[][] {
  const count = atBound.length;
  const rowCount = jacobian.length / count;
  const free = atBound.flatMap((bound, i) => (bound ? [] : [i]));
  const columns = new Matrix(
    Array.from({ length: rowCount }, (_, row) => free.map((i) => jacobian[row * count + i])),
  );
  const inverted = inverse(columns.transpose().mmul(columns), true);
  const scale = degreesOfFreedom > 0 ? Math.max(1, sumOfSquares / degreesOfFreedom) : 1;
  const covariance = Array.from({ length: count }, () => new Array<number>(count).fill(0));
  free.forEach((a, i) => {
    free.forEach((b, j) => {
      covariance[a][b] = inverted.get(i, j) * scale;
    });
  });
  return covariance;
}

function requireSpeeds(models: readonly CoolerModel[], caller: string): void {
  requireModels(models, caller);
  models.forEach((model, i) => {
    requireNumber(
      model.fanSpeedRpm,
      {
        caller,
        argument: `models[${i}].fanSpeedRpm`,
        remedy: 'log the fan speed, or give it as conditions: { fanSpeedRpm: … }',
      },
      { above: 0 },
    );
  });
  const coolers = [...new Set(models.map((model) => model.cooler))];
  if (coolers.length > 1) {
    throw new ArgumentError({
      caller,
      argument: 'models',
      expected: 'models of one cooler',
      received: coolers.join(', '),
    });
  }
  const sorted = models.map((model) => model.fanSpeedRpm as number).sort((a, b) => a - b);
  const distinct = sorted.filter((speed, i) => i === 0 || speed > sorted[i - 1] * DISTINCT_SPEED_RATIO);
  if (distinct.length < 2) {
    throw new ArgumentError({
      caller,
      argument: 'models',
      expected: 'models at two fan speeds or more',
      received: `${distinct.length} distinct`,
      remedy: 'fit the runs of each fan speed on their own and give all models here',
    });
  }
}
