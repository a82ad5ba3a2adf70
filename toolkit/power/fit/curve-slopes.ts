import type { Estimate } from '../../numerics/estimate.js';
import { estimated, unavailable } from '../../numerics/estimates.js';
import { bilinearForm } from '../bilinear-form.js';
import { SHAPE_SCALE_RATIO } from '../forms/shape-correction.js';
import type { CurveDiscrepancy } from '../power-curve.js';
import type { FormFit } from './fit-form.js';
import type { FormProblem } from './form-problem.js';
import { slopeSteps } from './mean-slopes.js';
import { rangeOf } from './range-of.js';
import { slopesOf } from './row-variances.js';

/** A parameter whose spread is still this share of its assumption's rests on the assumption. */
export const ASSUMED_SHARE = 0.7;

/** Temperature difference over which a form without temperature may bend, K. */
const TEMPERATURE_SCALE_K = 30;

/** What a watt and a kelvin change. */
export interface SlopeEstimates {
  readonly frequencyPerPowerMHzPerW: Estimate;
  readonly frequencyPerTemperatureMHzPerK: Estimate;
}

/**
 * Mean slopes about the centre of the points: over ±10 % of power, and over the middle half of the tested temperatures
 * (a slope at one point would hang on kinks that no log resolves). A slope that the data add little to is not
 * identifiable.
 */
export function slopeEstimates(
  problem: FormProblem,
  fit: FormFit,
  discrepancy: CurveDiscrepancy,
  powerLevelCount: number,
): SlopeEstimates {
  const { form, observations, reference, information } = problem;
  const { degreesOfFreedom } = fit;
  const bound = form.bind(fit.parameters, reference);
  const testedC = rangeOf(observations.map(({ temperatureC }) => temperatureC));
  const { middleW, middleC, stepW, stepK } = slopeSteps(reference, testedC);
  const slope = (fromW: number, toW: number, fromC: number, toC: number, step: number) => {
    const from = new Float64Array(form.parameters.length);
    const to = new Float64Array(form.parameters.length);
    bound.gradient(fromW, fromC, from);
    bound.gradient(toW, toC, to);
    const gradient = to.map((value, j) => (value - from[j]) / step);
    const value = (bound.frequencyMHz(toW, toC) - bound.frequencyMHz(fromW, fromC)) / step;
    const assumedVariance = information.reduce((sum, entry, j) => {
      if (entry === undefined) return sum;
      return sum + (gradient[j] * fit.perFitted[j] * entry.standardDeviation) ** 2;
    }, 0);
    return { value, variance: bilinearForm(gradient, fit.covariance, gradient), assumedVariance };
  };
  const perPower = slope(middleW - stepW, middleW + stepW, middleC, middleC, 2 * stepW);
  const perTemperature = slope(middleW, middleW, middleC - stepK, middleC + stepK, 2 * stepK);
  const temperatureKnown =
    form.dependsOnTemperature &&
    perTemperature.variance < ASSUMED_SHARE ** 2 * perTemperature.assumedVariance;
  // A form without correction may bend between the points: its discrepancy has a slope as well.
  const { standardDeviationMHz, powerScaleRatio, temperatureScaleK, correction } = discrepancy;
  const bendMHz = correction === undefined ? standardDeviationMHz : 0;
  return {
    frequencyPerPowerMHzPerW:
      powerLevelCount < 2
        ? unavailable('not-identifiable')
        : estimated(
            perPower.value,
            Math.sqrt(perPower.variance + (bendMHz / (powerScaleRatio * middleW)) ** 2),
            { degreesOfFreedom },
          ),
    frequencyPerTemperatureMHzPerK: temperatureKnown
      ? estimated(
          perTemperature.value,
          Math.sqrt(perTemperature.variance + (bendMHz / temperatureScaleK) ** 2),
          { degreesOfFreedom },
        )
      : unavailable('not-identifiable'),
  };
}

/** The discrepancy in words of frequency, at the centre of the points. */
export function discrepancyOf(
  { form, reference, observations }: FormProblem,
  fit: FormFit,
): CurveDiscrepancy {
  const { correction } = form;
  const bound = form.bind(fit.parameters, reference);
  const frequencyMHz = bound.frequencyMHz(reference.powerW, reference.temperatureC);
  const { perPower } = slopesOf(bound, reference.powerW, reference.temperatureC);
  const powerScaleRatio = (SHAPE_SCALE_RATIO * frequencyMHz) / (reference.powerW * Math.max(perPower, 1e-9));
  if (correction === undefined) {
    const squares = fit.residualsMHz.reduce((sum, residual) => sum + residual * residual, 0);
    return {
      standardDeviationMHz: Math.sqrt(squares / Math.max(1, observations.length - form.parameters.length)),
      powerScaleRatio,
      temperatureScaleK: TEMPERATURE_SCALE_K,
    };
  }
  const switchingW = reference.powerW - fit.parameters[3] - fit.parameters[4];
  return {
    standardDeviationMHz: fit.correctionSpread * perPower * (switchingW + 0.5 * fit.parameters[4]),
    powerScaleRatio,
    temperatureScaleK: TEMPERATURE_SCALE_K,
    correction: { knotsMHz: correction.knotsMHz, standardDeviationRatio: fit.correctionSpread },
  };
}
