// Straight lines with uncertain points: worked examples of ISO/TS 28037:2010 (figures as an independent uncertainty
// library quotes them), Pearson's data with York's weights, Eurachem/CITAC QUAM example A5 and NIST's Norris set.
import { describe, expect, test } from 'vitest';
import type { Estimate } from '../../toolkit/numerics/estimate.js';
import {
  inverseOfLine,
  type LinePoint,
  lineAt,
  type WeightedLine,
  weightedLine,
} from '../../toolkit/numerics/weighted-line.js';

const standardErrorOf = (estimate: Estimate): number =>
  estimate.kind === 'estimated' ? estimate.standardError : Number.NaN;

const pointsOf = (
  x: readonly number[],
  y: readonly number[],
  yStandardError: readonly number[],
  xStandardError?: readonly number[],
): LinePoint[] =>
  x.map((value, i) => ({
    x: value,
    y: y[i],
    yStandardError: yStandardError[i],
    ...(xStandardError === undefined ? {} : { xStandardError: xStandardError[i] }),
  }));

/** Published digits first; the recomputed ones (weighted least squares and orthogonal distances) decide. */
function expectLine(
  line: WeightedLine,
  expected: { a: number; b: number; ua: number; ub: number; covariance: number; chiSquare: number },
  tolerance: number,
): void {
  const close = (computed: number | undefined, wanted: number): void =>
    expect(Math.abs((computed ?? Number.NaN) / wanted - 1)).toBeLessThan(tolerance);
  close(line.intercept.value, expected.a);
  close(line.slope.value, expected.b);
  close(standardErrorOf(line.intercept), expected.ua);
  close(standardErrorOf(line.slope), expected.ub);
  close(line.covariance[0][1], expected.covariance);
  close(line.chiSquare, expected.chiSquare);
  expect(line.termination.converged).toBe(true);
}

describe('ISO/TS 28037 example, p. 13: equal weights', () => {
  const line = weightedLine(
    pointsOf([1, 2, 3, 4, 5, 6], [3.3, 5.6, 7.1, 9.3, 10.7, 12.1], [0.5, 0.5, 0.5, 0.5, 0.5, 0.5]),
  );

  test('gives the published line: 1.866667 (0.4654747), 1.757143 (0.1195229), covariance −0.05, χ² 1.665', () => {
    expectLine(
      line,
      {
        a: 1.8666666666666754,
        b: 1.757142857142856,
        ua: 0.4654746681256314,
        ub: 0.11952286093343936,
        covariance: -0.05,
        chiSquare: 1.664761904761909,
      },
      1e-11,
    );
    // χ² below 9.488, the 95 % quantile for four degrees of freedom.
    expect(line).toMatchObject({ degreesOfFreedom: 4, isConsistent: true, uncertaintyFrom: 'points' });
  });

  test('reaches y = 10.5 (0.5) at the published x = 4.913 (0.322)', () => {
    const reached = inverseOfLine(line, { y: 10.5, yStandardError: 0.5 });
    expect(reached.value).toBeCloseTo(4.913279132791326, 11);
    expect(standardErrorOf(reached)).toBeCloseTo(0.32203556012891016, 11);
  });
});

describe('ISO/TS 28037 example, p. 14: unequal weights', () => {
  const line = weightedLine(
    pointsOf([1, 2, 3, 4, 5, 6], [3.2, 4.3, 7.6, 8.6, 11.7, 12.8], [0.5, 0.5, 0.5, 1, 1, 1]),
  );

  test('gives the published line: 0.8852 (0.5297081), 2.057 (0.177892), covariance −0.08227848, χ² 4.131', () => {
    expectLine(
      line,
      {
        a: 0.8852320675105455,
        b: 2.0569620253164556,
        ua: 0.5297081435088364,
        ub: 0.17789201674120503,
        covariance: -0.08227848101265822,
        chiSquare: 4.13080168776371,
      },
      1e-11,
    );
    expect(line.isConsistent).toBe(true);
  });

  test('reaches y = 10.5 (1.0) at the published x = 4.674 (0.533)', () => {
    const reached = inverseOfLine(line, { y: 10.5, yStandardError: 1 });
    expect(reached.value).toBeCloseTo(4.674256410256413, 11);
    expect(standardErrorOf(reached)).toBeCloseTo(0.5331809022312939, 11);
  });
});

test('ISO/TS 28037 example, p. 21: x and y uncertain: 0.5788 (0.4764), 2.1597 (0.1355), covariance −0.0577, χ² 2.743', () => {
  const line = weightedLine(
    pointsOf(
      [1.2, 1.9, 2.9, 4, 4.7, 5.9],
      [3.4, 4.4, 7.2, 8.5, 10.8, 13.5],
      [0.2, 0.2, 0.2, 0.4, 0.4, 0.4],
      [0.2, 0.2, 0.2, 0.2, 0.2, 0.2],
    ),
  );
  // The recomputed figures come from an iteration that stopped at about eight digits.
  expectLine(
    line,
    {
      a: 0.5788221031037044,
      b: 2.1596565713902445,
      ua: 0.4764206589163515,
      ub: 0.13554794663666186,
      covariance: -0.0577169521973913,
      chiSquare: 2.742676789730963,
    },
    1e-6,
  );
});

describe('Pearson’s data with York’s weights', () => {
  const inverseRoot = (weights: readonly number[]): number[] =>
    weights.map((weight) => 1 / Math.sqrt(weight));
  const x = [0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
  const y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
  const ux = inverseRoot([1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1]);
  const uy = inverseRoot([1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500]);
  const line = weightedLine(pointsOf(x, y, uy, ux));

  test('give the line of the literature, 5.47991022 and −0.480533407', () => {
    expect(line.intercept.value).toBeCloseTo(5.47991022, 7);
    expect(line.slope.value).toBeCloseTo(-0.480533407, 8);
    // χ² per degree of freedom 1.4833 as published.
    expect(line.chiSquare / line.degreesOfFreedom).toBeCloseTo(1.4833, 4);
  });

  test('have the standard errors that follow from the line’s best points, 0.29497 and 0.057985', () => {
    // Recomputed by orthogonal distances. Other definitions, with the second derivatives, give 0.29193 and 0.057617.
    expect(standardErrorOf(line.intercept)).toBeCloseTo(0.294970767, 6);
    expect(standardErrorOf(line.slope)).toBeCloseTo(0.0579850148, 7);
  });

  test('give the same line with x and y exchanged', () => {
    const exchanged = weightedLine(pointsOf(y, x, ux, uy));
    expect(exchanged.slope.value).toBeCloseTo(1 / -0.480533407, 6);
    expect(exchanged.intercept.value).toBeCloseTo(5.47991022 / 0.480533407, 6);
    expect(exchanged.chiSquare).toBeCloseTo(line.chiSquare, 10);
  });
});

describe('Eurachem/CITAC QUAM example A5: concentration from a calibration line', () => {
  const readings = [
    [0.028, 0.029, 0.029],
    [0.084, 0.083, 0.081],
    [0.135, 0.131, 0.133],
    [0.18, 0.181, 0.183],
    [0.215, 0.23, 0.216],
  ];
  const line = weightedLine(
    readings.flatMap((row, i) => row.map((y) => ({ x: [0.1, 0.3, 0.5, 0.7, 0.9][i], y }))),
  );
  const found = inverseOfLine(line, { y: (0.0712 + 0.0716) / 2, readingCount: 2 });

  test('intercept 0.0087, slope 0.241 and residual standard deviation 0.005486 (values from memory)', () => {
    expect(line.intercept.value).toBeCloseTo(0.0087, 12);
    expect(line.slope.value).toBeCloseTo(0.241, 12);
    expect(line.residualStandardDeviation).toBeCloseTo(0.0054856456, 10);
    expect(line.degreesOfFreedom).toBe(13);
  });

  test('0.26 with 0.018 mg/l from two readings (values from memory; further digits recomputed)', () => {
    expect(found.value).toBeCloseTo(0.2601659751, 9);
    expect(standardErrorOf(found)).toBeCloseTo(0.0178446111, 9);
  });

  test('Fieller’s 95 % interval is 0.22109 to 0.29827 (recomputed), not symmetric about the value', () => {
    if (found.kind !== 'estimated') throw new Error('estimated');
    expect(found.interval95[0]).toBeCloseTo(0.2210888328, 9);
    expect(found.interval95[1]).toBeCloseTo(0.2982745882, 9);
  });

  test('the line at the value found lies at the reading', () => {
    expect(lineAt(line, 0.2601659751).value).toBeCloseTo(0.0714, 9);
  });
});

test('NIST StRD Norris: certified line to 12 digits, standard deviations to 11', () => {
  const y = [
    0.1, 338.8, 118.1, 888, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
    448.9, 10.8, 557.7, 228.3, 998, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888, 998.5, 778.9, 10.2, 117.6,
    228.9, 668.4, 449.2, 0.2,
  ];
  const x = [
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777, 558.2, 0.4, 0.6, 775.5, 666.9, 338,
    447.5, 11.6, 556, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999, 779, 11.1, 118.3, 229.2,
    669.1, 448.9, 0.5,
  ];
  const line = weightedLine(x.map((value, i) => ({ x: value, y: y[i] })));
  expect(line.intercept.value).toBeCloseTo(-0.262323073774029, 12);
  expect(line.slope.value).toBeCloseTo(1.00211681802045, 13);
  expect(standardErrorOf(line.intercept)).toBeCloseTo(0.232818234301152, 11);
  expect(standardErrorOf(line.slope)).toBeCloseTo(0.000429796848199937, 14);
  expect(line.residualStandardDeviation).toBeCloseTo(0.884796396144373, 11);
});
