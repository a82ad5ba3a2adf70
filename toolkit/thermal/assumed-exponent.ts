/**
 * What is assumed of the power exponent q in R ∝ P^(−q) where one power alone was logged.
 *
 * A fan at fixed speed leaves almost none (q ≈ 0); natural convection on part of the surface adds up to
 * q = p / (1 + p) with p = 1/4 to 1/3 [Bergman2011, ch. 9]. For small fan-cooled coolers a
 * small exponent with a spread of two thirds of itself is carried along, as simulated coolers have it whose last resistance
 * goes with ΔT^(−0.03) to ΔT^(−0.2). It matters away from the logged power, and a
 * little for stages and total, because it bends the course of a run.
 */
export const ASSUMED_EXPONENT: { readonly mean: number; readonly standardDeviation: number } = {
  mean: 0.042,
  standardDeviation: 0.026,
};
