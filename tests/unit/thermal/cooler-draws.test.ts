import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../toolkit/numerics/random.js';
import { coolerDraws } from '../../../toolkit/thermal/cooler-draws.js';
import { coolerNumbers, steadyRise } from '../../../toolkit/thermal/cooler-numbers.js';
import { fitCooler } from '../../../toolkit/thermal/fit/fit-cooler.js';
import { steadyTemperature } from '../../../toolkit/thermal/steady-temperature.js';
import { everyS, knownRun } from './known-cooler.js';

const spreadOf = (values: readonly number[]): number => {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1));
};

/** Two runs of a known cooler with noise, fitted with stages, lag and exponent. */
const model = (() => {
  const random = seededRandom(7);
  const runs = [60, 100].map((powerW) =>
    knownRun({
      timeS: everyS(1, 900),
      poles: [
        { timeConstantS: 6, resistanceKPerW: 0.12 },
        { timeConstantS: 110, resistanceKPerW: 0.38 },
      ],
      startPowerW: 8,
      powerSteps: [{ atS: 40, powerW }],
      label: `${powerW} W`,
      noiseK: () => 0.4 * random.normal(),
    }),
  );
  return fitCooler(runs, { stageCount: 2, sensorLag: false });
})();

describe('draws of a cooler', () => {
  const cooler = coolerNumbers(model, 'test');
  const draws = coolerDraws(model, cooler);

  test('spread like the covariance says, parameter by parameter, to 5 %', () => {
    const { parameters, matrix } = model.covariance;
    const errorOf = (name: string): number => {
      const place = parameters.indexOf(name);
      return Math.sqrt(matrix[place][place]);
    };
    cooler.timeConstantsS.forEach((_, k) => {
      const spread = spreadOf(draws.map((draw) => Math.log(draw.timeConstantsS[k])));
      expect(Math.abs(spread / errorOf(`logTimeConstantS[${k + 1}]`) - 1)).toBeLessThan(0.05);
    });
    const spread = spreadOf(draws.map((draw) => draw.powerExponent));
    expect(Math.abs(spread / errorOf('powerExponent') - 1)).toBeLessThan(0.05);
  });

  test.each([60, 77, 100])(
    'give the steady temperature at %i W the standard error that steadyTemperature states, to 15 %',
    (powerW) => {
      const stated = steadyTemperature(model, { powerW, ambientC: 22 });
      if (stated.kind !== 'estimated') throw new Error('estimated');
      // The law carries one correlation of resistance and exponent, the draws all of them.
      expect(
        Math.abs(spreadOf(draws.map((draw) => steadyRise(draw, powerW))) / stated.standardError - 1),
      ).toBeLessThan(0.15);
      expect(22 + steadyRise(cooler, powerW)).toBeCloseTo(stated.value, 9);
    },
  );

  test('have positive numbers only', () => {
    for (const draw of draws) {
      expect(Math.min(...draw.timeConstantsS)).toBeGreaterThan(0);
      expect(Math.min(...draw.resistancesKPerW)).toBeGreaterThanOrEqual(0);
    }
  });

  test('are always the same', () => {
    expect(coolerDraws(model, cooler)[17]).toEqual(draws[17]);
  });
});
