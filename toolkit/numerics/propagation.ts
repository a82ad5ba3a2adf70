import { ArgumentError, NumericalError, requireNumber } from '../errors.js';

/** A function of uncertain quantities with its first-order standard uncertainty. */
export interface PropagatedUncertainty {
  readonly value: number;
  readonly standardError: number;
  /** Change of the result per unit of each quantity. */
  readonly sensitivities: readonly number[];
}

/**
 * Standard uncertainty of a function of correlated quantities, to first order.
 *
 * u² = Σᵢ Σⱼ cᵢ cⱼ cov(xᵢ, xⱼ) [JCGM100, eq. 13], the sensitivities by central difference over one standard
 * uncertainty, cᵢ = [f(xᵢ + u(xᵢ)) − f(xᵢ − u(xᵢ))]/(2 u(xᵢ)) [JCGM100, 5.1.3 note 2]. Good where f is nearly straight
 * over the uncertainties; otherwise use `propagateDistributions`.
 *
 * @param f - the function; must not keep the array it is given
 * @param values - best estimates, length n
 * @param covariance - n × n, in products of the units of `values`
 * @returns value, standard uncertainty and sensitivities
 * @throws ArgumentError if the sizes differ or a variance is negative
 * @throws NumericalError if f is not finite within one standard uncertainty of the values
 * @example
 * propagate(([r, p]) => r * p, [0.5, 100], [[0.0001, 0], [0, 1]]); // => ({ value: 50, standardError: 1.11803399 }) within 1e-8
 */
export function propagate(
  f: (values: Float64Array) => number,
  values: ArrayLike<number>,
  covariance: readonly (readonly number[])[],
): PropagatedUncertainty {
  const caller = 'propagate';
  const n = values.length;
  if (covariance.length !== n || covariance.some((row) => row.length !== n))
    throw new ArgumentError({
      caller,
      argument: 'covariance',
      expected: `${n} rows of ${n} numbers, as many as there are values`,
      received: covariance,
    });
  const x = Float64Array.from(values);
  const evaluate = (): number => {
    const result = f(x);
    if (!Number.isFinite(result))
      throw new NumericalError(
        `propagate: the function is ${result} at (${x.join(', ')}), within one standard uncertainty of the values; keep the quantities inside its domain or propagate distributions`,
      );
    return result;
  };
  const value = evaluate();
  const sensitivities = Array.from(values, (centre, i) => {
    requireNumber(centre, { caller, argument: `values[${i}]` });
    requireNumber(covariance[i][i], { caller, argument: `covariance[${i}][${i}]` }, { atLeast: 0 });
    const step = Math.sqrt(covariance[i][i]);
    if (step === 0) return 0;
    x[i] = centre + step;
    const above = evaluate();
    x[i] = centre - step;
    const below = evaluate();
    x[i] = centre;
    return (above - below) / (2 * step);
  });
  let variance = 0;
  sensitivities.forEach((ci, i) => {
    sensitivities.forEach((cj, j) => {
      variance += ci * cj * covariance[i][j];
    });
  });
  // Fully correlated quantities may cancel exactly; what is left below zero is rounding.
  return { value, standardError: Math.sqrt(Math.max(0, variance)), sensitivities };
}
