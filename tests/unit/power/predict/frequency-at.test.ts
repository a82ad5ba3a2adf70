import { describe, expect, test } from 'vitest';
import { curveFromSteadyPoints } from '../../../../toolkit/power/fit/curve-from-steady-points.js';
import {
  frequencyAt,
  frequencyCovariance,
  frequencyFunction,
  powerAt,
} from '../../../../toolkit/power/predict/frequency-at.js';

const curve = curveFromSteadyPoints([
  { powerW: 118, temperatureC: 71, frequencyMHz: 3900 },
  { powerW: 118, temperatureC: 88, frequencyMHz: 3790 },
  { powerW: 90, temperatureC: 58, frequencyMHz: 3560 },
  { powerW: 104, temperatureC: 65, frequencyMHz: 3740 },
]);

function estimatedAt(powerW: number, temperatureC: number) {
  const answer = frequencyAt(curve, { powerW, temperatureC });
  if (answer.kind !== 'estimated') throw new Error('not estimated');
  return answer;
}

test('inside the tested range an answer is not marked, outside it is, and a watt or a kelvin makes no edge', () => {
  expect(estimatedAt(100, 70).extrapolated).toBe(false);
  expect(estimatedAt(118.5, 88.5).extrapolated).toBe(false);
  expect(estimatedAt(125, 70).extrapolated).toBe(true);
  expect(estimatedAt(75, 70).extrapolated).toBe(true);
  expect(estimatedAt(100, 95).extrapolated).toBe(true);
});

test('the interval grows with the distance from the tested range', () => {
  const widths = [90, 78, 66, 54].map((powerW) => estimatedAt(powerW, 58).standardError);
  expect(widths).toEqual([...widths].sort((a, b) => a - b));
  const warm = [80, 95, 110].map((temperatureC) => estimatedAt(100, temperatureC).standardError);
  expect(warm).toEqual([...warm].sort((a, b) => a - b));
});

test('frequency rises with power and falls with temperature over the whole of what people ask', () => {
  const frequency = frequencyFunction(curve);
  for (let powerW = 40; powerW < 180; powerW += 5) {
    expect(frequency(powerW + 5, 70)).toBeGreaterThan(frequency(powerW, 70));
    expect(frequency(powerW, 75)).toBeLessThan(frequency(powerW, 70));
  }
});

test('powerAt is the inverse of frequencyAt and carries its uncertainty through the slope', () => {
  const { value, standardError } = estimatedAt(104, 66);
  const power = powerAt(curve, { frequencyMHz: value, temperatureC: 66 });
  if (power.kind !== 'estimated') throw new Error('not estimated');
  expect(power.value).toBeCloseTo(104, 6);
  const slope = (estimatedAt(104.1, 66).value - estimatedAt(103.9, 66).value) / 0.2;
  expect(power.standardError).toBeCloseTo(standardError / slope, 3);
  expect(power.extrapolated).toBe(false);
});

test('frequencyFunction gives the same numbers', () => {
  expect(frequencyFunction(curve)(97, 63)).toBe(estimatedAt(97, 63).value);
});

test('the covariance of several frequencies has the squared standard errors on its diagonal', () => {
  const matrix = frequencyCovariance(curve, [
    { powerW: 118, temperatureC: 80 },
    { powerW: 100, temperatureC: 70 },
  ]);
  expect(Math.sqrt(matrix[0][0])).toBeCloseTo(estimatedAt(118, 80).standardError, 9);
  expect(Math.sqrt(matrix[1][1])).toBeCloseTo(estimatedAt(100, 70).standardError, 9);
  expect(matrix[0][1]).toBeCloseTo(matrix[1][0], 9);
  expect(Math.abs(matrix[0][1])).toBeLessThan(Math.sqrt(matrix[0][0] * matrix[1][1]));
});

describe('bad input', () => {
  test('a power or frequency that is not positive, a temperature that is not a number', () => {
    expect(() => frequencyAt(curve, { powerW: 0, temperatureC: 60 })).toThrow(
      /frequencyAt: `at\.powerW` must be a finite number above 0 \(received 0\)/,
    );
    expect(() => frequencyAt(curve, { powerW: 90, temperatureC: Number.NaN })).toThrow(
      /frequencyAt: `at\.temperatureC` must be a finite number above -273\.15/,
    );
    expect(() => powerAt(curve, { frequencyMHz: -1, temperatureC: 60 })).toThrow(
      /powerAt: `at\.frequencyMHz` must be a finite number above 0/,
    );
  });

  test('a curve that lost a parameter', () => {
    const { basePowerW, ...rest } = curve.parameters;
    expect(basePowerW).toBeGreaterThan(0);
    expect(() => frequencyAt({ ...curve, parameters: rest }, { powerW: 90, temperatureC: 60 })).toThrow(
      /`curve\.parameters` must be an object with basePowerW for the form electro-thermal .*loadModel/,
    );
  });
});

test('beyond tested temperatures and powers a form without correction adds its spread in quadrature, per scale of distance', () => {
  const { correction: _, ...discrepancy } = curve.discrepancy;
  const parameters = curve.covariance.parameters.filter((name) => !name.startsWith('knot'));
  const certain = {
    ...curve,
    discrepancy,
    covariance: { parameters, matrix: parameters.map(() => parameters.map(() => 0)) },
  };
  const { standardDeviationMHz, powerScaleRatio, temperatureScaleK } = discrepancy;
  const spreads = (powerW: number, temperatureC: number): number => {
    const answer = frequencyAt(certain, { powerW, temperatureC });
    if (answer.kind !== 'estimated') throw new Error('not estimated');
    return answer.standardError / standardDeviationMHz;
  };
  // Tested: 90 to 118 W, 58 to 88 °C.
  expect(spreads(100, 88)).toBeCloseTo(1, 12);
  expect(spreads(100, 88 + temperatureScaleK)).toBeCloseTo(Math.SQRT2, 12);
  expect(spreads(100, 58 - 0.5 * temperatureScaleK)).toBeCloseTo(Math.sqrt(1.25), 12);
  expect(spreads(118 * Math.exp(2 * powerScaleRatio), 88 + temperatureScaleK)).toBeCloseTo(Math.sqrt(6), 12);
  expect(spreads(90 * Math.exp(-powerScaleRatio), 70)).toBeCloseTo(Math.SQRT2, 12);
});
