import { describe, expect, it } from 'vitest';
import { parseRun, safeParseRun } from '../../../../toolkit/logs/read/parse-run.js';
import type { Finding } from '../../../../toolkit/runs/finding.js';

const HEADER = 'time_s,temperature_c,power_w';
const ROWS = Array.from({ length: 12 }, (_, i) => `${i},${30 + i}.5,65.25`);
const log = (rows: readonly string[] = ROWS, header = HEADER): string => `${[header, ...rows].join('\n')}\n`;
const finding = (findings: readonly Finding[], code: string): Finding => {
  const found = findings.find((one) => one.code === code);
  if (found === undefined)
    throw new Error(`no finding ${code} among ${findings.map((one) => one.code).join(', ')}`);
  return found;
};
/** Findings of the reader; the checks of the samples have tests of their own. */
const READING = /^(?:row-|value-|assumed-unit|empty-column)/;
const codesOf = (findings: readonly Finding[]): readonly string[] =>
  findings.map(({ code }) => code).filter((code) => READING.test(code));

describe('parseRun', () => {
  it('reads a plain log, and finds nothing to report about its text', () => {
    const run = parseRun(log(), { label: 'evening', conditions: { cooler: 'flat 41 mm' } });
    expect(run.label).toBe('evening');
    expect(run.conditions).toEqual({ cooler: 'flat 41 mm' });
    expect(run.powerSample).toBe('interval-mean');
    expect(Array.from(run.timeS)).toEqual(ROWS.map((_, i) => i));
    expect(Array.from(run.temperatureC)).toEqual(ROWS.map((_, i) => 30.5 + i));
    expect(Array.from(run.powerW)).toEqual(ROWS.map(() => 65.25));
    expect(run.frequencyMHz).toBeUndefined();
    expect(codesOf(run.findings)).toEqual([]);
  });

  it('converts every column once, to our units', () => {
    const run = parseRun(
      'Elapsed [min];Die [°F];Package [mW];Clock [GHz];frames/min;Room [K];Fan [1/min];Core [mV]\n' +
        '0;212;65000;3,8;60;295,15;1500;1050\n0,5;32;66000;3,75;120;296,15;1510;1049\n',
    );
    expect(Array.from(run.timeS)).toEqual([0, 30]);
    expect(Array.from(run.temperatureC)).toEqual([100, 0]);
    expect(Array.from(run.powerW)).toEqual([65, 66]);
    expect(Array.from(run.frequencyMHz!)).toEqual([3800, 3750]);
    expect(Array.from(run.throughputPerS!)).toEqual([1, 2]);
    expect(Array.from(run.ambientC!)).toEqual([22, 23]);
    expect(Array.from(run.fanSpeedRpm!)).toEqual([1500, 1510]);
    expect(Array.from(run.voltageV!)).toEqual([1.05, 1.049]);
  });

  it.each([
    ['h:mm:ss', ['0:00:00', '0:00:01', '0:00:02.5'], [0, 1, 2.5]],
    ['clock times', ['23:10:59', '23:11:00', '23:11:01'], [0, 1, 2]],
    ['ISO 8601', ['2031-05-09T14:30:00Z', '2031-05-09T14:30:00.250Z', '2031-05-09T14:31:00Z'], [0, 0.25, 60]],
    [
      'ISO 8601 with a blank',
      ['2031-05-09 14:30:00', '2031-05-09 14:30:01', '2031-05-10 00:00:00'],
      [0, 1, 34_200],
    ],
    [
      'ISO 8601 across zones',
      ['2031-05-09T14:30:00+02:00', '2031-05-09T12:30:01Z', '2031-05-09T12:30:02Z'],
      [0, 1, 2],
    ],
    ['epoch seconds', ['1936103400.5', '1936103401.5', '1936103402.5'], [0, 1, 2]],
    ['negative times', ['-2', '-1', '0'], [0, 1, 2]],
  ])('reads %s', (_, times, expected) => {
    const run = parseRun(log(times.map((time) => `${time},30,65`)));
    expect(Array.from(run.timeS)).toEqual(expected);
  });

  it('takes a row of units below the headers for units, not for a sample', () => {
    const run = parseRun('time,temp,power\n\ns,°F,W\n0,212,95\n1,32,95\n');
    expect(Array.from(run.temperatureC)).toEqual([100, 0]);
    expect(codesOf(run.findings)).toEqual([]);
    expect(finding(run.findings, 'units-row')).toEqual({
      code: 'units-row',
      severity: 'note',
      message:
        'Line 3 holds the units of the columns, not values; so were read: "time" in s, "temp" in °F, "power" in W.',
      remedy: 'if a unit there is wrong, write the one it has into the option units',
      count: 1,
      lines: [3],
    });
  });

  it.each([
    [
      'tabs, brackets and a blank one',
      'Time\tT_J\tPower\tnote\n[min]\t(°F)\t[mW]\t\n0\t50\t5000\tx\n1\t68\t6000\t\n',
    ],
    [
      'a form of time and words',
      'time;temp;power;state\nhh:mm:ss;°F;mW;text\n0:00:00;50;5000;a\n0:01:00;68;6000;b\n',
    ],
    ['fewer cells than headers', 'time,temp,power,x\nmin,degF,milliwatts\n0,50,5000,1\n1,68,6000,2\n'],
    ['no unit where the header has one', 'time_min,temp,power [mW]\n,°F,\n0,50,5000\n1,68,6000\n'],
    ['the same units as the headers', 'time_min,temp [°F],power [mW]\nmin,degF,mW\n0,50,5000\n1,68,6000\n'],
  ])('reads a row of units with %s', (_, text) => {
    for (const form of [text, new TextEncoder().encode(text)]) {
      const run = parseRun(form);
      expect(Array.from(run.timeS)).toEqual([0, 60]);
      expect(Array.from(run.temperatureC)).toEqual([10, 20]);
      expect(Array.from(run.powerW)).toEqual([5, 6]);
      expect(codesOf(run.findings)).toEqual([]);
      expect(finding(run.findings, 'units-row').lines).toEqual([2]);
    }
  });

  it('refuses a row of units that contradicts the headers, or has one it does not know', () => {
    const text = 'time_s,temp_c,power_w\ns,°F,W\n0,80,95\n1,81,95\n';
    expect(() => parseRun(text)).toThrow(
      'line 2, column 2: "temp_c" (temperature) states °C, but the row of units says "°F" below it; correct one of the two, or write the option units: { temperature: \'°C\' } or units: { temperature: \'°F\' }, which counts before both',
    );
    const run = parseRun(text, { units: { temperature: '°C' } });
    expect(Array.from(run.temperatureC)).toEqual([80, 81]);
    expect(finding(run.findings, 'units-row').message).toBe(
      'Line 2 holds the units of the columns, not values; so were read: "time_s" in s, "power_w" in W.',
    );
    expect(() => parseRun('time,temp,power\ns,°C,dBm\n0,80,95\n1,81,95\n')).toThrow(
      'line 2, column 3: the unit "dBm" of "power" is not known; write the option units: { power: \'W\' }',
    );
  });

  it('takes no sample and no line of texts for a row of units', () => {
    const first = (row: string) => parseRun(`time,temp,power,state\n${row}\n0,80,95,a\n1,81,95,b\n`).findings;
    for (const row of ['-1,79,95,C', 'n/a,n/a,n/a,n/a', 'off,off,off,C']) {
      expect(first(row).map(({ code }) => code)).not.toContain('units-row');
    }
    expect(finding(first('off,off,off,C'), 'row-unreadable-value').lines).toEqual([2]);
  });

  it('says that a log of headers and units has no rows', () => {
    expect(() => parseRun('time,temp,power\ns,°C,W\n')).toThrow('the log has a header but no rows');
  });

  it('lets clock times run on over midnight and loses no sample', () => {
    const run = parseRun(
      log(['23:59:58', '23:59:59.5', '0:00:01', '00:00:02'].map((time) => `${time},30,65`)),
    );
    expect(Array.from(run.timeS)).toEqual([0, 1.5, 3, 4]);
    expect(finding(run.findings, 'midnight')).toMatchObject({
      severity: 'note',
      count: 1,
      lines: [4],
      message:
        'The clock passes midnight once (line 4) and names no date: a day was added to the times from there on.',
    });
    expect(run.findings.map(({ code }) => code)).not.toContain('backward-time');
  });

  it('leaves out samples where a clock is set back, and names that and midnight', () => {
    const hours = (from: number) => ROWS.map((_, i) => `${from}:00:${10 + i},${30 + i},65`);
    const run = parseRun(log([...hours(14), ...hours(12)]));
    const backward = finding(run.findings, 'backward-time');
    expect(backward).toMatchObject({ severity: 'serious', count: ROWS.length });
    expect(backward.remedy).toMatch(/a clock that was set during the run or passed midnight without a date/);
    expect(run.findings.map(({ code }) => code)).not.toContain('midnight');
  });

  it('reads bytes and text alike', () => {
    const text = 'time_s;Temp °C;power_w\n0;30,5;65\n1;31,5;66\n';
    const utf16 = new DataView(new ArrayBuffer(2 * text.length + 2));
    utf16.setUint16(0, 0xfeff);
    for (let i = 0; i < text.length; i++) utf16.setUint16(2 * i + 2, text.charCodeAt(i));
    const forms = [
      text,
      `\uFEFF${text}`,
      text.replaceAll('\n', '\r\n'),
      text.replaceAll('\n', '\r'),
      new TextEncoder().encode(text),
      new TextEncoder().encode(`\uFEFF${text}`),
      Uint8Array.from(text, (sign) => sign.charCodeAt(0)),
      new Uint8Array(utf16.buffer),
    ];
    for (const form of forms) expect(parseRun(form)).toEqual(parseRun(text));
    expect(Array.from(parseRun(text).temperatureC)).toEqual([30.5, 31.5]);
  });

  it('reads quoted cells with delimiters, doubled quotes and line ends in them', () => {
    const run = parseRun(
      '"time, s","temp\n°C","power ""net"", W",note\n"0","30.5","65",""\n"1","31.5","66","a\nb, ""c"""\n2,32.5,67,\n',
    );
    expect(Array.from(run.powerW)).toEqual([65, 66, 67]);
  });

  it('leaves out rows it cannot use, and every one is in a finding with its line', () => {
    const rows = [...ROWS];
    rows[2] = '2,,65';
    rows[4] = '4,abc,65';
    rows[5] = '5,30';
    rows[7] = 'soon,30,65';
    rows[8] = '8,30,-4';
    rows[9] = '9,30,65,77';
    rows[10] = ',,';
    const run = parseRun(log(rows));
    expect(finding(run.findings, 'row-cell-count')).toMatchObject({
      severity: 'warning',
      count: 2,
      lines: [7, 11],
      message:
        "2 of 12 rows were left out: their number of cells is not the header's 3 (line 7 has 2 cells).",
    });
    const unreadable = run.findings.filter(({ code }) => code === 'row-unreadable-value');
    expect(unreadable.map(({ lines }) => lines)).toEqual([[9], [6], [10]]);
    expect(unreadable[1].message).toBe(
      '1 of 12 rows was left out: "temperature_c" (temperature) is "abc" in line 6, which is no possible value.',
    );
    const missing = run.findings.filter(({ code }) => code === 'row-missing-value');
    expect(missing.map(({ lines }) => lines)).toEqual([[12], [4]]);
    const leftOut = run.findings
      .filter(({ code }) => code.startsWith('row-'))
      .reduce((sum, { count }) => sum + count!, 0);
    expect(run.timeS.length + leftOut).toBe(ROWS.length);
  });

  it('judges by their share whether rows left out matter', () => {
    const many = Array.from({ length: 500 }, (_, i) => `${i},30.${i % 10},65`);
    const with_ = (count: number): string =>
      log(many.map((row, i) => (i > 0 && i <= count ? row.replace(',65', ',x') : row)));
    expect(finding(parseRun(with_(2)).findings, 'row-unreadable-value').severity).toBe('note');
    expect(finding(parseRun(with_(20)).findings, 'row-unreadable-value').severity).toBe('warning');
    const serious = finding(parseRun(with_(200)).findings, 'row-unreadable-value');
    expect(serious).toMatchObject({ severity: 'serious', count: 200 });
    expect(serious.lines).toHaveLength(20);
  });

  it('takes no notice of blank lines and of a delimiter at the end of each line', () => {
    const run = parseRun(`${HEADER},\n\n${ROWS.join(',\n \n')},\n\n`);
    expect(run.timeS).toHaveLength(ROWS.length);
    expect(codesOf(run.findings)).toEqual([]);
  });

  it('interpolates a missing value of an optional column over time, and says so', () => {
    const run = parseRun(
      'time_s,temp_c,power_w,room_c\n0,30,65,\n1,31,65,20\n2,32,65,n/a\n5,33,65,24\n6,34,65,broken\n',
    );
    expect(Array.from(run.ambientC!)).toEqual([20, 20, 21, 24, 24]);
    expect(run.timeS).toHaveLength(5);
    expect(finding(run.findings, 'value-interpolated')).toMatchObject({
      severity: 'warning',
      count: 3,
      lines: [2, 4, 6],
      message:
        '"room_c" (ambient) has no readable value in 3 of 5 rows ("broken" in line 6); these were interpolated over time from the rows around them.',
    });
  });

  it('leaves out an optional column without any value, and says so', () => {
    const run = parseRun('time_s,temp_c,power_w,fan_rpm\n0,30,65,\n1,31,65,\n');
    expect(run.fanSpeedRpm).toBeUndefined();
    expect(finding(run.findings, 'empty-column').message).toBe(
      '"fan_rpm" (fanSpeed) has no value in any row and was left out.',
    );
  });

  it('says which unit it assumed where none is stated', () => {
    const run = parseRun(log(ROWS, 'time,temp,power'));
    expect(run.findings.filter(({ code }) => code === 'assumed-unit').map(({ message }) => message)).toEqual([
      '"time" (time) states no unit; it was read as s.',
      '"temp" (temperature) states no unit; it was read as °C.',
      '"power" (power) states no unit; it was read as W.',
    ]);
  });

  it.each([
    [
      'kelvin',
      'time_s,temp,power_w',
      '0,340,65\n1,341,65',
      '"temp" (temperature) states no unit, and values around 341 are not usual in °C; write the option units: { temperature: \'…\' } with the unit it has (°C, °F, K)',
    ],
    [
      'milliseconds',
      'time,temp_c,power_w',
      '0,30,65\n1000,31,65',
      '"time" (time) states no unit, and steps around 1000 are not usual in s',
    ],
    [
      'milliwatts',
      'time_s,temp_c,power',
      '0,30,65000\n1,31,65000',
      '"power" (power) states no unit, and values around 6.5e+4',
    ],
    [
      'gigahertz',
      'time_s,temp_c,power_w,freq',
      '0,30,65,3.8\n1,31,65,3.8',
      '"freq" (frequency) states no unit, and values around 3.8 are not usual in MHz',
    ],
  ])('refuses %s that no header states', (_, header, rows, message) => {
    expect(() => parseRun(`${header}\n${rows}`)).toThrow(message.replace('6.5e+4', '65000'));
  });

  it('reads a log without headers if every column is chosen by its index', () => {
    const rows = '0,65,30.5\n1,66,31.5\n';
    const run = parseRun(rows, { columns: { time: 0, power: 1, temperature: 2 } });
    expect(Array.from(run.powerW)).toEqual([65, 66]);
    expect(() => parseRun(rows)).toThrow(
      'line 1: the first line holds numbers ("0", "65", "30.5"), not headers; write headers such as time_s,temperature_c,power_w into the first line, or the option columns: { time: 0, temperature: 1, power: 2 }',
    );
  });

  it('takes the delimiter and the decimal mark it is told', () => {
    expect(() => parseRun('time_s;temp_c;power_mw\n0;30;65,104\n1;31;65,210\n')).toThrow(
      'decimal comma or a thousands separator',
    );
    const run = parseRun('time_s;temp_c;power_w\n0;30;65,104\n1;31;65,210\n', {
      decimal: ',',
      delimiter: ';',
    });
    expect(Array.from(run.powerW)).toEqual([65.104, 65.21]);
  });

  it.each([
    ['an empty text', '', 'the log is empty; give delimited text: a header line, then one line per sample'],
    [
      'a header only',
      HEADER,
      'the log has a header but no rows; a run needs at least two rows with time, temperature and power',
    ],
    [
      'one sample',
      `${HEADER}\n0,30,65`,
      'line 2: the log has one sample only; a run needs at least two rows with time, temperature and power; for averages alone there is coolerFromSteadyPoints',
    ],
    [
      'text where numbers belong',
      `${HEADER}\n0,30,high\n1,31,low`,
      'line 2, column 3: "power_w" is read as power but holds "high", which is no possible number (and so in 1 more row); choose another column by the option columns: { power: … }; the decimal mark was taken to be "."',
    ],
    [
      'text where an optional number belongs',
      `${HEADER},fan_rpm\n0,30,65,on\n1,31,65,on`,
      'line 2, column 4: "fan_rpm" is read as fanSpeed but holds "on", which is no possible number (and so in 1 more row); choose another column by the option columns: { fanSpeed: … }, or leave it out by columns: { fanSpeed: false }',
    ],
    [
      'a required column without values',
      `${HEADER}\n0,30,\n1,31,`,
      'line 2, column 3: "power_w" has no value here (and so in 1 more row)',
    ],
    [
      'words for times',
      `${HEADER}\nnoon,30,65\nlater,31,65`,
      'line 2, column 1: "time_s" is read as time but holds "noon", which is no time (and so in 1 more row); write times as numbers, as h:mm:ss or as ISO 8601',
    ],
    ['rows of another width', `${HEADER}\n0,30\n1,31,65\n2,32`, 'line 2: the header has 3 cells'],
    [
      'a time that stands still',
      `${HEADER}\n5,30,65\n5,31,65`,
      'line 3, column 1: "time_s" never increases: no row is later than the row before it; choose the column with the running time',
    ],
    [
      'a quote that is never closed',
      `${HEADER},note\n0,30,65,"oops\n1,31,65,\n`,
      'line 2: a quoted cell that begins here is never closed, or the line is longer than 1 MiB; close the quote',
    ],
  ])('refuses %s', (_, text, message) => {
    expect(() => parseRun(text)).toThrow(message);
    expect(() => parseRun(new TextEncoder().encode(text))).toThrow(message);
  });

  it('keeps one form of time in a column', () => {
    const run = parseRun(log(['0:00:00,30,65', '0:00:01,31,65', '2,32,65', '0:00:03,33,65']));
    expect(finding(run.findings, 'row-unreadable-value').message).toContain(
      '"time_s" (time) is "2" in line 4, which is no time like the others',
    );
  });

  it.each([
    [{ label: '' }, 'parseRun: `options.label` must be a text that names the run (received "")'],
    [
      { powerSample: 'mean' },
      "parseRun: `options.powerSample` must be 'interval-mean' or 'instant' (received \"mean\")",
    ],
    [{ decimal: '·' }, "parseRun: `options.decimal` must be '.' or ',' (received \"·\")"],
    [{ delimiter: ' ' }, 'parseRun: `options.delimiter` must be'],
    [{ columns: { temp: 'x' } }, 'parseRun: `options.columns.temp` must be one of time, temperature, power'],
    [
      { columns: { power: false } },
      'parseRun: `options.columns.power` must be a header or an index from 0 (received false); a run needs power',
    ],
    [
      { columns: { power: 1.5 } },
      'parseRun: `options.columns.power` must be a header, an index from 0, false or { combine: ',
    ],
    [
      { units: { power: '°C' } },
      'parseRun: `options.units.power` must be a unit of package power (received "°C"); such as \'W\'',
    ],
    [
      { conditions: { ambientC: 250 } },
      'parseRun: `options.conditions.ambientC` must be a number from -40 to 70',
    ],
    [{ conditions: { ambientc: 20 } }, 'did you mean ambientC?'],
    [
      null,
      'parseRun: `options` must be an object with label, columns, units, powerSample, conditions, delimiter, decimal, dateOrder, blockS (received null)',
    ],
  ])('names the option at fault in %j', (options, message) => {
    expect(() => parseRun(log(), options as never)).toThrow(message);
  });

  it('says how to read a file when it is given something else', () => {
    expect(() => parseRun(undefined as never)).toThrow(
      'parseRun: `text` must be the text of a log or its bytes in a Uint8Array (received undefined); to read a file, use readRun',
    );
  });
});

describe('safeParseRun', () => {
  it('returns the run or the issues', () => {
    const good = safeParseRun(log());
    expect(good.ok && good.run.timeS).toHaveLength(ROWS.length);
    const bad = safeParseRun(`${HEADER}\n0,30,high\n1,31,low`);
    expect(!bad.ok && bad.issues).toMatchObject([{ code: 'not-numbers', line: 2, column: 3 }]);
  });

  it('still throws for an option that is not what it must be', () => {
    expect(() => safeParseRun(log(), { decimal: 'x' as never })).toThrow('`options.decimal`');
  });
});
