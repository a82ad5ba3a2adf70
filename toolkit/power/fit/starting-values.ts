import { PolynomialRegression, PowerRegression } from 'ml-regression';
import type { ReferencePoint } from '../forms/curve-form.js';
import { LOWEST_EXPONENT } from '../forms/voltage-shape.js';
import { type CurveAssumptions, logNormalOf } from './curve-assumptions.js';
import type { Observation } from './observation.js';

/**
 * Starting values of the power law f = f₀·(P/P₀)^β: an unweighted straight line through the logarithms.
 *
 * @returns f₀ in MHz and β, in the order of the form's parameters
 */
export function startPowerLaw(observations: readonly Observation[], reference: ReferencePoint): number[] {
  const fit = new PowerRegression(
    observations.map((observation) => observation.powerW / reference.powerW),
    observations.map((observation) => observation.frequencyMHz),
  );
  return [fit.A, fit.B];
}

/**
 * Starting values of the polynomial f = f₀ + a·(P − P₀) + b·(P − P₀)²: an unweighted regression.
 *
 * @returns f₀ in MHz, a in MHz/W and b in MHz/W², in the order of the form's parameters
 */
export function startPolynomial(observations: readonly Observation[], reference: ReferencePoint): number[] {
  const fit = new PolynomialRegression(
    observations.map((observation) => observation.powerW - reference.powerW),
    observations.map((observation) => observation.frequencyMHz),
    2,
  );
  return [...fit.coefficients];
}

/**
 * Starting values of the electro-thermal form: the frequency of the power law, or the mean where only one power
 * level was logged, and the assumptions for the rest.
 */
export function startElectroThermal(
  observations: readonly Observation[],
  reference: ReferencePoint,
  assumptions: CurveAssumptions,
  powerLevelCount: number,
): number[] {
  const meanMHz =
    observations.reduce((sum, observation) => sum + observation.frequencyMHz, 0) / observations.length;
  return [
    powerLevelCount > 1 ? startPowerLaw(observations, reference)[0] : meanMHz,
    LOWEST_EXPONENT + logNormalOf(assumptions.exponentAboveLowest).median,
    logNormalOf(assumptions.exponentGrowth).median,
    logNormalOf(assumptions.basePowerFraction).median * reference.powerW,
    logNormalOf(assumptions.leakagePowerFraction).median * reference.powerW,
    logNormalOf(assumptions.leakageScaleK).median,
  ];
}

/** Starting value of the voltage at the reference: the mean of those logged, brought to the relation's offset. */
export function startReferenceVoltageV(
  observations: readonly Observation[],
  relationOffsetMv: number,
): number {
  const voltages = observations.flatMap(({ voltage, voltageOffsetMv }) =>
    voltage === undefined ? [] : [voltage.voltageV - (voltageOffsetMv - relationOffsetMv) / 1000],
  );
  return voltages.reduce((sum, voltageV) => sum + voltageV / voltages.length, 0);
}
