import { describe, expect, it } from 'vitest';
import { timeFromText } from '../../toolkit/units/time-text.js';
import { convertUnit } from '../../toolkit/units/units.js';

describe('conversions, NIST SP 811 appendix B.8 (exact factors)', () => {
  // degree Fahrenheit -> degree Celsius: t/degC = (t/degF - 32)/1.8; kelvin -> degree Celsius: t/degC = T/K - 273.15.
  it.each([
    [32, '°F', '°C', 0],
    [212, '°F', '°C', 100],
    [-40, '°F', '°C', -40],
    [98.6, '°F', '°C', 37],
    [273.15, 'K', '°C', 0],
    [0, 'K', '°C', -273.15],
    [0, '°C', 'K', 273.15],
    // hour -> second 3.6 E+03, minute -> second 6.0 E+01, both exact.
    [1, 'h', 's', 3600],
    [1, 'min', 's', 60],
    // SI prefixes.
    [65_000, 'mW', 'W', 65],
    [0.118, 'kW', 'W', 118],
    [4.2, 'GHz', 'MHz', 4200],
    [3_800_000_000, 'Hz', 'MHz', 3800],
    [1100, 'mV', 'V', 1.1],
  ])('%d %s is exactly %s %d', (value, from, to, expected) => {
    // One rounding at most: 98.6 is not a double, hence relative 4e-16 rather than equality.
    const converted = convertUnit(value, { from, to });
    expect(Math.abs(converted - expected)).toBeLessThanOrEqual(4e-16 * Math.abs(expected));
  });

  it('absolute zero is -459.67 degrees Fahrenheit (t/degF = T/K * 1.8 - 459.67)', () => {
    expect(convertUnit(0, { from: 'K', to: '°F' })).toBeCloseTo(-459.67, 10);
  });
});

describe('times, the examples of RFC 3339 section 5.8 (a profile of ISO 8601)', () => {
  // The examples are quoted from memory; seconds since 1970 recomputed with the standard library of Python 3.
  it('1985-04-12T23:20:50.52Z', () => {
    expect(timeFromText('1985-04-12T23:20:50.52Z')).toEqual({
      form: 'zoned',
      wholeS: 482_196_050,
      fractionS: 0.52,
    });
  });

  it('1996-12-19T16:39:57-08:00 is 1996-12-20T00:39:57Z', () => {
    expect(timeFromText('1996-12-19T16:39:57-08:00')).toEqual(timeFromText('1996-12-20T00:39:57Z'));
    expect(timeFromText('1996-12-19T16:39:57-08:00')?.wholeS).toBe(851_042_397);
  });

  it('the leap second 1990-12-31T23:59:60Z is 1990-12-31T15:59:60-08:00, one second after 23:59:59', () => {
    expect(timeFromText('1990-12-31T23:59:60Z')?.wholeS).toBe(662_687_999 + 1);
    expect(timeFromText('1990-12-31T15:59:60-08:00')?.wholeS).toBe(662_688_000);
  });

  it('1937-01-01T12:00:27.87+00:20, before 1970 and with an offset of minutes', () => {
    expect(timeFromText('1937-01-01T12:00:27.87+00:20')).toEqual({
      form: 'zoned',
      wholeS: -1_041_337_173,
      fractionS: 0.87,
    });
  });

  it('basic and extended form, lower-case t and z, comma before the fraction are the same time (ISO 8601)', () => {
    const time = timeFromText('2000-02-29T00:00:00.5Z');
    expect(time?.wholeS).toBe(951_782_400);
    for (const text of ['20000229T000000.5Z', '2000-02-29t00:00:00,5z', '2000-02-29T01:00:00.5+01']) {
      expect(timeFromText(text)).toEqual(time);
    }
  });

  it('24:00 is the end of the day (ISO 8601)', () => {
    expect(timeFromText('2031-05-09T24:00:00Z')).toEqual(timeFromText('2031-05-10T00:00:00Z'));
  });
});
