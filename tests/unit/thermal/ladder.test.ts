import { describe, expect, test } from 'vitest';
import { ladderFromPoles, polesOfLadder } from '../../../toolkit/thermal/ladder.js';

describe('ladderFromPoles', () => {
  test('makes one rung of one pole, C = τ / r', () => {
    expect(ladderFromPoles([{ timeConstantS: 60, resistanceKPerW: 0.5 }])).toEqual([
      { heatCapacityJPerK: 120, resistanceKPerW: 0.5 },
    ]);
  });

  test('of no poles is no ladder', () => {
    expect(ladderFromPoles([])).toEqual([]);
  });

  test('gives positive rungs for any positive poles, four decades apart as well', () => {
    const poles = [0.05, 1.3, 40, 700].map((timeConstantS) => ({ timeConstantS, resistanceKPerW: 0.13 }));
    for (const rung of ladderFromPoles(poles)) {
      expect(rung.heatCapacityJPerK).toBeGreaterThan(0);
      expect(rung.resistanceKPerW).toBeGreaterThan(0);
    }
  });

  test('leaves its input as it was', () => {
    const poles = [
      Object.freeze({ timeConstantS: 30, resistanceKPerW: 0.2 }),
      Object.freeze({ timeConstantS: 3, resistanceKPerW: 0.1 }),
    ];
    expect(() => ladderFromPoles(Object.freeze(poles))).not.toThrow();
  });

  test.each([
    [{ timeConstantS: 0, resistanceKPerW: 0.1 }, 'poles[1].timeConstantS', '0'],
    [{ timeConstantS: 5, resistanceKPerW: -0.1 }, 'poles[1].resistanceKPerW', '-0.1'],
    [{ timeConstantS: Number.NaN, resistanceKPerW: 0.1 }, 'poles[1].timeConstantS', 'NaN'],
  ])('refuses %j', (pole, argument, received) => {
    expect(() => ladderFromPoles([{ timeConstantS: 1, resistanceKPerW: 1 }, pole])).toThrow(
      `ladderFromPoles: \`${argument}\` must be a finite number above 0 (received ${received})`,
    );
  });

  test('refuses equal time constants and says how to merge them', () => {
    const pole = { timeConstantS: 5, resistanceKPerW: 0.1 };
    expect(() => ladderFromPoles([pole, pole])).toThrow(
      'ladderFromPoles: `poles` must be poles with distinct time constants (received "5, 5"); merge equal poles by adding their resistances',
    );
  });
});

describe('polesOfLadder', () => {
  test('returns the poles fastest first', () => {
    const poles = polesOfLadder([
      { heatCapacityJPerK: 900, resistanceKPerW: 0.1 },
      { heatCapacityJPerK: 2, resistanceKPerW: 0.3 },
    ]);
    expect(poles).toHaveLength(2);
    expect(poles[0].timeConstantS).toBeLessThan(poles[1].timeConstantS);
  });

  test('refuses an empty ladder', () => {
    expect(() => polesOfLadder([])).toThrow(
      'polesOfLadder: `ladder` must be one rung or more (received an array of 0)',
    );
  });

  test.each([
    [{ heatCapacityJPerK: 0, resistanceKPerW: 1 }, 'heatCapacityJPerK', '0'],
    [{ heatCapacityJPerK: 1, resistanceKPerW: Number.POSITIVE_INFINITY }, 'resistanceKPerW', 'Infinity'],
  ])('refuses the rung %j', (rung, name, received) => {
    expect(() => polesOfLadder([rung])).toThrow(
      `polesOfLadder: \`ladder[0].${name}\` must be a finite number above 0 (received ${received})`,
    );
  });
});
