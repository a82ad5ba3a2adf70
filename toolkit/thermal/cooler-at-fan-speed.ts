import type { Estimate } from '../numerics/estimate.js';
import { estimated } from '../numerics/estimates.js';
import type { CoolerModel } from './cooler-model.js';
import { fanResistance } from './fan-law.js';
import { fanFactor } from './fan-response.js';
import { ladderFromPoles } from './ladder.js';
import { requireFanCurve, requireFanSpeed } from './require-fan-curve.js';
import { requireModel } from './require-model.js';

/**
 * A cooler as it is at one fan speed: what a model fitted at several speeds says of bursts, step responses and
 * comparisons at that speed.
 *
 * The fan rules the slowest stage: its resistance is r (1 + share · ((n / n₀)^−b − 1)), with the heat capacity unchanged, so
 * that its time constant goes with it [Bergman2011, ch. 5]. The other stages stay. The total resistance and its standard
 * uncertainty are those of the fan curve at that speed.
 *
 * @param model - a model with a `fanCurve`, from `fitCooler` on runs at several logged fan speeds
 * @param fanSpeedRpm - revolutions per minute
 * @returns the model stated at that speed, without its fan curve; marked `extrapolated` outside the speeds logged
 * @throws ArgumentError if the model has no fan curve or the speed is not above 0
 * @example
 * const points = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 64, ambientC: 24 }]);
 * coolerAtFanSpeed(points, 900); // => throws /runs at several logged fan speeds/
 */
export function coolerAtFanSpeed(model: CoolerModel, fanSpeedRpm: number): CoolerModel {
  const caller = 'coolerAtFanSpeed';
  requireModel(model, caller, 'model');
  const curve = requireFanCurve(model, caller, 'fanSpeedRpm');
  requireFanSpeed(fanSpeedRpm, caller, 'fanSpeedRpm');
  const { fanCurve: _, poles, ...rest } = model;
  const law = model.resistanceLaw;
  const total = fanResistance(curve, fanSpeedRpm);
  const restated = {
    ...rest,
    fanSpeedRpm,
    thermalResistanceKPerW: estimated(total.value, total.standardError, {
      degreesOfFreedom: law.degreesOfFreedom,
      extrapolated: total.extrapolated,
    }),
    resistanceLaw: {
      ...law,
      thermalResistanceKPerW: total.value,
      resistanceStandardErrorKPerW: total.standardError,
    },
  };
  if (poles === undefined) return restated;
  const slowest = poles.timeConstantsS.length - 1;
  const ownKPerW = poles.resistancesKPerW[slowest];
  const factor = fanFactor(
    { share: curve.convectionKPerW / ownKPerW, exponent: curve.fanSpeedExponent },
    Math.log(fanSpeedRpm / curve.referenceFanSpeedRpm),
  );
  const times = (values: readonly number[]): number[] =>
    values.map((value, k) => (k === slowest ? factor * value : value));
  const timeConstantsS = times(poles.timeConstantsS);
  const resistancesKPerW = times(poles.resistancesKPerW);
  return {
    ...restated,
    poles: { ...poles, timeConstantsS, resistancesKPerW },
    stages: model.stages.map((stage, k) =>
      k === slowest
        ? {
            timeConstantS: scaled(stage.timeConstantS, factor),
            resistanceKPerW: scaled(stage.resistanceKPerW, factor),
          }
        : stage,
    ),
    ladder:
      model.ladder.length === 0
        ? []
        : ladderFromPoles(
            timeConstantsS.map((timeConstantS, k) => ({
              timeConstantS,
              resistanceKPerW: resistancesKPerW[k],
            })),
          ),
    covariance: withScaledRow(model.covariance, `resistanceKPerW[${slowest + 1}]`, factor),
  };
}

function scaled(estimate: Estimate, factor: number): Estimate {
  if (estimate.kind === 'unavailable')
    return estimate.value === undefined ? estimate : { ...estimate, value: factor * estimate.value };
  const { value, standardError, interval95 } = estimate;
  return {
    ...estimate,
    value: factor * value,
    standardError: factor * standardError,
    interval95: [factor * interval95[0], factor * interval95[1]],
  };
}

function withScaledRow(
  { parameters, matrix }: CoolerModel['covariance'],
  name: string,
  factor: number,
): CoolerModel['covariance'] {
  const of = (index: number): number => (parameters[index] === name ? factor : 1);
  return { parameters, matrix: matrix.map((row, i) => row.map((value, j) => of(i) * of(j) * value)) };
}
