import { describe, expect, test } from 'vitest';
import { requireValue as numberOf } from '../../../toolkit/numerics/estimates.js';
import {
  coolerFromSteadyPoints,
  STEADY_POINT_UNCERTAINTY_K,
} from '../../../toolkit/thermal/cooler-from-steady-points.js';
import { steadyTemperature } from '../../../toolkit/thermal/steady-temperature.js';

const line = [
  { powerW: 60, temperatureC: 51 },
  { powerW: 90, temperatureC: 66 },
  { powerW: 120, temperatureC: 81 },
];

describe('coolerFromSteadyPoints', () => {
  test('without the air, the line through the points gives resistance and air', () => {
    const model = coolerFromSteadyPoints(line);
    expect(numberOf(model.thermalResistanceKPerW)).toBeCloseTo(0.5, 12);
    expect(model.ambientC).toMatchObject({ kind: 'estimated' });
    expect(numberOf(model.ambientC)).toBeCloseTo(21, 10);
    // GUM H.3: u(slope) = s / √Σ(P − mean)², here 1 K / √1800 W.
    expect(model.resistanceLaw.resistanceStandardErrorKPerW).toBeCloseTo(1 / Math.sqrt(1800), 12);
    expect(model.findings.map(({ code }) => code)).toEqual(['averages-only', 'ambient-identified']);
    expect(model.covariance.parameters).toEqual(['thermalResistanceKPerW', 'ambientC']);
    // The two hang together: a warmer room would mean a better cooler.
    expect(model.covariance.matrix[0][1]).toBeLessThan(0);
  });

  test('with the air, least squares through the origin', () => {
    const model = coolerFromSteadyPoints([
      { powerW: 60, temperatureC: 50, ambientC: 20 },
      { powerW: 100, temperatureC: 73, ambientC: 22 },
    ]);
    expect(numberOf(model.thermalResistanceKPerW)).toBeCloseTo((60 * 30 + 100 * 51) / (3600 + 10000), 12);
    expect(model.ambientC).toEqual({ kind: 'unavailable', reason: 'fixed', value: 21 });
    expect(model.covariance.parameters).toEqual(['thermalResistanceKPerW']);
    expect(model.testedRange.powerW).toEqual([60, 100]);
  });

  test('one point with the air is enough, and answers widen away from its power', () => {
    const model = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 64, ambientC: 24 }]);
    const widths = [80, 110].map((powerW) => {
      const estimate = steadyTemperature(model, { powerW, ambientC: 24 });
      if (estimate.kind !== 'estimated') throw new Error('estimated');
      return estimate.interval95[1] - estimate.interval95[0];
    });
    // ±1.96 times the stated 1 K.
    expect(widths[0] / 2).toBeCloseTo(1.96, 2);
    expect(widths[1]).toBeGreaterThan(1.3 * widths[0]);
    expect(model.resistanceLaw.exponentSource).toBe('assumed');
  });

  test('a stated uncertainty is used; a larger scatter outweighs it and is a finding', () => {
    expect(STEADY_POINT_UNCERTAINTY_K).toBe(1);
    const narrow = coolerFromSteadyPoints(line, { temperatureUncertaintyK: 0.25 });
    expect(narrow.resistanceLaw.resistanceStandardErrorKPerW).toBeCloseTo(0.25 / Math.sqrt(1800), 12);
    const bent = coolerFromSteadyPoints([line[0], { powerW: 90, temperatureC: 74 }, line[2]]);
    // Residuals −8/3, 16/3, −8/3 K on one degree of freedom.
    const scatterK = (8 / 3) * Math.sqrt(6);
    expect(bent.noise.standardDeviationK).toBeCloseTo(scatterK, 10);
    expect(bent.resistanceLaw.degreesOfFreedom).toBe(1);
    expect(bent.findings.map(({ code }) => code)).toContain('points-disagree');
    expect(bent.findings.find(({ code }) => code === 'points-disagree')?.message).toMatch(
      /scatter by 6\.5 K/,
    );
  });

  test('says what it does not know: no stages, no ladder, no orders', () => {
    const model = coolerFromSteadyPoints(line, {
      label: 'notebook',
      cooler: 'flat 58 mm',
      enclosure: 'open bench',
    });
    expect(model).toMatchObject({
      method: 'steady-points',
      label: 'notebook',
      cooler: 'flat 58 mm',
      enclosure: 'open bench',
      stages: [],
      ladder: [],
      orders: [],
      runLabels: ['point 1', 'point 2', 'point 3'],
    });
    expect(model.poles).toBeUndefined();
    expect(JSON.parse(JSON.stringify(model))).toStrictEqual(model);
  });

  test('leaves the points as they were', () => {
    const points = Object.freeze(line.map((point) => Object.freeze({ ...point })));
    expect(() => coolerFromSteadyPoints(points)).not.toThrow();
  });

  test('refuses no points', () => {
    expect(() => coolerFromSteadyPoints([])).toThrow(
      'coolerFromSteadyPoints: `points` must be one point or more (received an array of 0)',
    );
  });

  test('refuses one power without the air, and says why', () => {
    for (const points of [[line[0]], [line[0], { powerW: 60, temperatureC: 52 }]]) {
      expect(() => coolerFromSteadyPoints(points)).toThrow(
        'coolerFromSteadyPoints: `points` must be points with ambientC, or points at two powers or more (received "one power and no air temperature"); at one power an unknown room and the thermal resistance cannot be told apart: give points[i].ambientC',
      );
    }
  });

  test('refuses points of which only some have the air', () => {
    expect(() => coolerFromSteadyPoints([{ ...line[0], ambientC: 21 }, line[1]])).toThrow(
      'coolerFromSteadyPoints: `points` must be points that all have ambientC, or none of them (received "1 of 2 with it"); give the air of each point, or leave it out everywhere to have one room identified',
    );
  });

  test('refuses points whose temperature falls with power', () => {
    expect(() =>
      coolerFromSteadyPoints([
        { powerW: 60, temperatureC: 70 },
        { powerW: 90, temperatureC: 60 },
      ]),
    ).toThrow(
      'coolerFromSteadyPoints: `points` must be points whose temperature rises with power (received "points that give -0.333 K/W"); check that temperatures and powers belong to the same cooler and the same room',
    );
  });

  test.each([
    [{ powerW: 0, temperatureC: 60 }, 'points[0].powerW', 'a finite number above 0', '0'],
    [{ powerW: Number.NaN, temperatureC: 60 }, 'points[0].powerW', 'a finite number above 0', 'NaN'],
    [
      { powerW: 60, temperatureC: Number.NaN },
      'points[0].temperatureC',
      'a finite number above -273.15',
      'NaN',
    ],
    [
      { powerW: 60, temperatureC: 50, ambientC: 55 },
      'points[0].ambientC',
      'a finite number above -273.15 and below 50',
      '55',
    ],
  ])('refuses the point %j', (point, argument, expected, received) => {
    expect(() => coolerFromSteadyPoints([point])).toThrow(
      `coolerFromSteadyPoints: \`${argument}\` must be ${expected} (received ${received})`,
    );
  });

  test('refuses an uncertainty that is not positive', () => {
    expect(() => coolerFromSteadyPoints(line, { temperatureUncertaintyK: 0 })).toThrow(
      'coolerFromSteadyPoints: `options.temperatureUncertaintyK` must be a finite number above 0 (received 0)',
    );
  });
});
