import { describe, expect, test } from 'vitest';
import { propagate } from '../../../../toolkit/numerics/propagation.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import type { CoolerModel } from '../../../../toolkit/thermal/cooler-model.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { stepResponse } from '../../../../toolkit/thermal/views/step-response.js';
import { structureFunction } from '../../../../toolkit/thermal/views/structure-function.js';
import { everyS, knownRun, modelWith } from '../known-cooler.js';

/** A fit of two stages, with noise that has no period of its own. */
const model = fitCooler(
  knownRun({
    timeS: everyS(1, 1500),
    poles: [
      { timeConstantS: 8, resistanceKPerW: 0.15 },
      { timeConstantS: 120, resistanceKPerW: 0.35 },
    ],
    powerSteps: [{ atS: 30, powerW: 80 }],
    noiseK: (i) => 0.3 * Math.sin(12.9898 * i * i),
  }),
  { stageCount: 2, sensorLag: false },
);
const { timeConstantsS, resistancesKPerW } = model.poles!;

describe('step response with its band', () => {
  const timeS = [0, 1, 8, 40, 120, 600, 5000];
  const response = stepResponse(model, { timeS });

  test('has the standard error of first-order propagation by central differences, and the common factor', () => {
    const names = ['logTimeConstantS[1]', 'logTimeConstantS[2]', 'resistanceKPerW[1]', 'resistanceKPerW[2]'];
    const indices = names.map((name) => model.covariance.parameters.indexOf(name));
    // A small share of the covariance, so that the differences are as good as derivatives.
    const covariance = indices.map((a) => indices.map((b) => 1e-6 * model.covariance.matrix[a][b]));
    const values = [...timeConstantsS.map(Math.log), ...resistancesKPerW];
    const total = propagate((x) => x[2] + x[3], values, covariance).standardError * 1e3;
    const law = model.resistanceLaw;
    const scale =
      Math.sqrt(Math.max(0, law.resistanceStandardErrorKPerW ** 2 - total ** 2)) / law.thermalResistanceKPerW;
    timeS.forEach((t, i) => {
      const { standardError } = propagate(
        (x) => x[2] * -Math.expm1(-t / Math.exp(x[0])) + x[3] * -Math.expm1(-t / Math.exp(x[1])),
        values,
        covariance,
      );
      const expected = Math.hypot(1e3 * standardError, scale * response.risePerPowerKPerW[i]);
      expect(response.standardErrorKPerW![i]).toBeCloseTo(expected, 9);
    });
  });

  test('ends in the interval of the total resistance', () => {
    const { thermalResistanceKPerW } = model;
    if (thermalResistanceKPerW.kind !== 'estimated') throw new Error('a fit estimates its resistance');
    expect(response.lowKPerW!.at(-1)).toBeCloseTo(thermalResistanceKPerW.interval95[0], 9);
    expect(response.highKPerW!.at(-1)).toBeCloseTo(thermalResistanceKPerW.interval95[1], 9);
  });

  test('never falls, starts at 0 and stays within its band', () => {
    expect(response.risePerPowerKPerW[0]).toBe(0);
    response.risePerPowerKPerW.forEach((rise, i) => {
      if (i > 0) expect(rise).toBeGreaterThan(response.risePerPowerKPerW[i - 1]);
      expect(response.lowKPerW![i]).toBeLessThanOrEqual(rise);
      expect(response.highKPerW![i]).toBeGreaterThanOrEqual(rise);
    });
  });

  test('has no band where the model does not know the covariance of its stages', () => {
    const bare = stepResponse(modelWith([{ timeConstantS: 60, resistanceKPerW: 0.5 }]), { timeS: [60] });
    expect(bare).toEqual({
      kind: 'step-response',
      timeS: [60],
      risePerPowerKPerW: [0.5 * -Math.expm1(-1)],
    });
  });

  test('survives JSON', () => {
    expect(JSON.parse(JSON.stringify(response))).toEqual(response);
  });

  test('refuses averages, no times and times before the step', () => {
    const averages = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 60, ambientC: 22 }]);
    expect(() => stepResponse(averages, { timeS: [1] })).toThrow(/a model with stages/);
    expect(() => stepResponse(model, { timeS: [] })).toThrow(/`options\.timeS` must be one time or more/);
    expect(() => stepResponse(model, { timeS: [1, -1] })).toThrow(
      /`options\.timeS\[1\]` must be a finite number at least 0/,
    );
  });
});

describe('structure function with its intervals', () => {
  const structure = structureFunction(model);

  test('follows the ladder of the model', () => {
    const [first, second] = model.ladder;
    expect(structure.cumulativeResistanceKPerW[1]).toBeCloseTo(
      first.resistanceKPerW + second.resistanceKPerW,
      12,
    );
    expect(structure.cumulativeHeatCapacityJPerK[1]).toBeCloseTo(
      first.heatCapacityJPerK + second.heatCapacityJPerK,
      9,
    );
    expect(structure.differentialJWPerK2[0]).toBeCloseTo(first.heatCapacityJPerK / first.resistanceKPerW, 9);
  });

  test('has intervals around the values; the total resistance keeps its own, in the logarithm', () => {
    const { thermalResistanceKPerW: total } = model;
    if (total.kind !== 'estimated') throw new Error('a fit estimates its resistance');
    const [low, high] = structure.cumulativeResistanceIntervalsKPerW![1];
    // Half-width of the logarithm against half-width over the value, alike to second order.
    expect(Math.log(high / low) / 2 / ((total.interval95[1] - total.value) / total.value)).toBeCloseTo(1, 2);
    structure.cumulativeHeatCapacityIntervalsJPerK!.forEach(([below, above], k) => {
      expect(below).toBeLessThan(structure.cumulativeHeatCapacityJPerK[k]);
      expect(above).toBeGreaterThan(structure.cumulativeHeatCapacityJPerK[k]);
    });
  });

  test('refuses models without stages or without a ladder', () => {
    const averages = coolerFromSteadyPoints([{ powerW: 80, temperatureC: 60, ambientC: 22 }]);
    expect(() => structureFunction(averages)).toThrow(/a model with stages/);
    const unidentified: CoolerModel = { ...model, ladder: [] };
    expect(() => structureFunction(unidentified)).toThrow(
      /`model\.ladder` must be a ladder of one rung or more/,
    );
  });
});
