import { describe, expect, it } from 'vitest';
import { UNIT_SUFFIXES } from '../../../toolkit/units/suffixes.js';
import { unitFromText } from '../../../toolkit/units/units.js';

describe('UNIT_SUFFIXES', () => {
  it('gives every suffix a quantity, and a unit unless it is a plain number', () => {
    for (const [suffix, { quantity, unit }] of Object.entries(UNIT_SUFFIXES)) {
      expect(quantity, suffix).not.toBe('');
      if (!['Count', 'Fraction', 'Ratio', 'Exponent'].includes(suffix)) expect(unit, suffix).not.toBe('');
    }
  });

  it('names quotients as their unit is written', () => {
    for (const [suffix, { unit }] of Object.entries(UNIT_SUFFIXES)) {
      const quotient = /^(\w+)Per(\w+)$/.exec(suffix);
      if (quotient === null) continue;
      expect(unit.toLowerCase().replace('·', '').replace('²', '2'), suffix).toBe(
        `${quotient[1]}/${quotient[2]}`.toLowerCase(),
      );
    }
  });

  it('agrees with the units a log may state', () => {
    for (const suffix of ['S', 'C', 'W', 'V', 'MHz', 'Rpm', 'PerS']) {
      expect(unitFromText(suffix)?.symbol).toBe(UNIT_SUFFIXES[suffix].unit);
    }
  });
});
