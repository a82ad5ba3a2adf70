import { normalCdf } from './distributions.js';

/** A weighted sum of normal distributions; the weights sum to 1. */
export type NormalMixture = readonly {
  readonly weight: number;
  readonly mean: number;
  /** Above 0. */
  readonly standardDeviation: number;
}[];

/** Mean and standard deviation: the spread within the parts and the spread of their means. */
export function momentsOfMixture(mixture: NormalMixture): {
  readonly mean: number;
  readonly standardDeviation: number;
} {
  const mean = mixture.reduce((sum, part) => sum + part.weight * part.mean, 0);
  const variance = mixture.reduce(
    (sum, part) => sum + part.weight * (part.standardDeviation ** 2 + (part.mean - mean) ** 2),
    0,
  );
  return { mean, standardDeviation: Math.sqrt(variance) };
}

/** The value below which a share of the mixture lies, by bisection to 1e-9 of its spread. */
export function quantileOfMixture(mixture: NormalMixture, share: number): number {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  // Nine standard deviations hold all that a double can tell from 1.
  for (const { mean, standardDeviation } of mixture) {
    low = Math.min(low, mean - 9 * standardDeviation);
    high = Math.max(high, mean + 9 * standardDeviation);
  }
  const tolerance = 1e-9 * (high - low);
  while (high - low > tolerance) {
    const middle = (low + high) / 2;
    let below = 0;
    for (const { weight, mean, standardDeviation } of mixture)
      below += weight * normalCdf((middle - mean) / standardDeviation);
    if (below < share) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
