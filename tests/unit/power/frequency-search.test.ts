import { expect, test } from 'vitest';
import { frequencySearch } from '../../../toolkit/power/forms/frequency-search.js';

/** Rises with u, is nearly flat about `flatAt`, and explodes towards high u as an alpha-power voltage does. */
function stepped(flatAt: number, leastSlopeW: number) {
  return (u: number, leakageW: number) => {
    const away = (u - flatAt) / 0.05;
    const steep = Math.exp(0.1 * Math.expm1(7.7 * u));
    return {
      powerW: 80 + leakageW + leastSlopeW * u + (10 * Math.sign(away) * away ** 2) / (1 + away ** 2) + steep,
      slopeW:
        leastSlopeW + (200 * 2 * Math.abs(away)) / (1 + away ** 2) ** 2 + steep * 0.77 * Math.exp(7.7 * u),
    };
  };
}

test.each([-0.4, -0.2, -0.1, 0])(
  'a curve that is nearly flat at u = %d gives a root at every power',
  (flatAt) => {
    for (const leastSlopeW of [40, 5, 1, -0.1]) {
      const powerAt = stepped(flatAt, leastSlopeW);
      const solve = frequencySearch(powerAt);
      for (let k = 0; k < 2000; k++) {
        const powerW = 82.5 + 0.002 * k + (k < 1500 ? 0 : 0.1 * (k - 1500));
        const u = solve(powerW, 3);
        expect(Math.abs(powerAt(u, 3).powerW - powerW)).toBeLessThan(1e-6);
      }
    }
  },
);
