import { describe, expect, test } from 'vitest';
import { simulateLadder } from '../../../toolkit/thermal/simulate-ladder.js';

const ladder = [
  { heatCapacityJPerK: 20, resistanceKPerW: 0.1 },
  { heatCapacityJPerK: 300, resistanceKPerW: 0.4 },
];
const step = { timeS: [0, 1, 5], powerW: [80, 80, 80], ambientC: 22 };

describe('simulateLadder', () => {
  test('starts at ambient and ends where each node has the rise of the resistances behind it', () => {
    const [die, base] = simulateLadder(ladder, { timeS: [0, 1e5], powerW: [80, 80], ambientC: 22 });
    expect([die[0], base[0]]).toEqual([22, 22]);
    expect(die[1]).toBeCloseTo(22 + 80 * 0.5, 9);
    expect(base[1]).toBeCloseTo(22 + 80 * 0.4, 9);
  });

  test('balances energy: what is stored is what came in less what went out, to 1e-6', () => {
    const timeS = Array.from({ length: 2001 }, (_, i) => i * 0.05);
    const [die, base] = simulateLadder(ladder, { timeS, powerW: timeS.map(() => 80), ambientC: 22 });
    const storedJ = 20 * (die[2000] - 22) + 300 * (base[2000] - 22);
    let lostJ = 0;
    for (let i = 1; i <= 2000; i++) lostJ += (0.05 * ((base[i] + base[i - 1]) / 2 - 22)) / 0.4;
    expect((storedJ + lostJ) / (80 * 100)).toBeCloseTo(1, 6);
  });

  test('does not depend on how the time is cut', () => {
    const [die] = simulateLadder(ladder, step);
    const timeS = [0, 0.2, 0.21, 3, 3.5, 5];
    const [finer] = simulateLadder(ladder, { timeS, powerW: timeS.map(() => 80), ambientC: 22 });
    expect(finer[5]).toBeCloseTo(die[2], 11);
  });

  test('takes interval means for the step before, instants for the step after', () => {
    const timeS = [0, 10, 20];
    const mean = simulateLadder(ladder, { timeS, powerW: [0, 80, 0], ambientC: 22 })[0];
    const instant = simulateLadder(ladder, {
      timeS,
      powerW: [80, 0, 0],
      ambientC: 22,
      powerSample: 'instant',
    })[0];
    expect(instant).toEqual(mean);
    expect(mean[1]).toBeGreaterThan(22);
  });

  test('feeds power into the nodes by their shares', () => {
    const [die, base] = simulateLadder(ladder, {
      timeS: [0, 1e5],
      powerW: [80, 80],
      ambientC: 22,
      powerShares: [0, 1],
    });
    expect(die[1]).toBeCloseTo(22 + 80 * 0.4, 9);
    expect(base[1]).toBeCloseTo(22 + 80 * 0.4, 9);
  });

  test('starts from given temperatures', () => {
    const [die, base] = simulateLadder(ladder, { ...step, startC: [50, 40] });
    expect(die[0]).toBeCloseTo(50, 12);
    expect(base[0]).toBeCloseTo(40, 12);
  });

  test('leaves its input as it was', () => {
    const simulation = {
      ...step,
      timeS: Float64Array.from(step.timeS),
      powerW: Float64Array.from(step.powerW),
    };
    const before = structuredClone(simulation);
    simulateLadder(ladder, simulation);
    expect(simulation).toEqual(before);
  });

  test.each([
    [{ powerW: [80, 80] }, 'simulation.powerW', '3 long', '2'],
    [{ powerShares: [1] }, 'simulation.powerShares', '2 long', '1'],
    [{ startC: [22, 22, 22] }, 'simulation.startC', '2 long', '3'],
    [{ timeS: [0, 1, 1] }, 'simulation.timeS[2] − timeS[1]', 'a finite number above 0', '0'],
    [{ timeS: [0, 1, Number.NaN] }, 'simulation.timeS[2] − timeS[1]', 'a finite number above 0', 'NaN'],
    [{ powerW: [80, Number.NaN, 80] }, 'simulation.powerW[1]', 'a finite number', 'NaN'],
    [{ ambientC: Number.NaN }, 'simulation.ambientC', 'a finite number above -273.15', 'NaN'],
  ])('refuses %j', (changes, argument, expected, received) => {
    expect(() => simulateLadder(ladder, { ...step, ...changes })).toThrow(
      `simulateLadder: \`${argument}\` must be ${expected} (received ${received})`,
    );
  });

  test('refuses an empty ladder and a rung that is not positive', () => {
    expect(() => simulateLadder([], step)).toThrow('simulateLadder: `ladder` must be one rung or more');
    expect(() => simulateLadder([{ heatCapacityJPerK: -1, resistanceKPerW: 1 }], step)).toThrow(
      'simulateLadder: `ladder[0].heatCapacityJPerK` must be a finite number above 0 (received -1)',
    );
  });
});
