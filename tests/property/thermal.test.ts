import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { requireValue as numberOf } from '../../toolkit/numerics/estimates.js';
import { coolerFromSteadyPoints } from '../../toolkit/thermal/cooler-from-steady-points.js';
import { fitCooler } from '../../toolkit/thermal/fit/fit-cooler.js';
import { ladderFromPoles, type Pole, polesOfLadder } from '../../toolkit/thermal/ladder.js';
import { simulateTemperature } from '../../toolkit/thermal/simulate.js';
import { simulateLadder } from '../../toolkit/thermal/simulate-ladder.js';
import { resistanceAt, steadyTemperature } from '../../toolkit/thermal/steady-temperature.js';
import { everyS, knownRun, modelWith } from '../unit/thermal/known-cooler.js';

/** Seeded, so that a failure can be had again. */
const runs = { numRuns: 60, seed: 20251 };

const number = (min: number, max: number): fc.Arbitrary<number> =>
  fc.double({ min, max, noNaN: true, noDefaultInfinity: true });

/** One to four poles, each at least 1.7 times slower than the one before. */
const somePoles: fc.Arbitrary<Pole[]> = fc
  .array(fc.record({ ratio: number(1.7, 30), resistanceKPerW: number(0.02, 0.6) }), {
    minLength: 1,
    maxLength: 4,
  })
  .map((steps) => {
    let timeConstantS = 0.3;
    return steps.map(({ ratio, resistanceKPerW }) => {
      timeConstantS *= ratio;
      return { timeConstantS, resistanceKPerW };
    });
  });

/** Increasing times and a power for each. */
const someCourse = fc
  .array(fc.record({ stepS: number(0.05, 40), powerW: number(0, 200) }), { minLength: 2, maxLength: 40 })
  .map((samples) => {
    let t = 0;
    return {
      timeS: samples.map(({ stepS }) => {
        t += stepS;
        return t;
      }),
      powerW: samples.map(({ powerW }) => powerW),
    };
  });

const largest = (values: ArrayLike<number>): number =>
  Array.from(values).reduce((most, value) => Math.max(most, Math.abs(value)), 0);

describe('limits', () => {
  test('after 20 time constants a simulation at constant power is at the steady temperature, to 1e-6 of the rise', () => {
    fc.assert(
      fc.property(
        somePoles,
        number(5, 200),
        number(-10, 45),
        number(0, 0.25),
        number(0, 200),
        (poles, powerW, ambientC, powerExponent, startPowerW) => {
          const model = modelWith(poles, { powerExponent });
          const slowestS = poles[poles.length - 1].timeConstantS;
          const simulated = simulateTemperature(model, {
            timeS: [0, 20 * slowestS],
            powerW,
            ambientC,
            startPowerW,
          });
          const steady = numberOf(steadyTemperature(model, { powerW, ambientC }));
          const scaleK = Math.max(steady - ambientC, Math.abs(simulated[0] - ambientC));
          expect(Math.abs(simulated[1] - steady)).toBeLessThan(1e-6 * scaleK + 1e-9);
        },
      ),
      runs,
    );
  });

  test('at constant power from rest the die rises all the way and stays below the steady temperature', () => {
    fc.assert(
      fc.property(somePoles, number(1, 200), (poles, powerW) => {
        const timeS = everyS(1, 200);
        const [die] = simulateLadder(ladderFromPoles(poles), {
          timeS,
          powerW: timeS.map(() => powerW),
          ambientC: 0,
        });
        const steadyK = powerW * poles.reduce((sum, pole) => sum + pole.resistanceKPerW, 0);
        for (let i = 1; i < die.length; i++) {
          expect(die[i]).toBeGreaterThanOrEqual(die[i - 1] - 1e-9 * steadyK);
          expect(die[i]).toBeLessThanOrEqual(steadyK * (1 + 1e-9));
        }
      }),
      runs,
    );
  });

  test('a ladder never stores more heat than was put in, and gives all of it off in the end', () => {
    fc.assert(
      fc.property(somePoles, someCourse, (poles, { timeS, powerW }) => {
        const ladder = ladderFromPoles(poles);
        const nodes = simulateLadder(ladder, { timeS, powerW, ambientC: 0 });
        const last = timeS.length - 1;
        const startC = nodes.map((node) => node[last]);
        const storedJ = ladder.reduce((sum, rung, node) => sum + rung.heatCapacityJPerK * startC[node], 0);
        let suppliedJ = 0;
        for (let i = 1; i <= last; i++) suppliedJ += powerW[i] * (timeS[i] - timeS[i - 1]);
        expect(storedJ).toBeGreaterThanOrEqual(0);
        expect(storedJ).toBeLessThanOrEqual(suppliedJ * (1 + 1e-9) + 1e-9);
        const restS = 60 * poles[poles.length - 1].timeConstantS;
        const rested = simulateLadder(ladder, { timeS: [0, restS], powerW: [0, 0], ambientC: 0, startC });
        expect(largest(rested.map((node) => node[1]))).toBeLessThan(1e-9 * (largest(startC) + 1));
      }),
      runs,
    );
  });
});

describe('linearity, where the resistance does not depend on power', () => {
  test('the rises of two courses of power add up', () => {
    fc.assert(
      fc.property(
        somePoles,
        someCourse,
        number(0, 150),
        fc.option(number(0.1, 20)),
        (poles, course, other, lag) => {
          const model = modelWith(poles, lag === null ? {} : { sensorLagS: lag * 1.0137 });
          const rise = (powerW: number[], startPowerW: number): Float64Array =>
            simulateTemperature(model, { timeS: course.timeS, powerW, ambientC: 0, startPowerW });
          const otherW = course.powerW.map((_, i) => (i % 3) * other);
          const together = rise(
            course.powerW.map((power, i) => power + otherW[i]),
            30,
          );
          const one = rise(course.powerW, 10);
          const two = rise(otherW, 20);
          const scaleK = largest(together) + 1;
          together.forEach((value, i) => {
            expect(Math.abs(value - one[i] - two[i])).toBeLessThan(1e-9 * scaleK);
          });
        },
      ),
      runs,
    );
  });

  test('k times the power through resistances a k-th as large gives the same rise', () => {
    fc.assert(
      fc.property(
        somePoles,
        someCourse,
        number(0.1, 10),
        number(0, 0.2),
        (poles, course, k, powerExponent) => {
          const smaller = poles.map((pole) => ({ ...pole, resistanceKPerW: pole.resistanceKPerW / k }));
          const rise = simulateTemperature(modelWith(poles, { powerExponent, atPowerW: 80 }), {
            ...course,
            ambientC: 0,
          });
          const scaled = simulateTemperature(modelWith(smaller, { powerExponent, atPowerW: 80 * k }), {
            timeS: course.timeS,
            powerW: course.powerW.map((power) => k * power),
            ambientC: 0,
          });
          scaled.forEach((value, i) => {
            expect(Math.abs(value - rise[i])).toBeLessThan(1e-9 * (largest(rise) + 1));
          });
        },
      ),
      runs,
    );
  });

  test('a warmer room is a warmer die by as much', () => {
    fc.assert(
      fc.property(somePoles, someCourse, number(-20, 40), (poles, course, warmerK) => {
        const model = modelWith(poles, { airTimeConstantS: 100 });
        const cool = simulateTemperature(model, { ...course, ambientC: 10 });
        const warm = simulateTemperature(model, { ...course, ambientC: 10 + warmerK });
        warm.forEach((value, i) => {
          expect(value - cool[i]).toBeCloseTo(warmerK, 9);
        });
      }),
      runs,
    );
  });
});

describe('pole form and ladder form', () => {
  test('go back and forth without loss, to 1e-8', () => {
    fc.assert(
      fc.property(somePoles, (poles) => {
        const ladder = ladderFromPoles(poles);
        const back = polesOfLadder(ladder);
        expect(back).toHaveLength(poles.length);
        back.forEach((pole, k) => {
          expect(Math.abs(pole.timeConstantS / poles[k].timeConstantS - 1)).toBeLessThan(1e-8);
          expect(Math.abs(pole.resistanceKPerW / poles[k].resistanceKPerW - 1)).toBeLessThan(1e-8);
        });
        const total = poles.reduce((sum, pole) => sum + pole.resistanceKPerW, 0);
        expect(ladder.reduce((sum, rung) => sum + rung.resistanceKPerW, 0) / total).toBeCloseTo(1, 9);
      }),
      runs,
    );
  });

  test('simulate the same die', () => {
    fc.assert(
      fc.property(somePoles, someCourse, (poles, course) => {
        const byPoles = simulateTemperature(modelWith(poles), { ...course, ambientC: 21 });
        const [byLadder] = simulateLadder(ladderFromPoles(poles), { ...course, ambientC: 21 });
        byLadder.forEach((value, i) => {
          expect(Math.abs(value - byPoles[i])).toBeLessThan(1e-8 * (largest(byPoles) + 1));
        });
      }),
      runs,
    );
  });
});

describe('models from data', () => {
  test('steady points on a line through any room give back its slope and room', () => {
    fc.assert(
      fc.property(
        number(0.05, 2),
        number(0, 45),
        fc.uniqueArray(fc.integer({ min: 10, max: 250 }), { minLength: 2, maxLength: 6 }),
        fc.boolean(),
        (resistanceKPerW, airC, powers, known) => {
          const points = powers.map((powerW) => ({
            powerW,
            temperatureC: airC + powerW * resistanceKPerW,
            ...(known ? { ambientC: airC } : {}),
          }));
          const model = coolerFromSteadyPoints(points);
          expect(numberOf(model.thermalResistanceKPerW)).toBeCloseTo(resistanceKPerW, 8);
          expect(numberOf(model.ambientC)).toBeCloseTo(airC, 6);
          expect(numberOf(steadyTemperature(model, { powerW: powers[0], ambientC: airC }))).toBeCloseTo(
            points[0].temperatureC,
            6,
          );
        },
      ),
      runs,
    );
  });

  test('a noise-free fit with k times the power has a k-th of the resistance and the same time constants', () => {
    fc.assert(
      fc.property(number(0.4, 2.5), number(40, 220), number(2, 7), (k, slowS, fastS) => {
        const fitted = (factor: number) =>
          fitCooler(
            knownRun({
              timeS: everyS(1, 1200),
              poles: [
                { timeConstantS: fastS, resistanceKPerW: 0.1 / factor },
                { timeConstantS: slowS, resistanceKPerW: 0.4 / factor },
              ],
              startPowerW: 8 * factor,
              powerSteps: [{ atS: 30, powerW: 80 * factor }],
            }),
            { powerExponent: 0 },
          );
        const one = fitted(1);
        const scaled = fitted(k);
        expect(numberOf(scaled.thermalResistanceKPerW) * k).toBeCloseTo(
          numberOf(one.thermalResistanceKPerW),
          6,
        );
        scaled.poles?.timeConstantsS.forEach((timeConstantS, stage) => {
          expect(Math.abs(timeConstantS / [fastS, slowS][stage] - 1)).toBeLessThan(1e-5);
        });
        expect(numberOf(resistanceAt(one, 80))).toBeCloseTo(0.5, 6);
      }),
      { ...runs, numRuns: 12 },
    );
  });
});
