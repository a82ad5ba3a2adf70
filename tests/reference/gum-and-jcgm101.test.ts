// Worked examples of the Guide to the expression of uncertainty in measurement (JCGM 100:2008) and of its
// Supplement 1 (JCGM 101:2008). Figures with more digits than the documents print are recomputed.
import { describe, expect, test } from 'vitest';
import { estimated } from '../../toolkit/numerics/estimates.js';
import { leastSquares } from '../../toolkit/numerics/least-squares/least-squares.js';
import { propagateDistributions } from '../../toolkit/numerics/monte-carlo.js';
import { propagate } from '../../toolkit/numerics/propagation.js';
import type { RandomStream } from '../../toolkit/numerics/random.js';

describe('GUM H.3, calibration of a thermometer by a straight line', () => {
  const readingC = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511];
  const correctionC = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.16];
  const fit = leastSquares(
    ([y1, y2], out) => {
      readingC.forEach((t, i) => {
        out[i] = y1 + y2 * (t - 20) - correctionC[i];
      });
    },
    [0, 0],
    { residualCount: 11 },
  );
  const [[v11, v12], [, v22]] = fit.covariance;

  test('intercept, slope and their standard uncertainties are the published ones', () => {
    // Published -0.1712 (0.0029) and 0.00218 (0.00067); further digits recomputed.
    expect(fit.parameters[0]).toBeCloseTo(-0.17120379013, 9);
    expect(fit.parameters[1]).toBeCloseTo(0.00218269774, 10);
    expect(Math.sqrt(v11)).toBeCloseTo(0.00287759783, 9);
    expect(Math.sqrt(v22)).toBeCloseTo(0.00066793877, 10);
    expect(v12 / Math.sqrt(v11 * v22)).toBeCloseTo(-0.93042960309, 8);
    expect(Math.sqrt(fit.sumOfSquares / fit.degreesOfFreedom)).toBeCloseTo(0.00349756396, 9);
  });

  test('the predicted correction at 30 °C has the published uncertainty, correlation included', () => {
    // Published -0.1494 with 0.0041.
    const predicted = propagate(([y1, y2]) => y1 + 10 * y2, fit.parameters, fit.covariance);
    expect(predicted.value).toBeCloseTo(-0.14937681273, 9);
    expect(predicted.standardError).toBeCloseTo(0.00413859575, 9);
  });

  test('the 95 % interval uses Student’s t with nine degrees of freedom', () => {
    const [low, high] = estimated(0, 1, { degreesOfFreedom: fit.degreesOfFreedom }).interval95;
    expect(high).toBeCloseTo(2.26215716, 8);
    expect(low).toBe(-high);
    const intercept = fit.estimates[0];
    expect(intercept.kind === 'estimated' && intercept.interval95[1] - intercept.value).toBeCloseTo(
      2.26215716 * 0.00287759783,
      9,
    );
  });
});

describe('GUM H.2, impedance from correlated readings', () => {
  // Inputs as published, rounded: mean, standard uncertainty, correlation (value from memory).
  const values = [4.999, 19.661e-3, 1.04446];
  const u = [3.2e-3, 9.5e-6, 7.5e-4];
  const r = [
    [1, -0.36, 0.86],
    [-0.36, 1, -0.65],
    [0.86, -0.65, 1],
  ];
  const covariance = r.map((row, i) => row.map((value, j) => value * u[i] * u[j]));

  test('resistance, reactance and impedance have the published uncertainties', () => {
    // Published 127.732 (0.071), 219.847 (0.295), 254.260 (0.236); six more digits from the rounded inputs, as
    // an independent uncertainty library computes them.
    const resistance = propagate(([v, i, phi]) => (v / i) * Math.cos(phi), values, covariance);
    const reactance = propagate(([v, i, phi]) => (v / i) * Math.sin(phi), values, covariance);
    const impedance = propagate(([v, i]) => v / i, values, covariance);
    // 2e-6 relative: the difference over one standard uncertainty sees the third derivative.
    expect(resistance.standardError).toBeCloseTo(0.0699787279884, 5);
    expect(reactance.standardError).toBeCloseTo(0.295716826846, 5);
    expect(impedance.standardError).toBeCloseTo(0.236602971835, 5);
  });
});

describe('JCGM 101 section 9, propagation of distributions', () => {
  // 400,000 draws place the ends of a 95 % interval to about 0.4 % of the standard deviation, one sigma; the
  // tolerances are three of that.
  const trials = { trialCount: 400_000, seed: 101 };
  const rectangular = (random: RandomStream, standardDeviation: number): number =>
    (2 * random.uniform() - 1) * Math.sqrt(3) * standardDeviation;

  test('9.2.2: four normal inputs give ±3.92', () => {
    const sum = propagateDistributions(
      (random) => random.normal() + random.normal() + random.normal() + random.normal(),
      trials,
    );
    expect(sum.standardDeviation).toBeCloseTo(2, 1);
    expect(Math.abs(sum.interval95[1] - 3.919928)).toBeLessThan(0.03);
    expect(Math.abs(sum.interval95[0] + 3.919928)).toBeLessThan(0.03);
  });

  test('9.2.3: four rectangular inputs give ±3.88, narrower than the normal ±3.92', () => {
    const sum = propagateDistributions(
      (random) =>
        rectangular(random, 1) + rectangular(random, 1) + rectangular(random, 1) + rectangular(random, 1),
      trials,
    );
    expect(Math.abs(sum.interval95[1] - 3.879406741)).toBeLessThan(0.025);
    expect(Math.abs(sum.interval95[0] + 3.879406741)).toBeLessThan(0.025);
    const [low, high] = sum.shortestInterval95;
    expect(Math.abs(high - low - 2 * 3.879406741)).toBeLessThan(0.04);
  });

  test('9.2.4: one dominant rectangular input gives ±17.0 where first-order propagation says ±19.9', () => {
    const sum = propagateDistributions(
      (random) =>
        rectangular(random, 1) + rectangular(random, 1) + rectangular(random, 1) + rectangular(random, 10),
      trials,
    );
    expect(Math.abs(sum.interval95[1] - 17.015814)).toBeLessThan(0.1);
    const firstOrder = propagate(
      ([a, b, c, d]) => a + b + c + d,
      [0, 0, 0, 0],
      [
        [1, 0, 0, 0],
        [0, 1, 0, 0],
        [0, 0, 1, 0],
        [0, 0, 0, 100],
      ],
    );
    expect(firstOrder.standardError).toBeCloseTo(10.1488916, 6);
    expect(estimated(0, firstOrder.standardError).interval95[1]).toBeCloseTo(19.8915, 4);
  });

  test('9.3: mass calibration, where the first-order uncertainty vanishes with the buoyancy term', () => {
    const difference = (
      reference: number,
      added: number,
      air: number,
      weight: number,
      standard: number,
    ): number => (reference + added) * (1 + (air - 1.2) * (1 / weight - 1 / standard)) - 100_000;
    const mass = propagateDistributions(
      (random) =>
        difference(
          100_000 + 0.05 * random.normal(),
          1.234 + 0.02 * random.normal(),
          1.1 + 0.2 * random.uniform(),
          7000 + 2000 * random.uniform(),
          7950 + 100 * random.uniform(),
        ),
      trials,
    );
    // Published 1.2341, 0.0754, shortest interval [1.0834, 1.3825] (value from memory); recomputed with 4,000,000
    // draws 1.23397, 0.0755, [1.0850, 1.3845]. The ends scatter by 0.002 between runs of a million.
    expect(Math.abs(mass.mean - 1.23397)).toBeLessThan(0.001);
    expect(Math.abs(mass.standardDeviation - 0.0755)).toBeLessThan(0.001);
    expect(Math.abs(mass.shortestInterval95[0] - 1.085)).toBeLessThan(0.005);
    expect(Math.abs(mass.shortestInterval95[1] - 1.3845)).toBeLessThan(0.005);

    const u = [0.05, 0.02, 0.2 / Math.sqrt(12), 2000 / Math.sqrt(12), 100 / Math.sqrt(12)];
    const firstOrder = propagate(
      ([reference, added, air, weight, standard]) => difference(reference, added, air, weight, standard),
      [100_000, 1.234, 1.2, 8000, 8000],
      u.map((value, i) => u.map((_, j) => (i === j ? value * value : 0))),
    );
    // Published 0.0539 and [1.1285, 1.3395].
    expect(firstOrder.standardError).toBeCloseTo(0.0538516, 6);
    const [low, high] = estimated(firstOrder.value, firstOrder.standardError).interval95;
    expect(low).toBeCloseTo(1.12845, 4);
    expect(high).toBeCloseTo(1.33955, 4);
  });
});
