import { ArgumentError, requireNumber } from '../errors.js';

/** What the corrected information criterion is computed from. */
export interface InformationCriterionInput {
  /** Sum of squared residuals, any unit squared, above 0; the same unit for all models compared. */
  readonly sumOfSquares: number;
  /** Number of independent points n; for correlated residuals the effective number, one for all models compared. */
  readonly sampleCount: number;
  /** Number of fitted parameters p, without the residual variance. */
  readonly parameterCount: number;
}

/**
 * Akaike's information criterion with the correction for few points, of a least-squares fit.
 *
 * AICc = n ln(SSR/n) + 2 K + 2 K (K + 1)/(n − K − 1) with K = p + 1, the residual variance counted
 * [BurnhamAnderson2002, eq. 2.4]. Only differences between models of the same data mean something.
 *
 * @returns the criterion, or `undefined` where n − K − 1 <= 0: too few points for so many parameters
 * @throws ArgumentError if a number lies outside its domain
 * @example
 * aicc({ sumOfSquares: 0.12455138894, sampleCount: 14, parameterCount: 2 }); // => -57.70931901 within 1e-8
 * @example
 * aicc({ sumOfSquares: 2, sampleCount: 4, parameterCount: 2 }); // => undefined
 */
export function aicc(input: InformationCriterionInput): number | undefined {
  const caller = 'aicc';
  const { sumOfSquares, sampleCount, parameterCount } = input;
  requireNumber(
    sumOfSquares,
    {
      caller,
      argument: 'sumOfSquares',
      remedy: 'a model that meets every point exactly cannot be ranked by its residuals',
    },
    { above: 0 },
  );
  requireNumber(sampleCount, { caller, argument: 'sampleCount' }, { above: 0 });
  requireNumber(parameterCount, { caller, argument: 'parameterCount' }, { atLeast: 0 });
  const k = parameterCount + 1;
  const spare = sampleCount - k - 1;
  if (spare <= 0) return undefined;
  return sampleCount * Math.log(sumOfSquares / sampleCount) + 2 * k + (2 * k * (k + 1)) / spare;
}

/**
 * Akaike weights: how the evidence is shared among models of the same data, exp(−Δ/2) brought to a sum of 1
 * [BurnhamAnderson2002, ch. 2].
 *
 * @param criteria - one criterion per model; `undefined` where it does not exist
 * @returns one weight per model, 0 where there is no criterion; sum 1
 * @throws ArgumentError if no model has a criterion
 * @example
 * akaikeWeights([10, 12, undefined]); // => [0.73105858, 0.26894142, 0] within 1e-8
 */
export function akaikeWeights(criteria: readonly (number | undefined)[]): number[] {
  const known = criteria.filter((value) => value !== undefined);
  if (known.length === 0)
    throw new ArgumentError({
      caller: 'akaikeWeights',
      argument: 'criteria',
      expected: 'a list with at least one number',
      received: criteria,
      remedy: 'there are too few points for every model; log longer or compare simpler models',
    });
  known.forEach((value, k) => {
    requireNumber(value, { caller: 'akaikeWeights', argument: `criteria[${k}]` });
  });
  const lowest = known.reduce((a, b) => Math.min(a, b));
  const likelihoods = criteria.map((value) => (value === undefined ? 0 : Math.exp((lowest - value) / 2)));
  const total = likelihoods.reduce((a, b) => a + b);
  return likelihoods.map((value) => value / total);
}
