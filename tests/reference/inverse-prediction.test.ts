import { expect, test } from 'vitest';
import { inverseOfLine, weightedLine } from '../../toolkit/numerics/weighted-line.js';
import type { PowerCurve } from '../../toolkit/power/power-curve.js';
import { powerAt } from '../../toolkit/power/predict/frequency-at.js';

/**
 * A straight curve f = f₀ + a·(P − P₀) is a calibration line, and `powerAt` its inverse prediction: Fieller's limits in
 * closed form, value from memory [Fieller1954], as `inverseOfLine` has them, which is itself held against ISO/TS 28037.
 */
const line = weightedLine(
  [60, 75, 90, 105, 120].map((powerW, i) => ({
    x: powerW,
    y: [3212, 3344, 3498, 3671, 3789][i],
    yStandardError: 40,
  })),
);
const [[aa, ab], [, bb]] = line.covariance;
const intercept = line.intercept.value!;
const slope = line.slope.value!;
const referenceW = 90;
const curve: PowerCurve = {
  kind: 'power-curve',
  label: 'straight',
  runLabels: [],
  method: 'steady-points',
  form: 'polynomial',
  parameters: {
    referenceFrequencyMHz: intercept + slope * referenceW,
    slopeMHzPerW: slope,
    curvatureMHzPerW2: 0,
    referencePowerW: referenceW,
    referenceTemperatureC: 60,
  },
  covariance: {
    parameters: ['referenceFrequencyMHz', 'slopeMHzPerW', 'curvatureMHzPerW2'],
    matrix: [
      [aa + 2 * referenceW * ab + referenceW ** 2 * bb, ab + referenceW * bb, 0],
      [ab + referenceW * bb, bb, 0],
      [0, 0, 0],
    ],
  },
  // Uncertainties of the points are given: the normal interval, to six digits.
  degreesOfFreedom: 1e9,
  discrepancy: { standardDeviationMHz: 0, powerScaleRatio: 0.3, temperatureScaleK: 30 },
  frequencyPerPowerMHzPerW: line.slope,
  frequencyPerTemperatureMHzPerK: { kind: 'unavailable', reason: 'not-identifiable' },
  candidates: [],
  findings: [],
  testedRange: { powerW: [60, 120], frequencyMHz: [3212, 3789], temperatureC: [40, 90] },
  points: [],
  termination: { reason: 'written-out', converged: true, message: 'written out' },
  evaluationCount: 0,
};

test.each([3300, 3500, 3780, 3900])('the power for %i MHz has Fieller’s limits', (frequencyMHz) => {
  const expected = inverseOfLine(line, { y: frequencyMHz, yStandardError: 0 });
  const answer = powerAt(curve, { frequencyMHz, temperatureC: 60 });
  if (answer.kind !== 'estimated' || expected.kind !== 'estimated') throw new Error('not estimated');
  // Bisection ends far below; the degrees of freedom stand for infinity to about 1e-9.
  expect(Math.abs(answer.value - expected.value)).toBeLessThan(1e-6);
  expect(Math.abs(answer.standardError - expected.standardError)).toBeLessThan(1e-6);
  expect(Math.abs(answer.interval95[0] - expected.interval95[0])).toBeLessThan(1e-5);
  expect(Math.abs(answer.interval95[1] - expected.interval95[1])).toBeLessThan(1e-5);
});

test('the limits are not symmetric away from the middle', () => {
  const answer = powerAt(curve, { frequencyMHz: 3900, temperatureC: 60 });
  if (answer.kind !== 'estimated') throw new Error('not estimated');
  const [low, high] = answer.interval95;
  expect(high - answer.value).toBeGreaterThan(1.05 * (answer.value - low));
});

test('a slope that is not told from 0 gives no power', () => {
  const flat = 0.6 * Math.sqrt(bb);
  const blurred: PowerCurve = {
    ...curve,
    parameters: { ...curve.parameters, slopeMHzPerW: flat },
  };
  expect(
    powerAt(blurred, { frequencyMHz: intercept + slope * referenceW + 5 * flat, temperatureC: 60 }),
  ).toEqual({
    kind: 'unavailable',
    reason: 'not-identifiable',
  });
});
