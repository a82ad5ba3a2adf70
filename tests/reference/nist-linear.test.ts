// NIST StRD linear regression (US government data), all eleven sets, through the core that also fits nonlinear models.
import { describe, expect, test } from 'vitest';
import { digitsOfAgreement, fewestDigits, fitLinear, standardErrorsOf } from './fixtures/nist-digits.js';
import { certifiedLinearFits } from './fixtures/nist-strd-linear.js';

const CERTIFIED_DIGITS = 15;

// Reached, less half a digit or a little more. Powers up to 20⁵ = 3.2e6 cost five to six digits of the Wampler sets, and
// noise costs the coefficients of Wampler4 and Wampler5 (all 1, standard deviations up to 2.4e5 and 2.4e7) as many more.
// Filip's columns have a condition of 1.8e15, so that a tool may refuse it as rank deficient; this one need not.
const wanted: Readonly<Record<string, { readonly values: number; readonly standardDeviations: number }>> = {
  Norris: { values: 12, standardDeviations: 13 },
  Pontius: { values: 12, standardDeviations: 12.5 },
  NoInt1: { values: 14, standardDeviations: 14 },
  NoInt2: { values: 14, standardDeviations: 14 },
  Filip: { values: 8.5, standardDeviations: 7 },
  Longley: { values: 10, standardDeviations: 12 },
  Wampler1: { values: 9.5, standardDeviations: 9 },
  Wampler2: { values: 12, standardDeviations: 13.5 },
  Wampler3: { values: 9, standardDeviations: 13 },
  Wampler4: { values: 7, standardDeviations: 13 },
  Wampler5: { values: 5, standardDeviations: 13 },
};

describe.each(certifiedLinearFits)('NIST StRD $name ($difficulty)', (set) => {
  const fit = fitLinear(set);

  test('coefficients and standard deviations agree with the certified ones to the digits stated above', () => {
    expect(fit.termination.converged).toBe(true);
    expect(fit.covarianceOrder).toHaveLength(set.certified.length);
    expect(fewestDigits(fit.parameters, set.certified, CERTIFIED_DIGITS)).toBeGreaterThanOrEqual(
      wanted[set.name].values,
    );
    expect(
      fewestDigits(standardErrorsOf(fit.estimates), set.standardDeviations, CERTIFIED_DIGITS),
    ).toBeGreaterThanOrEqual(wanted[set.name].standardDeviations);
  });

  test('so does the residual standard deviation', () => {
    const computed = Math.sqrt(fit.sumOfSquares / fit.degreesOfFreedom);
    // Filip's curve adds terms of a thousand that cancel down to residuals of 0.003: 8.6 digits are reached.
    const enough = set.name === 'Filip' ? 8 : set.residualStandardDeviation === 0 ? 9 : 12.5;
    expect(digitsOfAgreement(computed, set.residualStandardDeviation, CERTIFIED_DIGITS)).toBeGreaterThan(
      enough,
    );
  });
});

test('NoInt1: the share of the sum of squares about zero that the line explains', () => {
  const set = certifiedLinearFits.find(({ name }) => name === 'NoInt1');
  if (set === undefined) throw new Error('the set is in the fixture');
  const total = set.y.reduce((sum, value) => sum + value * value, 0);
  expect(1 - fitLinear(set).sumOfSquares / total).toBeCloseTo(0.999365492298663, 12);
});
