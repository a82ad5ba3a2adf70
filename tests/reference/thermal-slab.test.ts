// Ladders of many cells against the exact solutions of heat conduction in a slab.
import { describe, expect, test } from 'vitest';
import type { LadderRung } from '../../toolkit/thermal/cooler-model.js';
import { simulateLadder } from '../../toolkit/thermal/simulate-ladder.js';

/**
 * Grid of `cells` cells for a slab of thickness 1, conductivity 1 and heat capacity 1, heated at its first face: nodes
 * on both faces with half a cell each, the far face into a surface resistance. With an isothermal far face its node is
 * the air itself.
 */
function slab(cells: number, farSurfaceResistance: number): LadderRung[] {
  const inner = Array.from({ length: cells }, (_, i) => ({
    heatCapacityJPerK: (i === 0 ? 0.5 : 1) / cells,
    resistanceKPerW: 1 / cells,
  }));
  return farSurfaceResistance === 0
    ? inner
    : [...inner, { heatCapacityJPerK: 0.5 / cells, resistanceKPerW: farSurfaceResistance }];
}

/** Temperature of the heated face for a unit step of flux, at the Fourier numbers given. */
function heatedFace(ladder: readonly LadderRung[], fourier: readonly number[]): number[] {
  const timeS = [0, ...fourier];
  const [face] = simulateLadder(ladder, { timeS, powerW: timeS.map(() => 1), ambientC: 0 });
  return Array.from(face.subarray(1));
}

describe('a step of flux into a slab', () => {
  // θ k / (q L) at the heated face against Fo = α t / L²; Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed.,
  // 3.8 and 3.11 (section numbers from memory), series recomputed with 50 digits.
  const fourier = [0.05, 0.1, 0.2, 0.5, 1, 2, 5];
  const columns = [
    {
      farFace: 'isothermal',
      resistance: 0,
      exact: [
        0.2523132521777547, 0.35682340045245403, 0.5040878202025486, 0.7639503307438488, 0.9312596784633337,
        0.9941704789261604, 0.9999964445315505,
      ],
    },
    {
      farFace: 'insulated',
      // A resistance a million million times the slab's own: the exact solution knows no other insulation either.
      resistance: 1e12,
      exact: [
        0.2523132522262773, 0.3568262460086544, 0.5051651887025608, 0.8318759529293418, 1.3333228520244376,
        2.3333333327912067, 5.333333333333333,
      ],
    },
    {
      farFace: 'convective, Bi = 1',
      resistance: 1,
      exact: [
        0.252313252224107, 0.35682601383180407, 0.5050137578352649, 0.814373506657417, 1.1814258994729183,
        1.6095154147134236, 1.9576119348208116,
      ],
    },
    {
      farFace: 'convective, Bi = 10',
      resistance: 0.1,
      exact: [
        0.2523132522107451, 0.35682489769096537, 0.5044897436209339, 0.7785508373249691, 0.9841871528579571,
        1.0849661250498361, 1.0999671138124911,
      ],
    },
  ];

  test.each(columns)(
    '$farFace far face: 40 cells are right to 2e-4 of the flux step',
    ({ resistance, exact }) => {
      heatedFace(slab(40, resistance), fourier).forEach((value, i) => {
        expect(Math.abs(value - exact[i])).toBeLessThan(2e-4);
      });
    },
  );

  test.each(columns)(
    '$farFace far face: the error falls with the square of the cell',
    ({ resistance, exact }) => {
      const errors = [5, 10, 20, 40].map((cells) =>
        heatedFace(slab(cells, resistance), fourier.slice(0, 4)).map((value, i) =>
          Math.abs(value - exact[i]),
        ),
      );
      for (let e = 1; e < errors.length; e++) {
        errors[e].forEach((error, i) => {
          const order = Math.log2(errors[e - 1][i] / error);
          expect(order, `Fo ${fourier[i]}, refinement ${e}`).toBeGreaterThan(1.85);
          expect(order, `Fo ${fourier[i]}, refinement ${e}`).toBeLessThan(2.3);
        });
      }
    },
  );

  test('nodes in the middle of the cells give another solver’s values for that grid, and second order too', () => {
    // Full cells, half a cell of resistance to each face; the heated face is half a cell above the first node.
    // Isothermal far face, Fo = 0.05, 0.2, 1; recomputed with SciPy 1.10.
    const expected: Record<number, number[]> = {
      5: [0.2653201141824242, 0.5100460979485008, 0.9310060955794698],
      10: [0.25548768400664207, 0.5055737488378124, 0.9311942784178414],
      20: [0.2531029747853468, 0.5044591022639134, 0.9312432040457581],
      40: [0.25251044907356707, 0.5041806286150046, 0.9312555520971192],
    };
    const exact = [0.2523132521777547, 0.5040878202025486, 0.9312596784633337];
    const errors = [5, 10, 20, 40].map((cells) => {
      const ladder = Array.from({ length: cells }, (_, i) => ({
        heatCapacityJPerK: 1 / cells,
        resistanceKPerW: (i === cells - 1 ? 0.5 : 1) / cells,
      }));
      const face = heatedFace(ladder, [0.05, 0.2, 1]).map((value) => value + 0.5 / cells);
      face.forEach((value, i) => {
        expect(value).toBeCloseTo(expected[cells][i], 8);
      });
      return Math.abs(face[1] - exact[1]);
    });
    // At Fo = 0.2: 5.96e-3, 1.49e-3, 3.71e-4, 9.28e-5.
    for (let e = 1; e < errors.length; e++) expect(Math.log2(errors[e - 1] / errors[e])).toBeCloseTo(2, 1);
  });
});

describe('Incropera & DeWitt, 6th ed., example 5.9: slab with distributed power that doubles', () => {
  // Inputs from a public solution companion of the book; the book's table from memory, the explicit scheme and the
  // exact series recomputed.
  const halfThicknessM = 0.01;
  const conductivityWPerMK = 30;
  const coefficientWPerM2K = 1100;
  const diffusivityM2PerS = 5e-6;
  const airC = 250;
  const capacityPerVolume = conductivityWPerMK / diffusivityM2PerS;

  /** The midplane is node 0, the cooled face the last node; per square metre of face. */
  const course = (
    cells: number,
    timeS: readonly number[],
    startC: readonly number[],
    powerPerVolume: number,
  ) => {
    const widthM = halfThicknessM / cells;
    const volumes = Array.from({ length: cells + 1 }, (_, i) =>
      i === 0 || i === cells ? widthM / 2 : widthM,
    );
    const ladder = volumes.map((volume, i) => ({
      heatCapacityJPerK: capacityPerVolume * volume,
      resistanceKPerW: i === cells ? 1 / coefficientWPerM2K : widthM / conductivityWPerMK,
    }));
    return simulateLadder(ladder, {
      timeS,
      powerW: timeS.map(() => powerPerVolume * halfThicknessM),
      powerShares: volumes.map((volume) => volume / halfThicknessM),
      ambientC: airC,
      startC,
    });
  };
  /** T(x) = T_air + q L / h + q (L² − x²) / 2k; exact on the grid as well. */
  const steadyC = (cells: number, powerPerVolume: number): number[] =>
    Array.from({ length: cells + 1 }, (_, i) => {
      const x = (halfThicknessM * i) / cells;
      return (
        airC +
        (powerPerVolume * halfThicknessM) / coefficientWPerM2K +
        (powerPerVolume * (halfThicknessM ** 2 - x ** 2)) / (2 * conductivityWPerMK)
      );
    });
  /** Temperatures 1.5 s after the power doubles, at x = 0, L/5 … L. */
  const at1500ms = (cells: number): number[] => {
    const nodes = course(cells, [0, 1.5], steadyC(cells, 1e7), 2e7);
    return [0, 1, 2, 3, 4, 5].map((fifth) => nodes[(fifth * cells) / 5][1]);
  };
  const exactSeriesC = [
    360.0754142880741, 359.408064308858, 357.4042981067168, 354.0568300759489, 349.3463784109893,
    343.23212850476676,
  ];

  test('settles where the book has it, before and after the step, to its two decimals', () => {
    // 35 times the slowest time constant, which is near 57 s.
    const settle = [0, 2000];
    const cold = [0, 1, 2, 3, 4, 5].map(() => airC);
    const before = course(5, settle, cold, 1e7).map((node) => node[1]);
    const after = course(5, settle, cold, 2e7).map((node) => node[1]);
    [357.58, 356.91, 354.91, 351.58, 346.91, 340.91].forEach((expected, i) => {
      expect(Math.abs(before[i] - expected)).toBeLessThan(0.006);
    });
    [465.15, 463.82, 459.82, 453.15, 443.82, 431.82].forEach((expected, i) => {
      expect(Math.abs(after[i] - expected)).toBeLessThan(0.006);
    });
  });

  test('1.5 s after the step five cells agree with the exact series to 0.02 K', () => {
    at1500ms(5).forEach((temperatureC, i) => {
      expect(Math.abs(temperatureC - exactSeriesC[i])).toBeLessThan(0.02);
    });
  });

  test('and with the book’s explicit steps of 0.3 s, printed to 0.1 K, to 0.06 K', () => {
    const bookC = [360.1, 359.4, 357.4, 354.1, 349.3, 343.2];
    at1500ms(5).forEach((temperatureC, i) => {
      expect(Math.abs(temperatureC - bookC[i])).toBeLessThan(0.06);
    });
  });

  test('finer cells approach the exact series with the square of the cell', () => {
    const largest = [5, 10, 20, 40].map((cells) =>
      Math.max(...at1500ms(cells).map((temperatureC, i) => Math.abs(temperatureC - exactSeriesC[i]))),
    );
    for (let e = 1; e < largest.length; e++) {
      const order = Math.log2(largest[e - 1] / largest[e]);
      expect(order).toBeGreaterThan(1.8);
      expect(order).toBeLessThan(2.2);
    }
    expect(largest[3]).toBeLessThan(5e-4);
  });
});
