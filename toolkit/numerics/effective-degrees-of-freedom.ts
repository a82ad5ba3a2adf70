import { ArgumentError, requireNumber } from '../errors.js';

/** One independent part of a combined variance. */
export interface VariancePart {
  /** In the square of the result's unit, at least 0. */
  readonly variance: number;
  /** Behind that variance, above 0; infinite where it is known. */
  readonly degreesOfFreedom: number;
}

/**
 * Degrees of freedom behind a sum of independent variances: the Welch–Satterthwaite formula
 * ν = (Σ uᵢ²)² / Σ (uᵢ⁴ / νᵢ) [JCGM100, G.4.1].
 *
 * @param parts - one or more variances with their degrees of freedom; any unit, the same for all
 * @returns effective degrees of freedom, not rounded; infinite where all parts are known or 0
 * @throws ArgumentError if there is no part, a variance is negative or degrees of freedom are not positive
 * @example
 * effectiveDegreesOfFreedom([{ variance: 4, degreesOfFreedom: 6 }, { variance: 4, degreesOfFreedom: 6 }]); // => 12
 */
export function effectiveDegreesOfFreedom(parts: readonly VariancePart[]): number {
  const caller = 'effectiveDegreesOfFreedom';
  if (parts.length === 0)
    throw new ArgumentError({ caller, argument: 'parts', expected: 'one part or more', received: parts });
  let total = 0;
  let divisor = 0;
  parts.forEach(({ variance, degreesOfFreedom }, i) => {
    requireNumber(variance, { caller, argument: `parts[${i}].variance` }, { atLeast: 0 });
    if (degreesOfFreedom !== Number.POSITIVE_INFINITY)
      requireNumber(degreesOfFreedom, { caller, argument: `parts[${i}].degreesOfFreedom` }, { above: 0 });
    total += variance;
    divisor += variance ** 2 / degreesOfFreedom;
  });
  return divisor === 0 ? Number.POSITIVE_INFINITY : total ** 2 / divisor;
}
