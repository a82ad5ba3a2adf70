import type { PowerCurveForm } from '../power-curve.js';
import type { ShapeCorrection } from './shape-correction.js';

/** One free parameter of a form. */
export interface FormParameter {
  /** Name in `PowerCurve.parameters`, with its unit. */
  readonly name: string;
  /** Limit it must stay above: it is then fitted as the natural logarithm of its distance from there. */
  readonly above?: number;
}

/** The fixed point a form is written around. */
export interface ReferencePoint {
  readonly powerW: number;
  readonly temperatureC: number;
}

/** A form with numbers in it. */
export interface BoundForm {
  frequencyMHz(powerW: number, temperatureC: number): number;
  /** Power, W; NaN where no power gives this frequency. */
  powerW(frequencyMHz: number, temperatureC: number): number;
  /** Writes the derivatives of the frequency with respect to the parameters into `out`. */
  gradient(powerW: number, temperatureC: number, out: Float64Array): void;
  /**
   * Variance of the frequency that a correction of unit variance leaves open because no knot is near, MHz²; 0 for
   * forms without a correction.
   */
  openVariance(powerW: number, temperatureC: number): number;
  /** ∂P/∂T at a held frequency and voltage, W/K; 0 for forms without temperature. */
  leakageSlopeWPerK(frequencyMHz: number, temperatureC: number): number;
  /** Where the form holds the voltage itself, not its ratio alone. */
  readonly voltage?: BoundVoltage;
}

/** The voltage in a form with numbers in it. */
export interface BoundVoltage {
  voltageV(frequencyMHz: number): number;
  slopeVPerMHz(frequencyMHz: number): number;
  /** Writes the derivatives of the voltage with respect to the parameters into `out`. */
  gradient(frequencyMHz: number, out: Float64Array): void;
  /** Frequency that draws a power at a voltage set by hand, off the relation between the two. */
  frequencyAtMHz(powerW: number, temperatureC: number, voltageV: number): number;
  gradientAt(powerW: number, temperatureC: number, voltageV: number, out: Float64Array): void;
}

/**
 * A relation f(P, T). To add one: write it in a file of its own, name it in `form-of.ts` and `PowerCurveForm`, and give
 * its starting values in `starting-values.ts`.
 */
export interface CurveForm {
  readonly form: PowerCurveForm;
  readonly parameters: readonly FormParameter[];
  /** Distinct power levels needed before the form can be fitted. */
  readonly powerLevelsNeeded: number;
  readonly dependsOnTemperature: boolean;
  /** The last parameters of a form that has one are the correction's values at its knots. */
  readonly correction?: ShapeCorrection;
  /**
   * Puts numbers in, in the order of `parameters`.
   *
   * @param offsetV - voltage offset against the voltages that the parameters state; forms without voltage take none
   */
  bind(parameters: ArrayLike<number>, reference: ReferencePoint, offsetV?: number): BoundForm;
}
