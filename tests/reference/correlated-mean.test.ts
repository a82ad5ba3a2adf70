// Mean of a first-order autoregressive series: Var(mean)/σ² = 1/n [(1 + φ)/(1 − φ) − 2 φ (1 − φⁿ)/(n (1 − φ)²)]
// [Priestley1981, sec. 5.3] (closed form from memory, confirmed by summing; figures recomputed).
import { describe, expect, test } from 'vitest';
import {
  meanWithAutocorrelation,
  samplesPerIndependentSample,
  slopeWithAutocorrelation,
  varianceRatioOfMean,
} from '../../toolkit/numerics/autocorrelation.js';
import { type RandomStream, seededRandom } from '../../toolkit/numerics/random.js';

const closedForm: readonly (readonly [n: number, phi: number, varianceRatio: number])[] = [
  [10, 0, 0.1],
  [10, 0.3, 0.17346946006000005],
  [10, 0.5, 0.26003906250000003],
  [10, 0.8, 0.5429496729600001],
  [10, 0.9, 0.7276211921799999],
  [10, 0.95, 0.85040073821168],
  [10, -0.5, 0.0377734375],
  [50, 0, 0.02],
  [50, 0.3, 0.0366530612244898],
  [50, 0.5, 0.0584],
  [50, 0.8, 0.16400022835963085],
  [50, 0.9, 0.30837107181492707],
  [50, 0.95, 0.49939127248412063],
  [50, -0.5, 0.006844444444444445],
  [200, 0, 0.005],
  [200, 0.3, 0.009255102040816327],
  [200, 0.5, 0.0149],
  [200, 0.8, 0.04400000000000001],
  [200, 0.9, 0.0905000000031748],
  [200, 0.95, 0.17600066600065858],
  [200, -0.5, 0.0016777777777777778],
  [1000, 0, 0.001],
  [1000, 0.3, 0.0018559183673469391],
  [1000, 0.5, 0.002996],
  [1000, 0.8, 0.008960000000000003],
  [1000, 0.9, 0.018820000000000003],
  [1000, 0.95, 0.03823999999999997],
  [1000, -0.5, 0.0003337777777777778],
];

test.each(closedForm)('the mean of %d samples with lag-1 correlation %d', (n, phi, varianceRatio) => {
  // 1e-11: sums of up to 1,000 terms.
  expect(Math.abs(varianceRatioOfMean((lag) => phi ** lag, n) / varianceRatio - 1)).toBeLessThan(1e-11);
});

/** Correlation time in samples (0: none); white noise of the given standard deviation on top; unit variance below it. */
function series(random: RandomStream, n: number, correlationTime: number, whiteNoise = 0): number[] {
  const phi = correlationTime > 0 ? Math.exp(-1 / correlationTime) : 0;
  let state = random.normal();
  return Array.from({ length: n }, () => {
    const value = state + whiteNoise * random.normal();
    state = phi * state + Math.sqrt(1 - phi * phi) * random.normal();
    return value;
  });
}

const trueSpacing = (correlationTime: number, whiteNoise = 0): number => {
  const phi = correlationTime > 0 ? Math.exp(-1 / correlationTime) : 0;
  return ((1 + phi) / (1 - phi) + whiteNoise ** 2) / (1 + whiteNoise ** 2);
};

// 1,000 records each; the standard error of a share of 95 % is 0.7 points. The bounds are the claims in the doc
// comments: the share that must hold the truth, and how far the middle estimate may lie from it.
const cases = [
  { n: 120, correlationTime: 0, whiteNoise: 0, coverage: [0.93, 0.985], ratio: [0.95, 1.1] },
  { n: 120, correlationTime: 2, whiteNoise: 0, coverage: [0.92, 0.98], ratio: [0.9, 1.1] },
  { n: 600, correlationTime: 20, whiteNoise: 0, coverage: [0.9, 0.98], ratio: [0.85, 1.1] },
  { n: 2000, correlationTime: 20, whiteNoise: 0, coverage: [0.92, 0.98], ratio: [0.9, 1.1] },
  { n: 600, correlationTime: 20, whiteNoise: 1, coverage: [0.89, 0.98], ratio: [0.75, 1.1] },
  // Records of ten correlation times and no more.
  { n: 120, correlationTime: 12, whiteNoise: 0, coverage: [0.86, 0.98], ratio: [0.7, 1.1] },
  { n: 600, correlationTime: 60, whiteNoise: 1, coverage: [0.85, 0.98], ratio: [0.6, 1.1] },
] as const;

describe('simulated first-order series', () => {
  test.each(cases)(
    'n = $n, correlation time $correlationTime, white noise $whiteNoise: the 95 % interval of the mean holds the truth',
    ({ n, correlationTime, whiteNoise, coverage, ratio }) => {
      const random = seededRandom(2024);
      const spacings: number[] = [];
      let held = 0;
      for (let record = 0; record < 1000; record += 1) {
        const result = meanWithAutocorrelation(series(random, n, correlationTime, whiteNoise));
        if (result.estimate.kind !== 'estimated') throw new Error('every record has a spread');
        const [low, high] = result.estimate.interval95;
        if (low <= 0 && high >= 0) held += 1;
        spacings.push(result.samplesPerIndependentSample);
      }
      expect(held / 1000).toBeGreaterThanOrEqual(coverage[0]);
      expect(held / 1000).toBeLessThanOrEqual(coverage[1]);
      const middle = spacings.sort((a, b) => a - b)[500] / trueSpacing(correlationTime, whiteNoise);
      expect(middle).toBeGreaterThanOrEqual(ratio[0]);
      expect(middle).toBeLessThanOrEqual(ratio[1]);
    },
  );

  test('a steady series seldom counts as drifting, a drifting one is found', () => {
    const random = seededRandom(7);
    const t = Array.from({ length: 120 }, (_, i) => i);
    let falseAlarms = 0;
    let found = 0;
    for (let record = 0; record < 500; record += 1) {
      const steady = series(random, 120, 3);
      if ((slopeWithAutocorrelation(t, steady).chanceWithoutDrift ?? 1) < 0.05) falseAlarms += 1;
      // A drift of four standard deviations over the record.
      const drifting = steady.map((value, i) => value + i / 30);
      if ((slopeWithAutocorrelation(t, drifting).chanceWithoutDrift ?? 1) < 0.05) found += 1;
    }
    expect(falseAlarms / 500).toBeGreaterThan(0.02);
    expect(falseAlarms / 500).toBeLessThan(0.09);
    expect(found / 500).toBeGreaterThan(0.9);
  });

  test('a long record is judged through block means, within 20 %', () => {
    const random = seededRandom(3);
    expect(samplesPerIndependentSample(series(random, 200_000, 500)) / trueSpacing(500)).toBeGreaterThan(0.8);
    expect(samplesPerIndependentSample(series(random, 200_000, 500)) / trueSpacing(500)).toBeLessThan(1.2);
  });
});
