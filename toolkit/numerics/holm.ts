import { requireNumber } from '../errors.js';

/**
 * p-values of several tests, adjusted so that all of them may be read together: Holm's step-down method.
 *
 * Sorted ascending, p₍ᵢ₎ becomes the largest of (m − j + 1) p₍ⱼ₎ over j ≤ i, at most 1. Rejecting what stays at or below
 * α makes one wrong rejection or more with a chance of at most α, whatever the tests have in common [Holm1979].
 *
 * @param pValues - p-value of each test, in [0, 1]
 * @returns adjusted p-values in the order given, newly allocated
 * @throws ArgumentError if a value lies outside 0 to 1
 * @example
 * holmAdjustedPValues([0.01, 0.04, 0.03]); // => [0.03, 0.06, 0.06] within 1e-15
 */
export function holmAdjustedPValues(pValues: readonly number[]): number[] {
  pValues.forEach((p, i) => {
    requireNumber(p, { caller: 'holmAdjustedPValues', argument: `pValues[${i}]` }, { atLeast: 0, atMost: 1 });
  });
  const adjusted = new Array<number>(pValues.length);
  let largest = 0;
  pValues
    .map((p, index) => ({ p, index }))
    .sort((a, b) => a.p - b.p)
    .forEach(({ p, index }, rank) => {
      largest = Math.max(largest, Math.min(1, (pValues.length - rank) * p));
      adjusted[index] = largest;
    });
  return adjusted;
}
