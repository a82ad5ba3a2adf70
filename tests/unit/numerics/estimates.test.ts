import { describe, expect, test } from 'vitest';
import type { UnavailableReason } from '../../../toolkit/numerics/estimate.js';
import { estimated, requireValue as numberOf, unavailable } from '../../../toolkit/numerics/estimates.js';

describe('estimated', () => {
  test('without degrees of freedom the interval is the normal one', () => {
    const { interval95 } = estimated(10, 2);
    expect(interval95[0]).toBeCloseTo(10 - 2 * 1.959963984540054, 12);
    expect(interval95[1]).toBeCloseTo(10 + 2 * 1.959963984540054, 12);
  });

  test('the mark for extrapolation is there only where it is given', () => {
    expect('extrapolated' in estimated(1, 1)).toBe(false);
    expect(estimated(1, 1, { extrapolated: true }).extrapolated).toBe(true);
  });

  test('unknown numbers are refused with the way to say so', () => {
    expect(() => estimated(Number.NaN, 1)).toThrow(
      /`value` must be a finite number .*use unavailable\(reason\)/,
    );
    expect(() => estimated(1, -1)).toThrow(/`standardError` must be a finite number at least 0/);
    expect(() => estimated(1, Number.POSITIVE_INFINITY)).toThrow(/use unavailable\(reason\)/);
    expect(() => estimated(1, 1, { degreesOfFreedom: 0 })).toThrow(/`degreesOfFreedom` must be .* above 0/);
  });
});

describe('unavailable', () => {
  test('carries a value only where one is given', () => {
    expect(unavailable('too-few-points')).toEqual({ kind: 'unavailable', reason: 'too-few-points' });
    expect(unavailable('fixed', 3)).toEqual({ kind: 'unavailable', reason: 'fixed', value: 3 });
    expect(() => unavailable('fixed', Number.NaN)).toThrow(/`value` must be a finite number/);
  });
});

describe('requireValue', () => {
  test('returns the number where there is one', () => {
    expect(numberOf(estimated(4, 1))).toBe(4);
    expect(numberOf(unavailable('at-bound', 0))).toBe(0);
  });

  test.each<[UnavailableReason, RegExp]>([
    ['fixed', /it was fixed and no value was recorded/],
    ['at-bound', /stopped at a bound and no value was recorded; widen the bound/],
    ['not-identifiable', /do not determine it \(not-identifiable\); log runs that vary/],
    ['too-few-points', /too few points \(too-few-points\); log longer runs/],
  ])('names the reason “%s” and a remedy where there is none', (reason, message) => {
    expect(() => numberOf(unavailable(reason))).toThrow(message);
  });
});
