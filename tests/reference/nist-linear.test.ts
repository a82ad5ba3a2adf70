// NIST StRD linear regression (US government data) through the same core: a linear model is one Gauss–Newton step.
import { describe, expect, test } from 'vitest';
import { type LeastSquaresResult, leastSquares } from '../../toolkit/numerics/least-squares.js';

function fitLinear(rows: readonly (readonly number[])[], y: readonly number[]): LeastSquaresResult {
  return leastSquares(
    (b, out) => {
      rows.forEach((row, i) => {
        out[i] = row.reduce((sum, value, j) => sum + value * b[j], 0) - y[i];
      });
    },
    rows[0].map(() => 0),
    { residualCount: y.length, jacobian: (_, out) => out.set(rows.flat()) },
  );
}

function expectFit(
  fit: LeastSquaresResult,
  certified: readonly number[],
  standardDeviations: readonly number[],
  tolerance: number,
): void {
  expect(fit.termination.converged).toBe(true);
  certified.forEach((value, j) => {
    expect(Math.abs(fit.parameters[j] / value - 1), `parameter ${j}`).toBeLessThan(tolerance);
    const estimate = fit.estimates[j];
    const standardError = estimate.kind === 'estimated' ? estimate.standardError : Number.NaN;
    expect(Math.abs(standardError / standardDeviations[j] - 1), `standard deviation ${j}`).toBeLessThan(
      tolerance,
    );
  });
}

describe('NIST StRD linear regression', () => {
  test('Norris: a calibration line, to 12 digits', () => {
    const y = [
      0.1, 338.8, 118.1, 888, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
      448.9, 10.8, 557.7, 228.3, 998, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888, 998.5, 778.9, 10.2, 117.6,
      228.9, 668.4, 449.2, 0.2,
    ];
    const x = [
      0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777, 558.2, 0.4, 0.6, 775.5, 666.9, 338,
      447.5, 11.6, 556, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999, 779, 11.1, 118.3,
      229.2, 669.1, 448.9, 0.5,
    ];
    const fit = fitLinear(
      x.map((value) => [1, value]),
      y,
    );
    expectFit(fit, [-0.262323073774029, 1.00211681802045], [0.232818234301152, 0.000429796848199937], 1e-12);
    expect(Math.sqrt(fit.sumOfSquares / fit.degreesOfFreedom)).toBeCloseTo(0.884796396144373, 12);
  });

  test('Longley: nearly collinear columns of very unequal size, to 9 digits', () => {
    const y = [
      60323, 61122, 60171, 61187, 63221, 63639, 64989, 63761, 66019, 67857, 68169, 66513, 68655, 69564, 69331,
      70551,
    ];
    const x = [
      [83, 234289, 2356, 1590, 107608, 1947],
      [88.5, 259426, 2325, 1456, 108632, 1948],
      [88.2, 258054, 3682, 1616, 109773, 1949],
      [89.5, 284599, 3351, 1650, 110929, 1950],
      [96.2, 328975, 2099, 3099, 112075, 1951],
      [98.1, 346999, 1932, 3594, 113270, 1952],
      [99, 365385, 1870, 3547, 115094, 1953],
      [100, 363112, 3578, 3350, 116219, 1954],
      [101.2, 397469, 2904, 3048, 117388, 1955],
      [104.6, 419180, 2822, 2857, 118734, 1956],
      [108.4, 442769, 2936, 2798, 120445, 1957],
      [110.8, 444546, 4681, 2637, 121950, 1958],
      [112.6, 482704, 3813, 2552, 123366, 1959],
      [114.2, 502601, 3931, 2514, 125368, 1960],
      [115.7, 518173, 4806, 2572, 127852, 1961],
      [116.9, 554894, 4007, 2827, 130081, 1962],
    ];
    expectFit(
      fitLinear(
        x.map((row) => [1, ...row]),
        y,
      ),
      [
        -3482258.63459582, 15.0618722713733, -0.035819179292591, -2.02022980381683, -1.03322686717359,
        -0.0511041056535807, 1829.15146461355,
      ],
      [
        890420.383607373, 84.9149257747669, 0.0334910077722432, 0.488399681651699, 0.214274163161675,
        0.22607320006937, 455.478499142212,
      ],
      1e-9,
    );
  });

  test('Wampler1: a fifth-degree polynomial met exactly, all coefficients 1', () => {
    const x = Array.from({ length: 21 }, (_, i) => i);
    const rows = x.map((value) => [0, 1, 2, 3, 4, 5].map((power) => value ** power));
    const fit = fitLinear(
      rows,
      rows.map((row) => row.reduce((a, b) => a + b)),
    );
    expect(fit.termination.converged).toBe(true);
    // Powers up to 20⁵ = 3.2e6 leave about ten digits in double precision.
    for (const value of fit.parameters) expect(Math.abs(value - 1)).toBeLessThan(1e-9);
    expect(fit.sumOfSquares).toBeLessThan(1e-16);
  });

  test('NoInt1: a line through the origin, to 12 digits', () => {
    const x = [60, 61, 62, 63, 64, 65, 66, 67, 68, 69, 70];
    const y = [130, 131, 132, 133, 134, 135, 136, 137, 138, 139, 140];
    const fit = fitLinear(
      x.map((value) => [value]),
      y,
    );
    expectFit(fit, [2.07438016528926], [0.0165289256198347], 1e-12);
    const total = y.reduce((sum, value) => sum + value * value, 0);
    expect(1 - fit.sumOfSquares / total).toBeCloseTo(0.999365492298663, 12);
  });
});
