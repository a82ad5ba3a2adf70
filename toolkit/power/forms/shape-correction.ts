import { NumericalError } from '../../errors.js';
import { choleskyFactor, choleskySolve } from '../../numerics/cholesky.js';

/** Distance in ln f over which the correction changes: a tenth in frequency. */
export const SHAPE_SCALE_RATIO = 0.1;

/** Knots lie about this far apart in ln f. */
const KNOT_SPACING_RATIO = 0.035;
const MOST_KNOTS = 10;

/**
 * A smooth curve of unknown shape over frequency: a Gaussian process with the Matérn kernel of order 3/2,
 * k(d) = (1 + √3·d/ℓ)·e^(−√3·d/ℓ), d the distance in ln f [Rasmussen2006, ch. 4], carried by its values at knots.
 */
export interface ShapeCorrection {
  readonly knotsMHz: readonly number[];
  readonly logKnots: readonly number[];
  /** Lower Cholesky factor of the knots' correlations, row-major. */
  readonly factor: Float64Array;
}

/** Knots spread evenly in ln f over a range of frequencies; one in its middle where the range is narrow. */
export function knotsOver(lowMHz: number, highMHz: number): number[] {
  const width = Math.log(highMHz / lowMHz);
  const intervals = Math.min(MOST_KNOTS - 1, Math.ceil(width / KNOT_SPACING_RATIO));
  if (intervals < 2) return [Math.sqrt(lowMHz * highMHz)];
  return Array.from({ length: intervals + 1 }, (_, k) => lowMHz * (highMHz / lowMHz) ** (k / intervals));
}

/** The correction over given knots. */
export function shapeCorrection(knotsMHz: readonly number[]): ShapeCorrection {
  const count = knotsMHz.length;
  const logKnots = knotsMHz.map((knot) => Math.log(knot));
  const factor = new Float64Array(count * count);
  for (let i = 0; i < count; i++)
    for (let j = 0; j < count; j++)
      factor[i * count + j] = kernel(Math.log(knotsMHz[i] / knotsMHz[j])) + (i === j ? 1e-9 : 0);
  if (!choleskyFactor(factor, count)) {
    throw new NumericalError('shapeCorrection: two knots coincide; spread them out');
  }
  return { knotsMHz, logKnots, factor };
}

/** Weights v with η(f) = Σ vₖ·k(ln f − ln fₖ), from the values of η at the knots. */
export function weightsOf({ knotsMHz, factor }: ShapeCorrection, values: ArrayLike<number>): Float64Array {
  const weights = Float64Array.from(knotsMHz, (_, k) => values[k]);
  choleskySolve(factor, knotsMHz.length, weights);
  return weights;
}

/** Weights of the knots' values in η(f), in `out`. */
export function knotShares(
  { logKnots, factor }: ShapeCorrection,
  logFrequency: number,
  out: Float64Array,
): void {
  for (let k = 0; k < logKnots.length; k++) out[k] = kernel(logFrequency - logKnots[k]);
  choleskySolve(factor, logKnots.length, out);
}

/** Variance of η(f) that the knots leave open, as a fraction of its prior variance; 1 far from all knots. */
export function openVarianceFraction(correction: ShapeCorrection, logFrequency: number): number {
  const { logKnots } = correction;
  const shares = new Float64Array(logKnots.length);
  knotShares(correction, logFrequency, shares);
  let carried = 0;
  for (let k = 0; k < logKnots.length; k++) carried += shares[k] * kernel(logFrequency - logKnots[k]);
  return Math.min(1, Math.max(0, 1 - carried));
}

const RATE = Math.sqrt(3) / SHAPE_SCALE_RATIO;

/** Correlation at a distance in ln f. */
export function kernel(distance: number): number {
  const scaled = RATE * Math.abs(distance);
  return (1 + scaled) * Math.exp(-scaled);
}

/** Writes Σ vₖ·k(ln f − ln fₖ) and its derivative with respect to ln f into `out`. */
export function correctionAt(
  logKnots: ArrayLike<number>,
  weights: ArrayLike<number>,
  logFrequency: number,
  out: { value: number; slope: number },
): void {
  let value = 0;
  let slope = 0;
  for (let k = 0; k < logKnots.length; k++) {
    const distance = logFrequency - logKnots[k];
    const scaled = RATE * Math.abs(distance);
    const decay = weights[k] * Math.exp(-scaled);
    value += (1 + scaled) * decay;
    slope -= RATE * RATE * distance * decay;
  }
  out.value = value;
  out.slope = slope;
}
