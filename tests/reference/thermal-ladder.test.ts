// Ladder and pole form against exact rational expansions and textbook formulas. The rational results, the uniform
// ladder's time constants and the exponential shares are recomputed (exact fractions, SciPy 1.10); the methods are
// those of network synthesis texts and of JESD51-14 (from memory).
import { describe, expect, test } from 'vitest';
import { ladderFromPoles, type Pole, polesOfLadder } from '../../toolkit/thermal/ladder.js';
import { simulateLadder } from '../../toolkit/thermal/simulate-ladder.js';

/** Foster form R, C and Cauer form, die side first; fractions are exact. Relative tolerances as the conditioning allows. */
const expansions = [
  {
    name: 'Z(s) = (s + 2) / ((s + 1)(s + 3))',
    foster: { resistance: [1 / 2, 1 / 6], capacity: [2, 2] },
    cauer: { resistance: [1 / 2, 1 / 6], capacity: [1, 4] },
    tolerance: 1e-12,
  },
  {
    name: 'two stages',
    foster: { resistance: [7 / 10, 3 / 10], capacity: [1, 10] },
    cauer: { resistance: [2541 / 3070, 529 / 3070], capacity: [10 / 11, 94249 / 5819] },
    tolerance: 1e-12,
  },
  {
    name: 'three stages over two and a half decades',
    foster: { resistance: [0.1, 0.2, 0.3], capacity: [1, 10, 100] },
    cauer: {
      resistance: [36963 / 301510, 20325246772609 / 92511951337245, 1581414289 / 6136575990],
      capacity: [100 / 111, 4545414005 / 500427183, 105.63763179091293],
    },
    tolerance: 1e-9,
  },
  {
    name: 'four stages, die, case, heat sink base, heat sink to air',
    foster: { resistance: [0.05, 0.1, 0.15, 0.2], capacity: [0.2, 5, 100, 1500] },
    cauer: {
      resistance: [0.054258614744457596, 0.10671766042653046, 0.15977497559357012, 0.17924874923544182],
      capacity: [0.19191402251791198, 4.7407499445721335, 95.10886781305733, 1567.970393711806],
    },
    tolerance: 1e-9,
  },
  {
    name: 'two nearly equal time constants',
    foster: { resistance: [1, 1], capacity: [1, 1.1] },
    cauer: { resistance: [441 / 221, 1 / 221], capacity: [11 / 21, 48841 / 210] },
    tolerance: 1e-6,
  },
];

describe('from poles to a ladder', () => {
  describe.each(expansions)('$name', ({ foster, cauer, tolerance }) => {
    const poles: Pole[] = foster.resistance.map((resistanceKPerW, k) => ({
      timeConstantS: resistanceKPerW * foster.capacity[k],
      resistanceKPerW,
    }));
    const ladder = ladderFromPoles(poles);

    test('gives the exact rational rungs', () => {
      ladder.forEach((rung, i) => {
        expect(Math.abs(rung.resistanceKPerW / cauer.resistance[i] - 1)).toBeLessThan(tolerance);
        expect(Math.abs(rung.heatCapacityJPerK / cauer.capacity[i] - 1)).toBeLessThan(tolerance);
      });
    });

    test('keeps the total resistance and the initial slope 1/C₁ = Σ 1/Cₖ', () => {
      const total = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0);
      expect(total(ladder.map((rung) => rung.resistanceKPerW)) / total(foster.resistance)).toBeCloseTo(1, 11);
      expect(ladder[0].heatCapacityJPerK * total(foster.capacity.map((c) => 1 / c))).toBeCloseTo(1, 12);
    });

    test('and back gives the poles it came from', () => {
      const back = polesOfLadder(ladder);
      const sorted = poles.toSorted((a, b) => a.timeConstantS - b.timeConstantS);
      back.forEach((pole, k) => {
        expect(Math.abs(pole.timeConstantS / sorted[k].timeConstantS - 1)).toBeLessThan(1e-9);
        expect(Math.abs(pole.resistanceKPerW / sorted[k].resistanceKPerW - 1)).toBeLessThan(1e-9);
      });
    });

    test('does not depend on the order of the poles', () => {
      ladderFromPoles(poles.toReversed()).forEach((rung, i) => {
        expect(Math.abs(rung.resistanceKPerW / ladder[i].resistanceKPerW - 1)).toBeLessThan(tolerance);
      });
    });
  });
});

describe('time constants of a uniform ladder, τₖ = RC / (4 sin²((2k − 1)π / (4N + 2)))', () => {
  // Textbook result for N equal sections with the far end grounded; values recomputed with SciPy 1.10.
  test.each([
    { sections: 1, tau: [1] },
    { sections: 2, tau: [2.618033988749895, 0.38196601125010515] },
    { sections: 3, tau: [5.048917339522306, 0.6431041321077906, 0.30797852836990414] },
    {
      sections: 5,
      tau: [
        12.343537519677056, 1.4486905697966426, 0.5829644982937405, 0.35325328289373853, 0.27155412933882117,
      ],
    },
    {
      sections: 10,
      tau: [
        44.76606865271504, 5.048917339522306, 1.8730230604249107, 1, 0.6431041321077906, 0.4652330878085648,
        0.3662088746157992, 0.30797852836990414, 0.27378676163924487, 0.25567956279643594,
      ],
    },
  ])('$sections sections, to 1e-10', ({ sections, tau }) => {
    const resistanceKPerW = 0.4;
    const heatCapacityJPerK = 150;
    const ladder = Array.from({ length: sections }, () => ({ heatCapacityJPerK, resistanceKPerW }));
    const found = polesOfLadder(ladder).map(
      (pole) => pole.timeConstantS / (resistanceKPerW * heatCapacityJPerK),
    );
    found.toReversed().forEach((value, k) => {
      expect(Math.abs(value / tau[k] - 1)).toBeLessThan(1e-10);
    });
  });
});

describe('thermal impedance of a ladder, (T − T_air) / P after a step of power', () => {
  const poles = [
    { timeConstantS: 0.7, resistanceKPerW: 0.1 },
    { timeConstantS: 20, resistanceKPerW: 0.2 },
    { timeConstantS: 150, resistanceKPerW: 0.3 },
  ];
  const ladder = ladderFromPoles(poles);
  const impedance = (timesS: readonly number[], rungs = ladder): number[] => {
    const timeS = [0, ...timesS];
    const [die] = simulateLadder(rungs, { timeS, powerW: timeS.map(() => 80), ambientC: 22 });
    return Array.from(die, (temperatureC) => (temperatureC - 22) / 80);
  };

  test('is 0 at the start and the sum of the resistances in the end', () => {
    const values = impedance([40 * 150]);
    expect(values[0]).toBe(0);
    expect(values[1]).toBeCloseTo(0.6, 12);
  });

  test('starts with the slope 1/C₁ of the die, to 1e-4 at 1e-4 of the fastest time constant', () => {
    const [, value] = impedance([1e-4 * 0.7]);
    expect((value / (1e-4 * 0.7)) * ladder[0].heatCapacityJPerK).toBeCloseTo(1, 4);
  });

  test('of one node reaches 63.2, 86.5, 95.0, 98.2, 99.3 % after one to five time constants', () => {
    const shares = [
      0.6321205588285577, 0.8646647167633873, 0.950212931632136, 0.9816843611112658, 0.9932620530009145,
    ];
    const one = [{ heatCapacityJPerK: 120, resistanceKPerW: 0.5 }];
    impedance([60, 120, 180, 240, 300], one)
      .slice(1)
      .forEach((value, i) => {
        expect(value / 0.5).toBeCloseTo(shares[i], 12);
      });
  });

  test('at any time is the sum of the poles, to 1e-11', () => {
    const timesS = [0.2, 1, 3, 10, 40, 160, 700];
    impedance(timesS)
      .slice(1)
      .forEach((value, i) => {
        const sum = poles.reduce(
          (total, pole) => total + pole.resistanceKPerW * (1 - Math.exp(-timesS[i] / pole.timeConstantS)),
          0,
        );
        expect(value).toBeCloseTo(sum, 11);
      });
  });

  test('while cooling mirrors heating (JESD51-14, from memory)', () => {
    const timeS = [0, 1, 5, 30, 200];
    const heating = impedance(timeS.slice(1));
    // In a long heated ladder the temperature falls by the resistances passed.
    let above = 0.6 * 80;
    const startC = ladder.map((rung) => {
      const temperatureC = 22 + above;
      above -= rung.resistanceKPerW * 80;
      return temperatureC;
    });
    const [die] = simulateLadder(ladder, { timeS, powerW: timeS.map(() => 0), ambientC: 22, startC });
    die.forEach((temperatureC, i) => {
      expect((temperatureC - 22) / 80).toBeCloseTo(0.6 - heating[i], 11);
    });
  });
});
