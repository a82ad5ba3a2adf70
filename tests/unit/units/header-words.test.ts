import { describe, expect, it } from 'vitest';
import { headerWords } from '../../../toolkit/units/header-words.js';

describe('headerWords', () => {
  it.each([
    ['CPU Package Power [W]', 'cpu package power', 'W'],
    ['Package power (W)', 'package power', 'W'],
    ['power_w', 'power', 'W'],
    ['POWER_W', 'power', 'W'],
    ['powerW', 'power', 'W'],
    ['Power, W', 'power', 'W'],
    ['Power W', 'power', 'W'],
    ['Power in W', 'power', 'W'],
    ['P/W', 'p', 'W'],
    ['temp_c', 'temp', '°C'],
    ['temp_degC', 'temp', '°C'],
    ['temp_deg_c', 'temp', '°C'],
    ['Temp. °C', 'temp', '°C'],
    ['Temperature (deg C)', 'temperature', '°C'],
    ['Temperature Â°C', 'temperature', '°C'],
    ['temperature in degrees Fahrenheit', 'temperature', '°F'],
    ['temperatureC', 'temperature', '°C'],
    ['ambientTemperatureC', 'ambient temperature', '°C'],
    ['frequencyMHz', 'frequency', 'MHz'],
    ['Core clock [GHz]', 'core clock', 'GHz'],
    ['f / MHz', 'f', 'MHz'],
    ['timeS', 'time', 's'],
    ['elapsedMs', 'elapsed', 'ms'],
    ['t/s', 't', 's'],
    ['Time in s', 'time', 's'],
    ['frames/s', '', '1/s'],
    ['throughputPerS', 'throughput', '1/s'],
    ['frames per second', 'frames', '1/s'],
    ['work_per_s', 'work', '1/s'],
    ['Fan r/min', 'fan', 'rpm'],
    ['fan_speed_rpm', 'fan speed', 'rpm'],
    ['Fan speed [%]', 'fan speed', '%'],
  ])('reads %s as "%s" in %s', (header, words, symbol) => {
    const found = headerWords(header);
    expect(found.words.join(' ')).toBe(words);
    expect(found.unit?.symbol).toBe(symbol);
  });

  it('takes a single letter for a symbol, not for a unit', () => {
    for (const symbol of ['T', 't', 'P', 'f', 'V']) {
      expect(headerWords(symbol)).toEqual({ words: [symbol.toLowerCase()], symbol });
    }
  });

  it('keeps ordinary words in brackets as words', () => {
    expect(headerWords('Power (package)')).toEqual({ words: ['power', 'package'], symbol: 'Power package' });
  });

  it('reports what stands in brackets and is neither a unit nor a word', () => {
    expect(headerWords('Power [MW]').unknownUnit).toBe('MW');
    expect(headerWords('Power [dBm]').unknownUnit).toBe('dBm');
  });
});
