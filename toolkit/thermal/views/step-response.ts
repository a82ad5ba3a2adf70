import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import { studentTQuantile } from '../../numerics/distributions.js';
import type { CoolerModel } from '../cooler-model.js';
import { requireStages } from '../require-stages.js';
import { stageUncertaintyOf } from '../stage-uncertainty.js';

/** Options of `stepResponse`. */
export interface StepResponseOptions {
  /** Times since the step, s, each at least 0; length m. */
  readonly timeS: ArrayLike<number>;
}

const OPTION_NAMES: KnownNames<StepResponseOptions> = { timeS: true };

/** How the die warms after a step of one watt. Plain data: survives JSON. */
export interface StepResponse {
  readonly kind: 'step-response';
  /** Length m, as all that follows. */
  readonly timeS: readonly number[];
  /** Temperature rise per watt: the thermal impedance Zth. */
  readonly risePerPowerKPerW: readonly number[];
  /** Missing, like the band, where the model does not hold the covariance of its stages. */
  readonly standardErrorKPerW?: readonly number[];
  /** Lower edge of the 95 % band at each time, at least 0. */
  readonly lowKPerW?: readonly number[];
  /** Upper edge. */
  readonly highKPerW?: readonly number[];
}

/**
 * Temperature rise of the die per watt after a step of power: the thermal impedance, with its 95 % band.
 *
 * Zth(t) = Σₖ rₖ (1 − exp(−t / τₖ)) [JESD51-14], the pole form at `resistanceLaw.atPowerW`, without the sensor's lag and
 * from everything at the temperature of the air. The band follows from the covariance of all log τₖ and rₖ to first
 * order [JCGM100, eq. 13], with ∂Zth/∂rₖ = 1 − exp(−t/τₖ) and ∂Zth/∂log τₖ = −rₖ (t/τₖ) exp(−t/τₖ). What the total
 * resistance is uncertain by beyond that (air, mounts, number of stages) is taken to scale the whole response, so that the
 * band ends in the interval of the total resistance.
 *
 * @param model - a model with stages, from `fitCooler`
 * @param options - times, s
 * @returns times, rises and band, K/W; length m each
 * @throws ArgumentError if the model has no stages or a time is negative or not finite
 * @example
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 80)), temperatureC: timeS.map((t) => 22 + 40 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * stepResponse(fitCooler(run, { powerExponent: 0 }), { timeS: [0, 60, 1e5] }).risePerPowerKPerW; // => [0, 0.31606, 0.5] within 1e-3
 */
export function stepResponse(model: CoolerModel, options: StepResponseOptions): StepResponse {
  const caller = 'stepResponse';
  const { timeConstantsS, resistancesKPerW } = requireStages(model, caller);
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const timeS = Array.from(options.timeS ?? []);
  if (timeS.length === 0) {
    throw new ArgumentError({
      caller,
      argument: 'options.timeS',
      expected: 'one time or more',
      received: timeS,
    });
  }
  timeS.forEach((time, i) => {
    requireNumber(time, { caller, argument: `options.timeS[${i}]` }, { atLeast: 0 });
  });
  const risePerPowerKPerW = timeS.map((time) =>
    resistancesKPerW.reduce((sum, r, k) => sum - r * Math.expm1(-time / timeConstantsS[k]), 0),
  );
  const uncertainty = stageUncertaintyOf(model);
  if (uncertainty === undefined) return { kind: 'step-response', timeS, risePerPowerKPerW };

  const { covariance, scaleVariance } = uncertainty;
  const quadratic = (gradient: readonly number[]): number =>
    gradient.reduce(
      (sum, a, i) => sum + a * gradient.reduce((row, b, j) => row + b * covariance[i][j], 0),
      0,
    );
  const standardErrorKPerW = timeS.map((time, i) => {
    const gradient = [
      ...timeConstantsS.map((tau, k) => -resistancesKPerW[k] * (time / tau) * Math.exp(-time / tau)),
      ...timeConstantsS.map((tau) => -Math.expm1(-time / tau)),
    ];
    return Math.sqrt(Math.max(0, quadratic(gradient)) + scaleVariance * risePerPowerKPerW[i] ** 2);
  });
  const factor = studentTQuantile(0.975, model.resistanceLaw.degreesOfFreedom);
  const edge = (side: number): number[] =>
    risePerPowerKPerW.map((rise, i) => Math.max(0, rise + side * factor * standardErrorKPerW[i]));
  return {
    kind: 'step-response',
    timeS,
    risePerPowerKPerW,
    standardErrorKPerW,
    lowKPerW: edge(-1),
    highKPerW: edge(1),
  };
}
