// Structure functions of ladders whose rungs are exact fractions, and the limits of the step response. The rungs are the
// continued fractions of the impedances (recomputed in exact arithmetic); the definitions are those of JESD51-14 (from
// memory): cumulative heat capacity against cumulative resistance from the die, and its slope.
import { describe, expect, test } from 'vitest';
import { ladderFromPoles } from '../../toolkit/thermal/ladder.js';
import { stepResponse } from '../../toolkit/thermal/views/step-response.js';
import { structureFunction } from '../../toolkit/thermal/views/structure-function.js';
import { modelWith } from '../unit/thermal/known-cooler.js';

const cases = [
  {
    name: 'Z(s) = (s + 2) / ((s + 1)(s + 3))',
    foster: { resistance: [1 / 2, 1 / 6], capacity: [2, 2] },
    resistance: [1 / 2, 2 / 3],
    capacity: [1, 5],
    slope: [2, 24],
    tolerance: 1e-12,
  },
  {
    name: 'two stages',
    foster: { resistance: [7 / 10, 3 / 10], capacity: [1, 10] },
    resistance: [2541 / 3070, 1],
    capacity: [10 / 11, 10 / 11 + 94249 / 5819],
    slope: [((10 / 11) * 3070) / 2541, ((94249 / 5819) * 3070) / 529],
    tolerance: 1e-12,
  },
  {
    name: 'four stages, die, case, heat sink base, heat sink to air',
    foster: { resistance: [0.05, 0.1, 0.15, 0.2], capacity: [0.2, 5, 100, 1500] },
    resistance: [
      0.054258614744457596,
      0.054258614744457596 + 0.10671766042653046,
      0.054258614744457596 + 0.10671766042653046 + 0.15977497559357012,
      0.5,
    ],
    capacity: [
      0.19191402251791198,
      0.19191402251791198 + 4.7407499445721335,
      0.19191402251791198 + 4.7407499445721335 + 95.10886781305733,
      0.19191402251791198 + 4.7407499445721335 + 95.10886781305733 + 1567.970393711806,
    ],
    slope: [
      0.19191402251791198 / 0.054258614744457596,
      4.7407499445721335 / 0.10671766042653046,
      95.10886781305733 / 0.15977497559357012,
      1567.970393711806 / 0.17924874923544182,
    ],
    tolerance: 1e-9,
  },
  {
    name: 'two nearly equal time constants',
    foster: { resistance: [1, 1], capacity: [1, 1.1] },
    resistance: [441 / 221, 2],
    capacity: [11 / 21, 11 / 21 + 48841 / 210],
    slope: [((11 / 21) * 221) / 441, (48841 / 210) * 221],
    tolerance: 1e-6,
  },
];

/** A model with these poles and the ladder that belongs to them. */
function modelOf(foster: { readonly resistance: readonly number[]; readonly capacity: readonly number[] }) {
  const poles = foster.resistance
    .map((resistanceKPerW, k) => ({
      timeConstantS: resistanceKPerW * foster.capacity[k],
      resistanceKPerW,
    }))
    .sort((a, b) => a.timeConstantS - b.timeConstantS);
  return { ...modelWith(poles), ladder: ladderFromPoles(poles) };
}

describe.each(cases)('structure function of $name', ({ foster, resistance, capacity, slope, tolerance }) => {
  const structure = structureFunction(modelOf(foster));

  test('has the exact cumulative resistances, capacities and slopes', () => {
    resistance.forEach((value, k) => {
      expect(Math.abs(structure.cumulativeResistanceKPerW[k] / value - 1)).toBeLessThan(tolerance);
      expect(Math.abs(structure.cumulativeHeatCapacityJPerK[k] / capacity[k] - 1)).toBeLessThan(tolerance);
      expect(Math.abs(structure.differentialJWPerK2[k] / slope[k] - 1)).toBeLessThan(tolerance);
    });
  });

  test('ends at the total resistance of the poles and starts at C₁ = 1 / Σ (1 / Cₖ)', () => {
    const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);
    expect(structure.cumulativeResistanceKPerW.at(-1)! / sum(foster.resistance)).toBeCloseTo(1, 11);
    expect(structure.cumulativeHeatCapacityJPerK[0] * sum(foster.capacity.map((c) => 1 / c))).toBeCloseTo(
      1,
      12,
    );
  });
});

describe('step response per watt', () => {
  const model = modelOf(cases[2].foster);
  const zth = (timeS: readonly number[]) => stepResponse(model, { timeS }).risePerPowerKPerW;

  test('is 0 at the start and the sum of the resistances in the end', () => {
    const [start, end] = zth([0, 40 * 300]);
    expect(start).toBe(0);
    expect(end).toBeCloseTo(0.5, 12);
  });

  test('starts with the slope 1/C₁, to 1e-4 at 1e-4 of the fastest time constant', () => {
    const [rise] = zth([1e-6]);
    expect((rise / 1e-6) * model.ladder[0].heatCapacityJPerK).toBeCloseTo(1, 3);
  });

  test('of one node reaches 63.2, 86.5, 95.0, 98.2, 99.3 % after one to five time constants', () => {
    // 1 − e^(−n), recomputed.
    const one = modelOf({ resistance: [0.5], capacity: [120] });
    const shares = [
      0.6321205588285577, 0.8646647167633873, 0.950212931632136, 0.9816843611112658, 0.9932620530009145,
    ];
    stepResponse(one, { timeS: [60, 120, 180, 240, 300] }).risePerPowerKPerW.forEach((rise, i) => {
      expect(rise / 0.5).toBeCloseTo(shares[i], 12);
    });
  });
});
