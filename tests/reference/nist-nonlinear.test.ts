// NIST StRD nonlinear regression (US government data): certified parameters and standard deviations, from both
// starting points.
import { describe, expect, test } from 'vitest';
import { digitsOfAgreement, fewestDigits, fitNonlinear, standardErrorsOf } from './fixtures/nist-digits.js';
import { certifiedFits } from './fixtures/nist-strd.js';

const CERTIFIED_DIGITS = 11;

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
      const fit = fitNonlinear(set, set[start]);
      expect(fit.termination).toMatchObject({ converged: true });
      expect(fewestDigits(fit.parameters, set.certified, CERTIFIED_DIGITS)).toBeGreaterThanOrEqual(
        wanted.parameters,
      );
      expect(fit.degreesOfFreedom).toBe(set.y.length - set.certified.length);
      // Lanczos1 is exact to 13 digits: its certified sum of squares, 1.4e-25, and the standard deviations that
      // scale with its root lie below the rounding of the data in double precision.
      if (set.name === 'Lanczos1') return;
      expect(
        fewestDigits(standardErrorsOf(fit.estimates), set.standardDeviations, CERTIFIED_DIGITS),
      ).toBeGreaterThanOrEqual(wanted.standardDeviations);
      expect(
        digitsOfAgreement(fit.sumOfSquares, set.residualSumOfSquares, CERTIFIED_DIGITS),
      ).toBeGreaterThanOrEqual(9);
    },
  );
});

test('the work stays within what is usual for the method', () => {
  // Guards against a slower iteration; counts from the easier start, differences included (n = 2 to 9).
  for (const set of certifiedFits.filter(({ difficulty }) => difficulty === 'Lower')) {
    const { jacobians } = fitNonlinear(set, set.start2).evaluationCounts;
    expect(jacobians, set.name).toBeLessThanOrEqual(12);
  }
});
