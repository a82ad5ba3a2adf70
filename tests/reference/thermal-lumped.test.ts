// Lumped bodies of heat-transfer textbooks as coolers of one stage: resistance 1 / (hA), heat capacity ρcV. A step of
// the gas temperature is simulated as a start in the steady state of another power, which has the same solution.
import { describe, expect, test } from 'vitest';
import { simulateTemperature } from '../../toolkit/thermal/simulate.js';
import { simulateLadder } from '../../toolkit/thermal/simulate-ladder.js';
import { modelWith } from '../unit/thermal/known-cooler.js';

/** A sphere in a gas stream. */
interface Bead {
  readonly diameterM: number;
  readonly coefficientWPerM2K: number;
  readonly densityKgPerM3: number;
  readonly specificHeatJPerKgK: number;
}

function lumped({ diameterM, coefficientWPerM2K, densityKgPerM3, specificHeatJPerKgK }: Bead) {
  const areaM2 = Math.PI * diameterM ** 2;
  const volumeM3 = (Math.PI * diameterM ** 3) / 6;
  const resistanceKPerW = 1 / (coefficientWPerM2K * areaM2);
  const heatCapacityJPerK = densityKgPerM3 * specificHeatJPerKgK * volumeM3;
  return {
    rung: { resistanceKPerW, heatCapacityJPerK },
    pole: { resistanceKPerW, timeConstantS: resistanceKPerW * heatCapacityJPerK },
    lengthM: volumeM3 / areaM2,
  };
}

/** The bead's temperature after it came from one gas into another. */
function course(bead: Bead, startC: number, gasC: number, timeS: readonly number[]): Float64Array {
  const { pole } = lumped(bead);
  return simulateTemperature(modelWith([pole]), {
    timeS,
    powerW: 0,
    ambientC: gasC,
    startPowerW: (startC - gasC) / pole.resistanceKPerW,
  });
}

/** First time at which the course reaches a temperature, by halving. */
function timeToReach(temperatureC: number, bead: Bead, startC: number, gasC: number): number {
  let [low, high] = [0, 100];
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (course(bead, startC, gasC, [0, middle])[1] < temperatureC) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

describe('Incropera & DeWitt, 6th ed., example 5.1: thermocouple junction in a gas stream', () => {
  // Inputs from a public solution companion of the book; the book's answers (0.706 mm, 5.2 s) are values from memory,
  // the further digits recomputed.
  const diameterM = (6 * 400 * 1) / (8500 * 400);
  const bead: Bead = {
    diameterM,
    coefficientWPerM2K: 400,
    densityKgPerM3: 8500,
    specificHeatJPerKgK: 400,
  };

  test('the diameter that gives a time constant of 1 s is the book’s, and it is small enough to be lumped', () => {
    expect(diameterM).toBeCloseTo(7.058823529411765e-4, 12);
    expect(Math.abs(diameterM - 7.06e-4)).toBeLessThan(5e-7);
    const { pole, lengthM } = lumped(bead);
    expect(pole.timeConstantS).toBeCloseTo(1, 12);
    // Biot number h L / k of the bead with k = 20 W/(m K), far below 0.1.
    expect((400 * lengthM) / 20).toBeCloseTo(2.352941176470588e-3, 12);
  });

  test('from 25 °C in gas of 200 °C it reads 199 °C after 5.1648 s (book: 5.2 s)', () => {
    const timeS = timeToReach(199, bead, 25, 200);
    expect(Math.abs(timeS / 5.1647859739235145 - 1)).toBeLessThan(1e-9);
    expect(Math.abs(timeS - 5.2)).toBeLessThan(0.05);
  });

  test('the ladder of one rung gives the same course as the stage', () => {
    const timeS = [0, 0.3, 1, 2.5, 5.1647859739235145];
    const [node] = simulateLadder([lumped(bead).rung], {
      timeS,
      powerW: timeS.map(() => 0),
      ambientC: 200,
      startC: [25],
    });
    course(bead, 25, 200, timeS).forEach((temperatureC, i) => {
      expect(Math.abs(temperatureC - node[i])).toBeLessThan(1e-9);
    });
    expect(node[4]).toBeCloseTo(199, 9);
  });
});

test('Cengel, Heat Transfer, example 4-1: a 1 mm junction reads 99 % of the difference after 9.941 s (book: 10 s)', () => {
  // Inputs from a public solution companion; the book's answers are values from memory, digits recomputed.
  const bead: Bead = {
    diameterM: 1e-3,
    coefficientWPerM2K: 210,
    densityKgPerM3: 8500,
    specificHeatJPerKgK: 320,
  };
  expect(1 / lumped(bead).pole.timeConstantS).toBeCloseTo(0.4632352941176471, 12);
  expect((210 * lumped(bead).lengthM) / 35).toBeCloseTo(1e-3, 12);
  expect(Math.abs(timeToReach(99, bead, 0, 100) / 9.941319766577468 - 1)).toBeLessThan(1e-9);
});

test('Lienhard, A Heat Transfer Textbook, example 1.4: a 1 mm bead, time constant 1.116 s, is at 198 °C after 5 s', () => {
  // T(t) = 200 − 180 exp(−t / 1.116); h and k are values from memory.
  const bead: Bead = {
    diameterM: 1e-3,
    coefficientWPerM2K: 250,
    densityKgPerM3: 9300,
    specificHeatJPerKgK: 180,
  };
  expect(lumped(bead).pole.timeConstantS).toBeCloseTo(1.116, 12);
  expect(course(bead, 20, 200, [0, 5])[1]).toBeCloseTo(197.96057049866042, 9);
});
