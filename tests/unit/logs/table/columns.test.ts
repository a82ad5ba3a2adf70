import { describe, expect, it } from 'vitest';
import { findUnitsRow } from '../../../../toolkit/logs/cells/units-row.js';
import type { ColumnChoice, UnitChoice } from '../../../../toolkit/logs/table/column-rules.js';
import { findColumns } from '../../../../toolkit/logs/table/columns.js';

const find = (headers: readonly string[], options: { columns?: ColumnChoice; units?: UnitChoice } = {}) =>
  Object.fromEntries(
    findColumns(headers, { line: 1, ...options }).columns.map(({ role, header, unit }) => [
      role,
      `${header} in ${unit.symbol}`,
    ]),
  );

describe('findColumns', () => {
  it.each([
    [['time_s', 'temperature_c', 'power_w']],
    [['Time [s]', 'CPU temperature [°C]', 'CPU Package Power [W]']],
    [['Elapsed (ms)', 'Die temp (°F)', 'Package power (mW)']],
    [['Timestamp', 'Tj', 'Power']],
    [['time', 'T_J', 'power']],
    [['time_s', 't_j_c', 'power_w']],
    [['Time', 'CPU junction', 'Power']],
    [['t', 'T', 'P']],
    [['t/s', 'T/K', 'P/W']],
    [['timeS', 'temperatureC', 'powerW']],
    [['Date/Time', 'Package °C', 'Package W']],
    [['seconds', 'degC', 'watts']],
    [['Date', 'Time', 'Temp', 'Power']],
    [['time', 'temp', 'temp limit', 'power', 'power limit [W]', 'power cap (W)']],
    [
      [
        'time',
        'cpu temp',
        'gpu temp',
        'coolant temp',
        'board temperature',
        'cpu power',
        'fan power [W]',
        'wall power',
      ],
    ],
  ])('finds time, temperature and power in %j', (headers) => {
    const found = find(headers);
    expect(Object.keys(found)).toEqual(['time', 'temperature', 'power']);
  });

  it('finds the optional columns and their units', () => {
    const headers = [
      'time_s',
      'temperature_c',
      'power_w',
      'Core clock [GHz]',
      'frames/s',
      'Room air (°F)',
      'Fan speed (rpm)',
      'Core voltage [mV]',
      'CPU load [%]',
      'Fan duty [%]',
      'Energy [J]',
      'note',
    ];
    expect(find(headers)).toEqual({
      time: 'time_s in s',
      temperature: 'temperature_c in °C',
      power: 'power_w in W',
      frequency: 'Core clock [GHz] in GHz',
      throughput: 'frames/s in 1/s',
      ambient: 'Room air (°F) in °F',
      fanSpeed: 'Fan speed (rpm) in rpm',
      voltage: 'Core voltage [mV] in mV',
    });
  });

  it('gives one column to one role: a clock without a unit is the time', () => {
    expect(find(['Clock', 'Temp', 'Power'])).toEqual({
      time: 'Clock in s',
      temperature: 'Temp in °C',
      power: 'Power in W',
    });
  });

  it('lists the headers and shows the option to paste where two columns could be one role', () => {
    expect(() => find(['time_s', 'temp_left_c', "temp o'clock", 'power_w'])).toThrow(
      'line 1, column 3: 2 columns could be temperature (die or package temperature): "temp_left_c", "temp o\'clock"; ' +
        'all headers are "time_s", "temp_left_c", "temp o\'clock", "power_w"; ' +
        "write the option columns: { temperature: 'temp_left_c' } with the one you mean",
    );
    expect(() => find(['time_s', 'temp_c', 'power_w', 'fan 1 [rpm]', 'fan 2 [rpm]'])).toThrow(
      "write the option columns: { fanSpeed: 'fan 1 [rpm]' } with the one you mean, or fanSpeed: false to leave it out",
    );
  });

  it('names every role that is missing in one go, with one option for all of them', () => {
    expect(() => find(['a', 'b', 'power_w'], { columns: { power: 'power_w' } })).toThrow(
      'line 1: no column is recognisable as time (time since the start or clock time), nor as temperature (die or package temperature); ' +
        'the headers are "a", "b", "power_w"; ' +
        "write the option columns: { power: 'power_w', time: '…', temperature: '…' } with the headers that hold them",
    );
  });

  it('does as it is told: by header, by index, by leaving out', () => {
    const headers = ['time_s', 'temp a', 'temp b', 'power_w', 'fan 1', 'fan 2'];
    expect(find(headers, { columns: { temperature: 'TEMP B ', fanSpeed: false } })).toEqual({
      time: 'time_s in s',
      temperature: 'temp b in °C',
      power: 'power_w in W',
    });
    expect(find(headers, { columns: { temperature: 1, fanSpeed: 5 } })).toMatchObject({
      temperature: 'temp a in °C',
      fanSpeed: 'fan 2 in rpm',
    });
  });

  it('does not take a chosen column for another role as well', () => {
    expect(find(['time_s', 'temp a', 'temp b', 'power_w'], { columns: { ambient: 'temp b' } })).toMatchObject(
      {
        temperature: 'temp a in °C',
        ambient: 'temp b in °C',
      },
    );
  });

  it('names a chosen header that is not there, or is there twice', () => {
    expect(() => find(['time', 'temp', 'power'], { columns: { power: 'pwr' } })).toThrow(
      'line 1: there is no column "pwr", chosen for power; the headers are "time", "temp", "power"; choose one of them, or an index from 0 to 2',
    );
    expect(() => find(['time', 'temp', 'power'], { columns: { power: 3 } })).toThrow(
      'no column with index 3',
    );
    expect(() => find(['time', 'temp', 'p', 'p'], { columns: { power: 'p' } })).toThrow(
      'no column "p" that is the only one of that name, chosen for power',
    );
  });

  it('takes units from the option before those of the header', () => {
    expect(
      find(['time', 'temp', 'power_w'], { units: { time: 'ms', temperature: 'F', power: 'mW' } }),
    ).toEqual({
      time: 'time in ms',
      temperature: 'temp in °F',
      power: 'power_w in mW',
    });
  });

  it('takes the units in a row below the headers, and finds columns by them', () => {
    const unitsRow = findUnitsRow({ line: 2, cells: ['ms', '[°F]', '', '(mW)', '-'] }, 5);
    const found = findColumns(['time', 'die', 'load', 'package', 'power_w'], {
      line: 1,
      ...(unitsRow === undefined ? {} : { unitsRow }),
      columns: { power: 'package' },
    });
    expect(found.columns.map(({ role, unit, isUnitAssumed }) => [role, unit.symbol, isUnitAssumed])).toEqual([
      ['time', 'ms', false],
      ['temperature', '°F', false],
      ['power', 'mW', false],
    ]);
  });

  it('shows the row of units where no column can be found', () => {
    const unitsRow = findUnitsRow({ line: 3, cells: ['s', '%', 'W'] }, 3)!;
    expect(() => findColumns(['time', 'temp', 'power'], { line: 1, unitsRow })).toThrow(
      'the headers are "time", "temp", "power", with the units "s", "%", "W" in line 3',
    );
  });

  it('refuses a unit it does not know and a column whose unit is of another quantity', () => {
    expect(() => find(['time_s', 'temp_c', 'Power [dBm]'])).toThrow(
      'line 1, column 3: the unit "dBm" of "Power [dBm]" is not known; write the option units: { power: \'W\' } with the unit it has',
    );
    expect(() => find(['time_s', 'temp_c', 'x [V]'], { columns: { power: 'x [V]' } })).toThrow(
      'line 1, column 3: "x [V]" was chosen for power, but its unit is V; choose another column',
    );
  });
});
