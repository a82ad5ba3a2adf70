import { describe, expect, it } from 'vitest';
import {
  combinedError,
  partsAfter,
  resistancePartsOf,
  withoutCommon,
} from '../../../../toolkit/thermal/compare/resistance-parts.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import type { CoolerModel } from '../../../../toolkit/thermal/cooler-model.js';

const CORRELATION = 0.2;

/** A cooler known to 5 %, far more than a mount changes, that shares something with the other of the pair. */
function cooler(label: string, other: string, temperatureC: number): CoolerModel {
  const model = coolerFromSteadyPoints([{ powerW: 80, temperatureC, ambientC: 22 }], { label });
  const { resistanceLaw } = model;
  return {
    ...model,
    resistanceLaw: {
      ...resistanceLaw,
      resistanceStandardErrorKPerW: 0.05 * resistanceLaw.thermalResistanceKPerW,
    },
    correlations: [{ label: other, correlation: CORRELATION }],
  };
}

const pair = [cooler('flat', 'tower', 70), cooler('tower', 'flat', 54)] as const;
const parts = pair.map((model) =>
  resistancePartsOf(model, { powerW: 80, allowanceFraction: 0, caller: 'here' }),
) as [ReturnType<typeof resistancePartsOf>, ReturnType<typeof resistancePartsOf>];

describe('the variance of a difference of two coolers of one joint fit', () => {
  it('is u₁² + u₂² − 2 r u₁ u₂ of the fit (JCGM 100:2008, 5.2.2, equation 13)', () => {
    const [first, second] = withoutCommon(parts, pair);
    const errors = pair.map(({ resistanceLaw }) => resistanceLaw.resistanceStandardErrorKPerW);
    const taken = parts[0].fit.variance - first.fit.variance + (parts[1].fit.variance - second.fit.variance);
    expect(taken).toBeCloseTo(2 * CORRELATION * errors[0] * errors[1], 12);
  });

  it('keeps all of its parts where the coolers were fitted apart', () => {
    const apart = pair.map(({ correlations: _, ...model }) => model) as [CoolerModel, CoolerModel];
    expect(withoutCommon(parts, apart)).toEqual(parts);
  });
});

it('further mounts average what they draw anew, and leave the exponent as it is', () => {
  const [one] = parts;
  const [exponent, , fit] = partsAfter(one, 3 * one.mounts.mountCount);
  expect(exponent).toEqual(one.exponent);
  expect(fit.variance).toBeCloseTo(one.fit.variance / 4, 15);
  expect(combinedError([fit, exponent]).standardError).toBeCloseTo(
    Math.sqrt(one.fit.variance / 4 + one.exponent.variance),
    15,
  );
});
