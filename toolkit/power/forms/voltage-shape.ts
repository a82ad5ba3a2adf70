import {
  correctionAt,
  knotShares,
  openVarianceFraction,
  type ShapeCorrection,
  weightsOf,
} from './shape-correction.js';

/** Exponent of the switching power towards low frequency, between fixed voltage (1) and the alpha-power law's 2. */
export const LOWEST_EXPONENT = 1.5;

/** The relative voltage at one frequency. */
export interface VoltageAt {
  /** V(f)/V(f₀). */
  readonly ratio: number;
  /** Derivative of ln v² with respect to u. */
  readonly perU: number;
  /** Derivative of the correction η with respect to ln f. */
  readonly etaSlope: number;
}

/** Relative voltage against u = ln(f/f₀), and its derivatives with respect to what shapes it. */
export interface VoltageShape {
  at(u: number): VoltageAt;
  /**
   * Derivatives of ln v² at a held frequency with respect to ln f₀, the exponent m, the growth γ and the correction's
   * values at its knots.
   */
  derivatives(u: number): {
    readonly perLogReference: number;
    readonly perExponent: number;
    readonly perGrowth: number;
    readonly perKnot: Float64Array;
  };
  /** Derivative of η at the reference with respect to ln f. */
  readonly etaSlopeAtReference: number;
  /** Share of a correction of unit variance that no knot carries at u. */
  openFraction(u: number): number;
}

/**
 * ln v² = ½·u + (m − 1.5)·(e^(γu) − 1)/γ + η(f) − η(f₀), u = ln(f/f₀): voltage rises gently at low frequency and ever
 * more steeply towards the top, as voltage tables do; γ → 0 with η = 0 makes the switching power go as f^m.
 *
 * @param knots - the correction's values at its knots
 */
export function voltageShape(
  correction: ShapeCorrection,
  knots: ArrayLike<number>,
  shape: { readonly referenceMHz: number; readonly exponent: number; readonly growth: number },
): VoltageShape {
  const { growth } = shape;
  const { logKnots } = correction;
  const knotCount = logKnots.length;
  const weights = weightsOf(correction, knots);
  const logReference = Math.log(shape.referenceMHz);
  const steepness = shape.exponent - LOWEST_EXPONENT;
  const eta = { value: 0, slope: 0 };
  correctionAt(logKnots, weights, logReference, eta);
  const { value: etaAtReference, slope: etaSlopeAtReference } = eta;
  const sharesAtReference = new Float64Array(knotCount);
  knotShares(correction, logReference, sharesAtReference);
  return {
    at(u) {
      const rise = Math.expm1(growth * u);
      correctionAt(logKnots, weights, logReference + u, eta);
      const logSquared = (LOWEST_EXPONENT - 1) * u + (steepness * rise) / growth + eta.value - etaAtReference;
      return {
        ratio: Math.exp(logSquared / 2),
        perU: LOWEST_EXPONENT - 1 + steepness * (rise + 1) + eta.slope,
        etaSlope: eta.slope,
      };
    },
    derivatives(u) {
      const rise = Math.expm1(growth * u);
      const perKnot = new Float64Array(knotCount);
      knotShares(correction, logReference + u, perKnot);
      for (let k = 0; k < knotCount; k++) perKnot[k] -= sharesAtReference[k];
      return {
        perLogReference: -(LOWEST_EXPONENT - 1) - steepness * (rise + 1) - etaSlopeAtReference,
        perExponent: rise / growth,
        perGrowth: (steepness * (growth * u * (rise + 1) - rise)) / growth ** 2,
        perKnot,
      };
    },
    etaSlopeAtReference,
    openFraction: (u) => openVarianceFraction(correction, logReference + u),
  };
}
