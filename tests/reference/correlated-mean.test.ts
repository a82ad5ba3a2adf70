// First-order autoregressive series, of which (1 + φ)/(1 − φ) samples are worth an independent one [Priestley1981, sec. 5.3]
// (closed form from memory).
import { describe, expect, test } from 'vitest';
import {
  meanWithAutocorrelation,
  samplesPerIndependentSample,
  slopeWithAutocorrelation,
} from '../../toolkit/numerics/autocorrelation.js';
import { type RandomStream, seededRandom } from '../../toolkit/numerics/random.js';

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
