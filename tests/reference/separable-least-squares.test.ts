// NIST StRD nonlinear regression (US government data): the sums of exponentials among the certified sets, fitted
// with their linear parameters projected out. Lanczos3 has six parameters, three of them linear.
import { describe, expect, test } from 'vitest';
import { nonnegativeLeastSquares } from '../../toolkit/numerics/least-squares/nonnegative-least-squares.js';
import {
  minimizeSeparable,
  type SeparableProblem,
} from '../../toolkit/numerics/least-squares/separable-least-squares.js';
import { certifiedFits } from './fixtures/nist-strd.js';

/** y = Σ cₖ exp(−λₖ x), cₖ ≥ 0, searched over log λₖ. */
function sumOfDecays(x: readonly number[], y: readonly number[], count: number): SeparableProblem {
  const linearParameters = new Float64Array(count);
  const rates = new Float64Array(count);
  const width = 2 * count;
  return {
    nonlinearCount: count,
    linearCount: count,
    linearParameters,
    lowerBounds: new Float64Array(count).fill(-10),
    upperBounds: new Float64Array(count).fill(10),
    evaluate(parameters) {
      parameters.forEach((logRate, k) => {
        rates[k] = Math.exp(logRate);
      });
      const gram = new Float64Array(count * count);
      const products = new Float64Array(count);
      x.forEach((at, i) => {
        for (let k = 0; k < count; k++) {
          products[k] += Math.exp(-rates[k] * at) * y[i];
          for (let l = 0; l < count; l++) gram[k * count + l] += Math.exp(-(rates[k] + rates[l]) * at);
        }
      });
      nonnegativeLeastSquares(gram, products, linearParameters);
      return x.reduce((sum, at, i) => sum + residual(at, y[i]) ** 2, 0);
    },
    accumulate() {
      const gram = new Float64Array(width * width);
      const gradient = new Float64Array(width);
      x.forEach((at, i) => {
        const row = [
          ...Array.from(rates, (rate, k) => -linearParameters[k] * rate * at * Math.exp(-rate * at)),
          ...Array.from(rates, (rate) => Math.exp(-rate * at)),
        ];
        row.forEach((a, j) => {
          gradient[j] += a * residual(at, y[i]);
          row.forEach((b, k) => {
            gram[j * width + k] += a * b;
          });
        });
      });
      return { gram, gradient };
    },
  };

  function residual(at: number, measured: number): number {
    return linearParameters.reduce((sum, c, k) => sum + c * Math.exp(-rates[k] * at), -measured);
  }
}

describe('minimizeSeparable on NIST StRD', () => {
  const set = certifiedFits.find(({ name }) => name === 'Lanczos3');
  if (set === undefined) throw new Error('the fixture has no Lanczos3');

  test.each([
    ['start 1', [0.3, 5.5, 7.6]],
    ['start 2', [0.7, 4.2, 6.3]],
  ])('Lanczos3 from the rates of %s', (_, startRates) => {
    const problem = sumOfDecays(set.x, set.y, 3);
    const found = minimizeSeparable(problem, startRates.map(Math.log));
    expect(found.termination.converged).toBe(true);
    // Certified: rates b2, b4, b6 = 0.95498101505, 2.9515951832, 4.9863565084; residual sum of squares
    // 1.6117193594E-08. The valley is so flat that a relative change of the sum by 1e-9, where the search may end,
    // moves the rates in their fourth digit.
    expect(found.cost / 1.6117193594e-8).toBeCloseTo(1, 5);
    const rates = Array.from(found.parameters, Math.exp);
    expect(rates[0]).toBeCloseTo(0.95498101505, 2);
    expect(rates[1]).toBeCloseTo(2.9515951832, 1);
    expect(rates[2]).toBeCloseTo(4.9863565084, 2);
  });
});
