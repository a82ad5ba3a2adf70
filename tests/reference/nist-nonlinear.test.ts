// NIST StRD nonlinear regression (US government data): certified parameters and standard deviations, from both
// starting points. LRE = −log10(|computed − certified|/|certified|), the measure NIST uses.
import { describe, expect, test } from 'vitest';
import { type LeastSquaresResult, leastSquares } from '../../toolkit/numerics/least-squares.js';
import { type CertifiedFit, certifiedFits } from './fixtures/nist-strd.js';

// Eleven digits are certified.
const agreement = (computed: number, certified: number): number =>
  Math.min(11, -Math.log10(Math.abs(computed - certified) / Math.abs(certified)));

const worst = (computed: ArrayLike<number>, certified: readonly number[]): number =>
  Math.min(...certified.map((value, k) => agreement(computed[k], value)));

function fitFrom(set: CertifiedFit, start: readonly number[]): LeastSquaresResult {
  return leastSquares(
    (b, out) => {
      for (let i = 0; i < out.length; i += 1) out[i] = set.model(b, set.x[i], set.x2?.[i] ?? 0) - set.y[i];
    },
    start,
    { residualCount: set.y.length },
  );
}

const standardErrors = (fit: LeastSquaresResult): number[] =>
  fit.estimates.map((estimate) => (estimate.kind === 'estimated' ? estimate.standardError : Number.NaN));

// Parameters to 6 digits and standard deviations to 5 at the lower and average levels, 4 at the higher level; the
// core reaches 6.1 and 5.8 everywhere.
const digits = {
  Lower: { parameters: 6, standardDeviations: 5 },
  Average: { parameters: 6, standardDeviations: 5 },
  Higher: { parameters: 6, standardDeviations: 4 },
} as const;

describe.each(certifiedFits)('NIST StRD $name ($difficulty)', (set) => {
  const wanted = digits[set.difficulty];

  test.each(['start1', 'start2'] as const)(
    'from %s the fit converges to the certified parameters and standard deviations',
    (start) => {
      const fit = fitFrom(set, set[start]);
      expect(fit.termination).toMatchObject({ converged: true });
      expect(worst(fit.parameters, set.certified)).toBeGreaterThanOrEqual(wanted.parameters);
      expect(fit.degreesOfFreedom).toBe(set.y.length - set.certified.length);
      // Lanczos1 is exact to 13 digits: its certified sum of squares, 1.4e-25, and the standard deviations that
      // scale with its root lie below the rounding of the data in double precision.
      if (set.name === 'Lanczos1') return;
      expect(worst(standardErrors(fit), set.standardDeviations)).toBeGreaterThanOrEqual(
        wanted.standardDeviations,
      );
      expect(agreement(fit.sumOfSquares, set.residualSumOfSquares)).toBeGreaterThanOrEqual(9);
    },
  );
});

test('the work stays within what is usual for the method', () => {
  // Guards against a slower iteration; counts from the easier start, differences included (n = 2 to 9).
  for (const set of certifiedFits.filter(({ difficulty }) => difficulty === 'Lower')) {
    const { jacobians } = fitFrom(set, set.start2).evaluationCounts;
    expect(jacobians, set.name).toBeLessThanOrEqual(12);
  }
});
