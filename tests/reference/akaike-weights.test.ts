// Corrected information criterion [BurnhamAnderson2002, eq. 2.4], the residual variance counted, from certified
// residual sums of squares of NIST StRD (US government data); criteria and weights recomputed.
import { expect, test } from 'vitest';
import { aicc, akaikeWeights } from '../../toolkit/numerics/information-criterion.js';
import { leastSquares } from '../../toolkit/numerics/least-squares/least-squares.js';
import { certifiedFits } from './fixtures/nist-strd.js';

const names = ['Misra1a', 'Misra1b', 'Misra1c', 'Misra1d'] as const;
const sets = names.map((name) => {
  const set = certifiedFits.find((candidate) => candidate.name === name);
  if (!set) throw new Error(`${name} is missing from the fixture`);
  return set;
});
const weights = [0.0003716079, 0.0123970617, 0.8922733723, 0.0949579581];

test('Misra1a to d are four models of one data set, and the third carries 89 % of the weight', () => {
  for (const { x, y } of sets) {
    expect(x).toEqual(sets[0].x);
    expect(y).toEqual(sets[0].y);
  }
  const criteria = sets.map(({ residualSumOfSquares: sumOfSquares, y, certified }) =>
    aicc({ sumOfSquares, sampleCount: y.length, parameterCount: certified.length }),
  );
  akaikeWeights(criteria).forEach((weight, k) => {
    expect(weight).toBeCloseTo(weights[k], 9);
  });
});

test('the weights follow from our own fits as well', () => {
  const criteria = sets.map((set) => {
    const fit = leastSquares(
      (b, out) => {
        for (let i = 0; i < out.length; i += 1) out[i] = set.model(b, set.x[i], 0) - set.y[i];
      },
      set.start1,
      { residualCount: set.y.length },
    );
    return aicc({ sumOfSquares: fit.sumOfSquares, sampleCount: 14, parameterCount: 2 });
  });
  akaikeWeights(criteria).forEach((weight, k) => {
    expect(weight).toBeCloseTo(weights[k], 8);
  });
});

test.each([
  ['Misra1a', 0.12455138894, 14, 2, -57.70931901399543],
  ['MGH17', 5.4648946975e-5, 33, 5, -424.0351404954184],
  ['BoxBOD', 1168.0088766, 6, 2, 49.62777776376004],
] as const)('criterion of %s', (_, sumOfSquares, sampleCount, parameterCount, expected) => {
  expect(aicc({ sumOfSquares, sampleCount, parameterCount })).toBeCloseTo(expected, 9);
});
