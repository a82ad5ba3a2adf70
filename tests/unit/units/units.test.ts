import { describe, expect, it } from 'vitest';
import { convertUnit, normaliseSigns, unitFromText } from '../../../toolkit/units/units.js';

describe('unitFromText', () => {
  it.each([
    ['°C', '°C'],
    ['C', '°C'],
    ['degC', '°C'],
    ['deg C', '°C'],
    ['deg. C', '°C'],
    ['degrees Celsius', '°C'],
    ['℃', '°C'],
    ['º C', '°C'],
    ['°F', '°F'],
    ['Fahrenheit', '°F'],
    ['K', 'K'],
    ['\u212A', 'K'],
    ['W', 'W'],
    ['watts', 'W'],
    ['mW', 'mW'],
    ['mw', 'mW'],
    ['kW', 'kW'],
    ['MHZ', 'MHz'],
    ['mhz', 'MHz'],
    ['GHz', 'GHz'],
    ['Hz', 'Hz'],
    ['s', 's'],
    ['sec', 's'],
    ['ms', 'ms'],
    ['µs', 'µs'],
    ['min', 'min'],
    ['hours', 'h'],
    ['V', 'V'],
    ['mV', 'mV'],
    ['RPM', 'rpm'],
    ['1/min', 'rpm'],
    ['frames/s', '1/s'],
    ['per second', '1/s'],
    ['ops/min', '1/min'],
    ['%', '%'],
  ])('reads %s as %s', (text, symbol) => {
    expect(unitFromText(text)?.symbol).toBe(symbol);
  });

  it('reads neither a megawatt nor a word as a unit', () => {
    for (const text of ['MW', 'package', 'Tdie', '', 'dBm']) expect(unitFromText(text)).toBeUndefined();
  });
});

describe('normaliseSigns', () => {
  it('gives one degree sign for every way it is written or was broken', () => {
    for (const text of ['°C', 'ºC', '˚C', '℃', 'Â°C', '\uFFFDC']) expect(normaliseSigns(text)).toBe('°C');
  });
});

describe('convertUnit', () => {
  it('converts there and back', () => {
    for (const [from, to] of [
      ['°F', '°C'],
      ['K', '°F'],
      ['mW', 'kW'],
      ['GHz', 'Hz'],
      ['h', 'ms'],
    ] as const) {
      // Two affine maps and their inverses: a few units in the last place.
      expect(convertUnit(convertUnit(87.25, { from, to }), { from: to, to: from })).toBeCloseTo(87.25, 10);
    }
  });

  it('names a unit that it does not know', () => {
    expect(() => convertUnit(1, { from: 'parsec', to: 's' })).toThrow(
      'convertUnit: `units.from` must be a unit we know, such as °C, W, MHz, s or 1/s (received "parsec")',
    );
  });

  it('refuses to convert between quantities', () => {
    expect(() => convertUnit(1, { from: 'W', to: 'MHz' })).toThrow(
      'convertUnit: `units` must be two units of one quantity (received "W to MHz")',
    );
  });
});
