import { describe, expect, it } from 'vitest';
import type { Estimate } from '../../../toolkit/numerics/estimate.js';
import { formatEstimate, formatNumber, formatValue } from '../../../toolkit/numerics/format-estimate.js';

function within(value: number, halfWidth: number): Estimate {
  return {
    kind: 'estimated',
    value,
    standardError: halfWidth / 2,
    interval95: [value - halfWidth, value + halfWidth],
  };
}

describe('formatEstimate', () => {
  it('rounds as the examples of JCGM 100:2008 (GUM), 7.2.6', () => {
    // y = 10,057 62 Ω with an uncertainty of 27 mΩ is rounded to 10,058 Ω.
    expect(formatEstimate(within(10.05762, 0.027), 'Ω')).toBe('10.058 ± 0.027 Ω');
    // 28,05 kHz is rounded down to 28 kHz.
    expect(formatEstimate(within(1000, 28.05), 'kHz')).toBe('1000 ± 28 kHz');
  });

  it('never gives the uncertainty more than two significant digits (JCGM 100:2008, 7.2.6)', () => {
    for (let exponent = -6; exponent <= 5; exponent++) {
      for (const lead of [1, 1.04, 1.96, 2.94, 2.96, 3.4, 5.5, 9.4, 9.49, 9.51, 9.96]) {
        const text = formatEstimate(within(123456.789, lead * 10 ** exponent));
        const shown = text.split(' ± ')[1];
        const digits = shown.replace('.', '').replace(/^0+/, '');
        const significant = exponent > 0 ? digits.replace(/0+$/, '') : digits;
        expect(significant.length, text).toBeLessThanOrEqual(2);
        // Rounding moves the uncertainty by less than a fifth of itself.
        expect(Math.abs(Number(shown) / (lead * 10 ** exponent) - 1)).toBeLessThan(0.2);
      }
    }
  });

  it('rounds the value to the place of its uncertainty', () => {
    expect(formatEstimate(within(0.532164, 0.0119), 'K/W')).toBe('0.532 ± 0.012 K/W');
    expect(formatEstimate(within(81.327, 0.38), '°C')).toBe('81.3 ± 0.4 °C');
    expect(formatEstimate(within(3641.27, 270), 'MHz')).toBe('3640 ± 270 MHz');
    expect(formatEstimate(within(3641.27, 420), 'MHz')).toBe('3600 ± 400 MHz');
    expect(formatEstimate(within(-3.14, 0.9), 'MHz')).toBe('−3.1 ± 0.9 MHz');
    expect(formatEstimate(within(0.001, 0.4))).toBe('0.0 ± 0.4');
    expect(formatEstimate(within(-0.001, 0.4))).toBe('0.0 ± 0.4');
  });

  it('writes an interval out that is not symmetric', () => {
    const skewed: Estimate = { kind: 'estimated', value: 40, standardError: 8, interval95: [31, 62] };
    expect(formatEstimate(skewed, 's')).toBe('40 s (31 to 62 s)');
    expect(formatEstimate({ ...skewed, extrapolated: true }, 's')).toBe('40 s (31 to 62 s, extrapolated)');
  });

  it('does not round a positive lower end to 0', () => {
    const skewed: Estimate = {
      kind: 'estimated',
      value: 138.3,
      standardError: 135,
      interval95: [20.27, 944],
    };
    expect(formatEstimate(skewed, 's')).toBe('140 s (20 to 940 s)');
    // Not at the price of digits that nobody knows.
    expect(formatEstimate({ ...skewed, interval95: [1e-6, 944] }, 's')).toBe('138 s (0 to 944 s)');
  });

  it('says where a number lies outside the tested range', () => {
    const estimate: Estimate = { ...within(92, 4), extrapolated: true } as Estimate;
    expect(formatEstimate(estimate, 'W')).toBe('92 ± 4 W (extrapolated)');
  });

  it('says in words why a number or its uncertainty is missing', () => {
    expect(formatEstimate({ kind: 'unavailable', reason: 'not-identifiable' }, 's')).toBe('not identifiable');
    expect(formatEstimate({ kind: 'unavailable', reason: 'too-few-points' }, 's')).toBe(
      'too few independent points',
    );
    expect(formatEstimate({ kind: 'unavailable', reason: 'fixed', value: 23 }, '°C')).toBe('23 °C (fixed)');
    expect(formatEstimate({ kind: 'unavailable', reason: 'at-bound', value: 0.5 }, 's')).toBe(
      '0.5 s (at its bound)',
    );
  });

  it('shows a number alone where its interval has no width', () => {
    expect(formatEstimate(within(92.5, 0), 'W')).toBe('92.5 W');
  });
});

describe('formatValue', () => {
  it('keeps the digits its uncertainty allows', () => {
    expect(formatValue(within(184.31, 9), 's')).toBe('184 s');
    expect(formatValue(within(6.214, 0.41), 's')).toBe('6.2 s');
    expect(formatValue({ kind: 'unavailable', reason: 'not-identifiable' }, 's')).toBe('not identifiable');
  });
});

describe('formatNumber', () => {
  it('keeps three significant digits and every whole digit', () => {
    expect(formatNumber(3641.27, 'MHz')).toBe('3641 MHz');
    expect(formatNumber(0.0532164)).toBe('0.0532');
    expect(formatNumber(118)).toBe('118');
    expect(formatNumber(0.5)).toBe('0.5');
    expect(formatNumber(-2.7449)).toBe('−2.74');
    expect(formatNumber(0)).toBe('0');
  });

  it('does not show what is no number as one', () => {
    expect(formatNumber(Number.NaN, 'W')).toBe('not a number');
  });
});
