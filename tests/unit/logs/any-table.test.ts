import { describe, expect, it } from 'vitest';
import { parseRun } from '../../../toolkit/logs/read/parse-run.js';
import type { Finding } from '../../../toolkit/runs/finding.js';
import type { Run } from '../../../toolkit/runs/run.js';

const HEADER = 'time_s,temperature_c,power_w';
const lines = (...list: readonly string[]): string => `${list.join('\n')}\n`;
const rows = (count: number, row: (i: number) => string): readonly string[] =>
  Array.from({ length: count }, (_, i) => row(i));
const plain = (count: number, from = 0): readonly string[] =>
  rows(count, (i) => `${from + i},${40 + i}.5,65.25`);

function finding({ findings }: Run, code: string): Finding {
  const found = findings.find((one) => one.code === code);
  if (found === undefined)
    throw new Error(`no finding ${code} among ${findings.map((one) => one.code).join(', ')}`);
  return found;
}

describe('lines above the header', () => {
  it('are passed over and named', () => {
    const run = parseRun(
      lines('Show control, drawer', 'Started;by hand', '', 'Power cap [W], 95', HEADER, ...plain(4)),
    );
    expect(Array.from(run.timeS)).toEqual([0, 1, 2, 3]);
    expect(finding(run, 'preamble')).toMatchObject({
      message: 'The header is line 5; 3 lines above it were left out ("Show control drawer" …).',
      lines: [1, 2, 4],
      count: 3,
    });
  });

  it('may be as wide as the table, and may be remarks', () => {
    const wide = parseRun(lines('Evening run,,', 'cooler,tower 88 mm,', HEADER, 's,°C,W', ...plain(4)));
    expect(finding(wide, 'preamble').count).toBe(2);
    expect(finding(wide, 'units-row').lines).toEqual([4]);
    expect(Array.from(wide.temperatureC)).toEqual([40.5, 41.5, 42.5, 43.5]);
    const remarked = parseRun(lines('# drawer', '# open', `# ${HEADER}`, ...plain(3)));
    expect(remarked.timeS).toHaveLength(3);
  });

  it('leave lines of findings and errors as they are in the file', () => {
    expect(
      finding(
        parseRun(lines('a note', HEADER, ...plain(3), 'x,40,65', ...plain(2, 4))),
        'row-unreadable-value',
      ).lines,
    ).toEqual([6]);
    expect(() => parseRun(lines('a note', '', 'time_s,temp,power_w', '0,300,65', '1,300,65'))).toThrow(
      'states no unit',
    );
    expect(() => parseRun(lines('a note', 'time_s,volts,power_w', ...plain(3)))).toThrow(
      'line 2: no column is recognisable as temperature',
    );
  });
});

describe('rows that are no samples', () => {
  it('are a header that comes again, with its units', () => {
    const run = parseRun(lines(HEADER, 's,°C,W', ...plain(3), HEADER, 's,°C,W', ...plain(3, 3)));
    expect(run.timeS).toHaveLength(6);
    expect(finding(run, 'row-repeated-header')).toMatchObject({ count: 2, lines: [6, 7], severity: 'note' });
  });

  it('are not the header of another table', () => {
    expect(() => parseRun(lines(HEADER, ...plain(3), 'power_w,temperature_c,time_s', '65,44,3'))).toThrow(
      'line 5: another header begins here ("power_w", "temperature_c", "time_s"): the file holds two tables; split the file before this line and read both parts',
    );
    expect(() =>
      parseRun(lines(HEADER, ...plain(3), 'time_s,temperature_c,power_w,fan_rpm', '3,44,65,900')),
    ).toThrow('another header begins here');
  });

  it('are remarks and a footer', () => {
    const run = parseRun(
      lines(HEADER, ...plain(3), '# the door was opened', ...plain(3, 3), 'End of log', 'Mean,42.0,65.2'),
    );
    expect(run.timeS).toHaveLength(6);
    expect(finding(run, 'row-remark')).toMatchObject({ count: 1, lines: [5] });
    expect(finding(run, 'row-footer')).toMatchObject({ count: 2, lines: [9, 10], severity: 'note' });
  });

  it('are not taken for a footer where the time stands there and only a value is missing', () => {
    const run = parseRun(lines(HEADER, ...plain(3), '3,,65', '4,,65'));
    expect(finding(run, 'row-missing-value').lines).toEqual([5, 6]);
    expect(run.findings.map(({ code }) => code)).not.toContain('row-footer');
  });
});

describe('a line that was cut off', () => {
  it('is left out where it has too few cells', () => {
    const run = parseRun(`${lines(HEADER, ...plain(3))}3,4`);
    expect(run.timeS).toHaveLength(3);
    expect(finding(run, 'row-half-written')).toMatchObject({ count: 1, lines: [5], severity: 'note' });
  });

  it('is left out where its last value is shorter than all before it', () => {
    const run = parseRun(`${lines(HEADER, ...plain(6))}6,46.5,65`);
    expect(run.timeS).toHaveLength(6);
    expect(finding(run, 'row-half-written').lines).toEqual([8]);
  });

  it('is a row like the others where it is as long as they are', () => {
    expect(parseRun(lines(HEADER, ...plain(6)).trimEnd()).timeS).toHaveLength(6);
  });
});

describe('NUL bytes', () => {
  const nul = '\0'.repeat(4096);

  it('cost the row they cut, and not the row behind them', () => {
    const run = parseRun(lines(HEADER, ...plain(3), `3,4${nul}`, `${nul}4,44.5,65.25`, '5,45.5,65.25'));
    expect(Array.from(run.timeS)).toEqual([0, 1, 2, 4, 5]);
    expect(finding(run, 'row-nul-bytes')).toMatchObject({ count: 1, lines: [5] });
    expect(finding(run, 'nul-bytes').lines).toEqual([6]);
  });

  it('cannot make one row of two halves, also in a column that is not read', () => {
    const run = parseRun(
      lines(
        `${HEADER},note`,
        ...rows(4, (i) => `${i},40.5,65.25,x`),
        `4,40.5,65.25,a${nul}b`,
        '6,40.5,65.25,x',
      ),
    );
    expect(Array.from(run.timeS)).toEqual([0, 1, 2, 3, 6]);
    expect(finding(run, 'row-nul-bytes').lines).toEqual([6]);
  });

  it('may stand before everything, or be more than a line may be long', () => {
    expect(parseRun(`${nul}${lines(HEADER, ...plain(3))}`).timeS).toHaveLength(3);
    const long = '\0'.repeat(3 << 20);
    const text = lines(HEADER, ...rows(6000, (i) => `${i},40.5,65.25`), `6000,4${long}`, '6001,40.5,65.25');
    expect(parseRun(text).timeS).toHaveLength(6001);
    expect(() => parseRun('\0'.repeat(200))).toThrow('the log is empty');
  });
});

describe('many columns', () => {
  it('are looked through for the few that count', () => {
    const names = rows(600, (i) =>
      i === 17
        ? 'time_s'
        : i === 301
          ? 'Package temperature [°C]'
          : i === 599
            ? 'Package power [W]'
            : `counter ${i}`,
    );
    const run = parseRun(
      lines(
        names.join(','),
        ...rows(30, (i) =>
          names.map((_, k) => (k === 17 ? i : k === 301 ? 50.5 : k === 599 ? 95 : k)).join(','),
        ),
      ),
    );
    expect(run.timeS).toHaveLength(30);
    expect(run.temperatureC[7]).toBe(50.5);
    expect(run.powerW[7]).toBe(95);
  });
});

describe('a quantity that is there for every core', () => {
  const cores = (name: string, unit: string): readonly string[] =>
    rows(12, (i) => `Core ${i} ${name} [${unit}]`);
  const values = (base: number): readonly number[] => rows(12, (i) => String(base + i)).map(Number);
  const table = (headers: readonly string[], cells: (i: number) => readonly (number | string)[]): string =>
    lines(['time_s', ...headers].join(','), ...rows(3, (i) => [i, ...cells(i)].join(',')));

  it('is read for the package, where it is there for the package too', () => {
    const run = parseRun(
      table(
        [...cores('temperature', '°C'), 'CPU package [°C]', ...cores('power', 'W'), 'CPU package power [W]'],
        () => [...values(40), 60, ...values(2), 95],
      ),
      // "CPU package [°C]" has no word for a temperature: its unit alone does not stand against words.
      { columns: { temperature: 'CPU package [°C]' } },
    );
    expect(Array.from(run.temperatureC)).toEqual([60, 60, 60]);
    expect(Array.from(run.powerW)).toEqual([95, 95, 95]);
    expect(finding(run, 'package-level-column')).toMatchObject({
      severity: 'note',
      count: 12,
      message:
        '"CPU package power [W]" was read as power, the only one of the whole package; 12 other columns were not ("Core 0 power [W]" …).',
    });
  });

  it('is combined by the rule of the quantity, where it is there for the cores alone', () => {
    const run = parseRun(
      table(
        [...cores('temperature', '°C'), 'power_w', ...cores('clock', 'MHz'), ...cores('voltage', 'V')],
        () => [...values(40), 95, ...values(4000), ...rows(12, (i) => String(1 + i / 100))],
      ),
    );
    expect(Array.from(run.temperatureC)).toEqual([51, 51, 51]);
    expect(run.frequencyMHz?.[0]).toBeCloseTo(4005.5, 9);
    expect(run.voltageV?.[0]).toBe(1.11);
    expect(
      run.findings.filter(({ code }) => code === 'combined-columns').map(({ message }) => message),
    ).toEqual([
      'temperature is the highest of 12 columns in each row, "Core 0 temperature [°C]" to "Core 11 temperature [°C]".',
      'frequency is the mean of 12 columns in each row, "Core 0 clock [MHz]" to "Core 11 clock [MHz]".',
      'voltage is the highest of 12 columns in each row, "Core 0 voltage [V]" to "Core 11 voltage [V]".',
    ]);
  });

  it('takes kinds of cores together, logical processors, and the mean clock beside its parts', () => {
    const mixed = parseRun(
      table(['P-core 0 clock', 'P-core 1 clock', 'E-core 0 clock', 'temp_c', 'power_w'], () => [
        4000, 4100, 3000, 50, 95,
      ]),
    );
    expect(mixed.frequencyMHz?.[0]).toBeCloseTo(3700, 9);
    const logical = parseRun(
      table(['cpu0 freq_mhz', 'cpu1 freq_mhz', 'cpu2 freq_mhz', 'temp_c', 'power_w'], () => [
        4000, 4100, 3900, 50, 95,
      ]),
    );
    expect(logical.frequencyMHz?.[0]).toBeCloseTo(4000, 9);
    const mean = parseRun(
      table(['Core 0 clock', 'Core 1 clock', 'Average clock', 'temp_c', 'power_w'], () => [
        4000, 4100, 4055, 50, 95,
      ]),
    );
    expect(mean.frequencyMHz?.[0]).toBe(4055);
  });

  it('is refused where the rule would be a guess, with the option to write', () => {
    const text = table(['temp_c', 'Core 0 power [W]', 'Core 1 power [W]'], () => [50, 40, 41]);
    expect(() => parseRun(text)).toThrow(
      "columns: { power: 'Core 0 power [W]' } with the one you mean, or all of them added up, power: { combine: 'sum', columns: [2, 3] }",
    );
    const run = parseRun(text, { columns: { power: { combine: 'sum', columns: [2, 'Core 1 power [W]'] } } });
    expect(Array.from(run.powerW)).toEqual([81, 81, 81]);
    expect(finding(run, 'combined-columns')).toMatchObject({ severity: 'warning', count: 2 });
    // Two numbered processors may be two sockets; the average temperature is not the hottest core.
    expect(() => parseRun(table(['cpu0 temp', 'cpu1 temp', 'power_w'], () => [50, 51, 95]))).toThrow(
      '2 columns could be temperature',
    );
    expect(() =>
      parseRun(
        table(['Core 0 temperature', 'Core 1 temperature', 'Core temperature average', 'power_w'], () => [
          50, 51, 50, 95,
        ]),
      ),
    ).toThrow('3 columns could be temperature');
    expect(() =>
      parseRun(table(['Package 0 temp', 'Package 1 temp', 'power_w'], () => [50, 51, 95])),
    ).toThrow('2 columns could be temperature');
  });

  it('makes no number of a row in which one core has none', () => {
    const run = parseRun(
      table(['Core 0 temp [°C]', 'Core 1 temp [°C]', 'power_w'], (i) => [50, i === 1 ? 'n/a' : 51, 95]),
    );
    expect(run.timeS).toHaveLength(2);
    expect(finding(run, 'row-missing-value').lines).toEqual([3]);
  });

  it('refuses to combine units, the time, or one column alone', () => {
    const text = table(['a [°C]', 'b [°F]', 'power_w'], () => [50, 122, 95]);
    const of = (choice: unknown) => () => parseRun(text, { columns: choice as never });
    expect(of({ temperature: { combine: 'highest', columns: [1, 2] } })).toThrow(
      '"a [°C]" in °C and "b [°F]" in °F cannot be combined as temperature',
    );
    expect(of({ time: { combine: 'mean', columns: [0, 1] } })).toThrow(
      '`options.columns.time` must be one column',
    );
    expect(of({ temperature: { combine: 'median', columns: [1, 2] } })).toThrow(
      "`options.columns.temperature.combine` must be 'highest', 'mean' or 'sum' (received \"median\")",
    );
    expect(of({ temperature: { combine: 'mean', columns: [1] } })).toThrow(
      'must be a list of at least two headers or indices',
    );
    expect(of({ temperature: { combine: 'mean', column: [1, 2] } })).toThrow('did you mean columns?');
  });
});

describe('dates as people write them', () => {
  const log = (...times: readonly string[]): string =>
    lines('time;temp_c;power_w', ...times.map((time) => `${time};40,5;65,2`));
  const timesOf = (text: string, options = {}): readonly number[] =>
    Array.from(parseRun(text, options).timeS);

  it.each([
    ['dots, day first', ['31.12.2031 23:59:59', '01.01.2032 00:00:01'], [0, 2]],
    ['strokes, month first', ['12/31/2031 11:59:59 PM', '01/01/2032 12:00:01 AM'], [0, 2]],
    ['strokes, day first', ['28/2/31 23:59:59', '1/3/31 0:00:00'], [0, 1]],
    ['names of months', ['9-May-2031 23:59:30', '10-May-2031 00:00:00'], [0, 30]],
    ['names of months first', ['May 9, 2031 11:59:59 PM', 'May 10, 2031 12:00:00 AM'], [0, 1]],
    ['weekdays', ['Fri, Sep. 30 2031 23:59:59', 'Sat, Oct 1 2031 00:00:00'], [0, 1]],
    ['strokes, year first', ['2031/05/09 14:30', '2031/05/09 14:31'], [0, 60]],
    ['a clock of twelve hours', ['11:59:59 AM', '12:00:00 PM', '12:00:01.5 pm'], [0, 1, 2.5]],
    ['one day only', ['05/09/2031 14:30:00', '05/09/2031 14:30:02'], [0, 2]],
    ['a leap day', ['28.02.2032 23:59:59', '29.02.2032 00:00:00'], [0, 1]],
  ])('are read with %s', (_, times, expected) => {
    expect(timesOf(log(...times))).toEqual(expected);
  });

  it('are refused where day and month could be exchanged, with the option to set', () => {
    const text = log('05/09/2031 23:59:59', '05/10/2031 00:00:01');
    expect(() => parseRun(text)).toThrow(
      'line 3, column 1: from "05/09/2031" to "05/10/2031" may be 30 days as day-month-year or 1 day as month-day-year; write the option { dateOrder: \'day-month-year\' } or { dateOrder: \'month-day-year\' }',
    );
    expect(timesOf(text, { dateOrder: 'month-day-year' })).toEqual([0, 2]);
    expect(timesOf(text, { dateOrder: 'day-month-year' })).toEqual([0, 29 * 86_400 + 2]);
    // A date that begins with the year cannot be meant otherwise, whatever the other logs of the same call need.
    const yearFirst = log('2031-05-09 23:59:59', '2031-05-10 00:00:01');
    expect(timesOf(yearFirst, { dateOrder: 'month-day-year' })).toEqual([0, 2]);
    expect(() => parseRun(text, { dateOrder: 'dmy' as never })).toThrow(
      "`options.dateOrder` must be 'day-month-year' or 'month-day-year' or 'year-month-day'",
    );
  });

  it('are settled by the first day beyond twelve, also when it comes later', () => {
    expect(timesOf(log('05/12/2031 23:59:59', '05/13/2031 00:00:00'))).toEqual([0, 1]);
    expect(timesOf(log('12/05/2031 23:59:59', '13/05/2031 00:00:00'))).toEqual([0, 1]);
  });

  it('say that dots were read day first where nothing else says so', () => {
    const run = parseRun(log('09.05.2031 23:59:59', '10.05.2031 00:00:00'));
    expect(finding(run, 'assumed-date-order').message).toBe(
      'Dates with dots between their parts were read day first.',
    );
  });
});

describe('a log that is hard to make out', () => {
  it('may have lines above its header that look like rows, if they are fewer', () => {
    const run = parseRun(
      lines('Tool,version,3', 'Start,2031-05-09,12:00:00', 'Cap,95,40', HEADER, ...plain(4)),
    );
    expect(Array.from(run.temperatureC)).toEqual([40.5, 41.5, 42.5, 43.5]);
    expect(finding(run, 'preamble')).toMatchObject({ count: 3, lines: [1, 2, 3] });
    // A table under headers of another language is not passed over for a later one that is understood.
    expect(() => parseRun(lines('Zeit,Wert,Leistung', ...plain(9), HEADER, ...plain(4)))).toThrow(
      'no column is recognisable as time',
    );
  });

  it('may have hundreds of lines above its header', () => {
    const run = parseRun(lines(...rows(600, (i) => `remark ${i}`), HEADER, ...plain(4)));
    expect(run.timeS).toHaveLength(4);
    expect(finding(run, 'preamble')).toMatchObject({ count: 600 });
  });

  it('may be short and hold a few NUL bytes', () => {
    const run = parseRun(lines(HEADER, '0,40,65', '1,40,\0\0\0\0\0\0', '2,40,65', '3,4\0\0\0\0', '4,40,65'));
    expect(Array.from(run.timeS)).toEqual([0, 2, 4]);
    expect(finding(run, 'row-nul-bytes')).toMatchObject({ count: 2, lines: [3, 5] });
  });

  it('may repeat its header in other letters', () => {
    const run = parseRun(lines(HEADER, ...plain(3), HEADER.toUpperCase(), ...plain(3, 3)));
    expect(run.timeS).toHaveLength(6);
    expect(finding(run, 'row-repeated-header')).toMatchObject({ count: 1, lines: [5] });
  });

  it('may have remarks above and between lines of JSON', () => {
    const json = rows(4, (i) => `{"time_s":${i},"temp_c":40,"power_w":65}`);
    const run = parseRun(lines('# by hand', '', ...json.slice(0, 2), '# a pause', ...json.slice(2)));
    expect(Array.from(run.timeS)).toEqual([0, 1, 2, 3]);
    expect(finding(run, 'row-remark')).toMatchObject({ count: 2, lines: [1, 5] });
  });

  it('is told to be sorted where the newest row stands first', () => {
    expect(() => parseRun(lines(HEADER, ...plain(5).toReversed()))).toThrow(
      'no row is later than the row before it; sort the rows by time if the newest stands first',
    );
  });
});

describe('a date in a column of its own', () => {
  const log = (...times: readonly string[]): string =>
    lines('Date;Time;temp_c;power_w', ...times.map((time) => `${time.replace(' ', ';')};40,5;65,2`));
  const timesOf = (text: string, options = {}): readonly number[] =>
    Array.from(parseRun(text, options).timeS);

  it.each([
    ['dots, day first', ['31.12.2031 23:59:59', '01.01.2032 00:00:01'], [0, 2]],
    ['strokes, month first', ['12/31/2031 11:59:59 PM', '01/01/2032 12:00:01 AM'], [0, 2]],
    ['names of months', ['9-May-2031 23:59:30', '10-May-2031 00:00:00'], [0, 30]],
    ['minutes only', ['2031/05/09 23:59', '2031/05/10 0:01'], [0, 120]],
    ['ISO 8601 and fractions', ['2031-05-09 23:59:59.5', '2031-05-10 00:00:00.25'], [0, 0.75]],
    ['digits alone', ['20310509 23:59:59', '20310510 00:00:00'], [0, 1]],
    ['a zone', ['2031-05-09 23:59:59+02:00', '2031-05-10 00:00:00+02:00'], [0, 1]],
    ['names of months first', ['May-9-2031 23:59:59', 'May-10-2031 00:00:00'], [0, 1]],
    ['days between', ['2031-05-09 12:00:00', '2031-05-09 12:00:01', '2031-05-11 12:00:02'], [0, 1, 172_802]],
  ])('is read together with the clock beside it: %s', (_, times, expected) => {
    const run = parseRun(log(...times));
    expect(Array.from(run.timeS)).toEqual(expected);
    expect(finding(run, 'date-and-clock').message).toBe(
      'The time is the date in "Date" and the clock in "Time" together.',
    );
    expect(run.findings.some(({ code }) => code === 'midnight')).toBe(false);
  });

  it('is refused where day and month could be exchanged, as in one column with the clock', () => {
    const text = log('05/09/2031 23:59:59', '05/10/2031 00:00:01');
    expect(() => parseRun(text)).toThrow(
      'line 3, column 1: from "05/09/2031" to "05/10/2031" may be 30 days as day-month-year or 1 day as month-day-year; write the option { dateOrder: \'day-month-year\' } or { dateOrder: \'month-day-year\' }',
    );
    expect(timesOf(text, { dateOrder: 'month-day-year' })).toEqual([0, 2]);
    expect(timesOf(text, { dateOrder: 'day-month-year' })).toEqual([0, 29 * 86_400 + 2]);
  });

  it.each([
    ['forward', '2031-03-30', ['01:59:58', '01:59:59', '03:00:00', '03:00:01']],
    ['back', '26.10.2031', ['02:59:58', '02:59:59', '02:00:00', '02:00:01']],
  ])('does not hide that the clock was put %s for daylight saving time', (direction, date, clocks) => {
    const run = parseRun(log(...clocks.map((clock) => `${date} ${clock}`)));
    expect(Array.from(run.timeS)).toEqual([0, 1, 2, 3]);
    expect(finding(run, 'clock-change').message).toContain(`put ${direction} by an hour before line 4`);
  });

  it('gives the times that one column gives, over minutes and midnights and with rows between that cannot be read', () => {
    const times = rows(2000, (i) => {
      const tenths = 863_000 + 73 * i;
      const two = (value: number): string => String(value % 60).padStart(2, '0');
      const hour = Math.floor(tenths / 36_000);
      const clock = `${hour % 24}:${two(Math.floor(tenths / 600))}:${two(Math.floor(tenths / 10))}.${tenths % 10}`;
      return `${9 + Math.floor(hour / 24)}.5.2031 ${i % 40 === 7 ? clock.replace(':', '-') : clock}`;
    });
    const one = parseRun(
      log(...times)
        .replaceAll(/(2031);/g, '$1 ')
        .replace('Date;Time', 'Time'),
    );
    expect(one.timeS).toHaveLength(1950);
    expect(one.timeS.at(-1)).toBeCloseTo(7.3 * 1999, 6);
    expect(timesOf(log(...times))).toEqual(Array.from(one.timeS));
  });

  it('may stand behind the clock, under other words, and in lines of JSON', () => {
    const behind = lines('clock,temp_c,power_w,day', '23:59:59,40,65,2031-05-09', '0:00:00,41,65,2031-05-10');
    expect(timesOf(behind)).toEqual([0, 1]);
    const json = lines(
      '{"date":"2031-05-09","time":"23:59:59","temp_c":40,"power_w":65}',
      '{"date":"2031-05-11","time":"00:00:00","temp_c":41,"power_w":65}',
    );
    expect(timesOf(json)).toEqual([0, 86_401]);
    const foreign = lines('Tag;Uhr;temp_c;power_w', '09.05.2031;23:59:59;40;65', '11.05.2031;00:00:00;40;65');
    expect(() => parseRun(foreign)).toThrow('no column is recognisable as time');
    expect(timesOf(foreign, { columns: { time: { date: 'Tag', clock: 'Uhr' } } })).toEqual([0, 86_401]);
    const bare = lines('2031-05-09;23:59:59;40;65', '2031-05-11;00:00:00;40;65');
    const columns = { time: { date: 0, clock: 1 }, temperature: 2, power: 3 };
    expect(timesOf(bare, { columns })).toEqual([0, 86_401]);
  });

  it('may have midnight written behind it', () => {
    const text = (midnight: string): string =>
      lines(
        'Date;Time;temp_c;power_w',
        `05/13/2031 ${midnight};23:59:59;40;65`,
        `05/15/2031 ${midnight};00:00:00;41;65`,
      );
    for (const midnight of ['00:00:00', '0:00', '12:00:00 AM', '00:00:00.000'])
      expect(timesOf(text(midnight))).toEqual([0, 86_401]);
  });

  it('that cannot be read is said not to be, since days between rows are then not seen', () => {
    const run = parseRun(
      lines('Date;Time;temp_c;power_w', 'ninth of May;12:00:00;40;65', 'ninth of May;12:00:01;41;65'),
    );
    expect(finding(run, 'date-not-read')).toMatchObject({
      severity: 'warning',
      message:
        '"Date" beside the clock in "Time" holds "ninth of May", which is no date that could be read with it: days that lie between rows are not seen.',
    });
  });

  it('with the time of day in it needs no clock', () => {
    const text = lines('Date,temp_c,power_w', '2031-05-09 23:59:59,40,65', '2031-05-10 00:00:00,41,65');
    expect(timesOf(text)).toEqual([0, 1]);
  });

  it('may be written late, or once only: midnight is midnight', () => {
    const late = parseRun(
      log('9.5.2031 23:59:59', '9.5.2031 00:00:00', '10.5.2031 00:00:01', '10.5.2031 00:00:02'),
    );
    expect(Array.from(late.timeS)).toEqual([0, 1, 2, 3]);
    expect(finding(late, 'late-date')).toMatchObject({ count: 1, lines: [3] });
    const constant = ['12:00:00', '23:59:59', '00:00:00', '12:00:00', '23:59:59', '00:00:01'];
    expect(timesOf(log(...constant.map((clock) => `9.5.2031 ${clock}`)))).toEqual([
      0, 43_199, 43_200, 86_400, 129_599, 129_601,
    ]);
    const once = parseRun(log('9.5.2031 23:59:58', ' 23:59:59', ' 00:00:00', '10.5.2031 00:00:01'));
    expect(Array.from(once.timeS)).toEqual([0, 1, 2, 3]);
    expect(finding(once, 'date-of-row-before')).toMatchObject({ count: 2, lines: [3] });
  });

  it('is passed over where the option says so, and beside seconds', () => {
    const text = log('2031-05-09 12:00:00', '2031-05-11 12:00:02');
    expect(timesOf(text, { columns: { time: 'Time' } })).toEqual([0, 2]);
    const elapsed = lines('Date,Time (s),temp_c,power_w', '2031-05-09,0,40,65', '2031-05-10,1,41,65');
    expect(timesOf(elapsed)).toEqual([0, 1]);
  });

  it('leaves out rows whose date or clock cannot be read, with both in the finding', () => {
    const run = parseRun(
      log(
        '2031-05-09 12:00:00',
        '2031-02-30 12:00:01',
        '2031-05-09 12:00:02',
        '2031-05-09 noon',
        '2031-05-09 12:00:04',
      ),
    );
    expect(Array.from(run.timeS)).toEqual([0, 2, 4]);
    expect(finding(run, 'row-unreadable-value')).toMatchObject({ count: 2, lines: [3, 5] });
    expect(finding(run, 'row-unreadable-value').message).toContain('"2031-02-30 12:00:01" in line 3');
  });

  it('is refused where two columns could hold it, where the clock counts beyond a day, and in a wrong option', () => {
    const two = lines('Date,Date UTC,Time,temp_c,power_w', '2031-05-09,2031-05-08,0:10:00,40,65');
    expect(() => parseRun(two)).toThrow(
      '2 columns could hold the date of the clock "Time": "Date", "Date UTC"; all headers are "Date", "Date UTC", "Time", "temp_c", "power_w"; write the option columns: { time: { date: \'Date\', clock: \'Time\' } } with the one you mean, or time: \'Time\' to read the clock alone',
    );
    expect(() => parseRun(log('2031-05-09 22:00:00', '2031-05-09 23:00:00', '2031-05-09 25:00:00'))).toThrow(
      'line 4, column 1: "25:00:00" beside the date "2031-05-09" is no time of day',
    );
    const of = (time: unknown) => () => parseRun(two, { columns: { time: time as never } });
    expect(of({ date: 'Date', clock: false })).toThrow(
      '`options.columns.time.clock` must be a header or an index from 0 (received false)',
    );
    expect(of({ date: 'Date', time: 'Time' })).toThrow(
      '`options.columns.time.time` must be one of date, clock',
    );
    expect(of({ date: 'Day', clock: 'Time' })).toThrow('there is no column "Day"');
  });
});

describe('a clock that is set for daylight saving time', () => {
  const log = (times: readonly string[]): string =>
    lines(HEADER, ...times.map((time) => `${time},40.5,65.25`));

  it.each([
    [
      'forward',
      ['2031-03-30 01:59:58', '2031-03-30 01:59:59', '2031-03-30 03:00:00', '2031-03-30 03:00:01'],
      'off',
    ],
    ['back', ['2:59:58', '2:59:59', '2:00:00', '2:00:01'], 'back'],
    [
      'back',
      ['26.10.2031 02:59:58', '26.10.2031 02:59:59', '26.10.2031 02:00:00', '26.10.2031 02:00:01'],
      'back',
    ],
  ])('%s runs on, and a finding says so', (direction, times, taken) => {
    const run = parseRun(log(times));
    expect(Array.from(run.timeS)).toEqual([0, 1, 2, 3]);
    expect(finding(run, 'clock-change')).toMatchObject({
      severity: 'warning',
      lines: [4],
      message: `The clock was put ${direction} by an hour before line 4, at a full hour of the night, as daylight saving time does: the hour was taken ${taken} from there on.`,
    });
  });

  it('is not supposed where an hour is missing at another time, or the times have a zone', () => {
    const afternoon = parseRun(log(['14:59:58', '14:59:59', '16:00:00', '16:00:01']));
    expect(Array.from(afternoon.timeS)).toEqual([0, 1, 3602, 3603]);
    const half = parseRun(log(['2:29:58', '2:29:59', '3:30:00', '3:30:01']));
    expect(half.timeS[2]).toBe(3602);
    const zoned = parseRun(
      log(['2031-10-26T02:59:58+02:00', '2031-10-26T02:59:59+02:00', '2031-10-26T02:00:00+01:00']),
    );
    expect(Array.from(zoned.timeS)).toEqual([0, 1, 2]);
  });
});

describe('thousands set apart', () => {
  it('are read where the other mark is the decimal one, and a finding counts them', () => {
    const run = parseRun(
      lines('time_s;temp_c;power_mw', '0;40,5;65.250,5', '1;41,5;1.065.250,0', '2;41,5;950,0'),
    );
    expect(Array.from(run.powerW)).toEqual([65.2505, 1065.25, 0.95]);
    expect(finding(run, 'thousands-separator')).toMatchObject({ count: 2, lines: [2, 3] });
    const points = parseRun(
      lines('time_s,temp_c,freq_mhz,power_w', '0,40.5,"4,200.5",65.2', "1,41.5,4'100,65.2"),
    );
    expect(Array.from(points.frequencyMHz ?? [])).toEqual([4200.5, 4100]);
  });

  it('are refused or left out where the mark could be the decimal one', () => {
    expect(() => parseRun(lines('time_s;temp_c;power_w', '0;40;65,104', '1;41;65,210'))).toThrow(
      '"65,104" may have a decimal comma or a thousands separator',
    );
    // Beyond the part that is looked at first, such a value is left out rather than made a thousand times as large.
    const run = parseRun(lines('time_s;temp_c;power_w', ...rows(400, (i) => `${i};40;65`), '400;40;65,104'));
    expect(run.timeS).toHaveLength(400);
    expect(finding(run, 'row-unreadable-value').lines).toEqual([402]);
  });
});

describe('ragged rows, delimiters at the end and words for no value', () => {
  it('cost what they must and are counted', () => {
    const run = parseRun(
      lines(
        `${HEADER},fan_rpm`,
        '0,40.5,65.25,900,',
        '1,40.5,65.25,N.A.,,',
        '2,40.5',
        '3,40.5,65.25,900,7',
        '4,****,65.25,900',
        '5,40.5,65.25,no data',
        '6,40.5,65.25,1000',
      ),
    );
    expect(Array.from(run.timeS)).toEqual([0, 1, 5, 6]);
    expect(finding(run, 'row-cell-count').lines).toEqual([4, 5]);
    expect(finding(run, 'row-missing-value').lines).toEqual([6]);
    expect(finding(run, 'value-interpolated')).toMatchObject({ count: 2, lines: [3, 7] });
  });
});

describe('lines of JSON', () => {
  const object = (i: number, more = {}): string =>
    JSON.stringify({
      time_s: i,
      processor: { temperature_c: 40.5 + i, power_w: 65 },
      fans: [900, 700],
      note: 'a, "b"\nc',
      ...more,
    });

  it('are a table with one row each', () => {
    const run = parseRun(
      lines(
        ...rows(3, (i) => object(i)),
        '',
        'broken {',
        object(3, { late: 1 }),
        '{"time_s": 4, "processor": {"power_w": null, "temperature_c": 44}}',
      ),
      {
        columns: { fanSpeed: 'fans 0' },
        units: { fanSpeed: 'rpm' },
      },
    );
    expect(Array.from(run.temperatureC)).toEqual([40.5, 41.5, 42.5, 43.5]);
    expect(run.fanSpeedRpm?.[0]).toBe(900);
    expect(finding(run, 'row-cell-count').lines).toEqual([5]);
    expect(finding(run, 'row-missing-value').lines).toEqual([7]);
  });

  it('name what came too late to be looked at', () => {
    const many = lines(...rows(3000, (i) => object(i)), object(3000, { late: 1 }));
    const run = parseRun(new TextEncoder().encode(many), { columns: { fanSpeed: false } });
    expect(run.timeS).toHaveLength(3001);
    expect(finding(run, 'json-late-names')).toMatchObject({ count: 1, lines: [3001] });
  });

  it('are neither a list nor spread over lines', () => {
    expect(() => parseRun('[{"time_s": 0}]')).toThrow(
      'line 1: the text is a list in JSON, not lines; write one object per line',
    );
    expect(() => parseRun('{\n"time_s": 0\n}\n')).toThrow(
      'line 1: the text begins as JSON, but no line holds a whole object',
    );
  });
});

describe('means over stretches of time', () => {
  const text = (powers: readonly number[]): string =>
    lines(HEADER, ...powers.map((power, i) => `${i / 4},${40 + i},${power}`));

  it('stand at the last row of each, with its temperature and the mean power', () => {
    const run = parseRun(text([10, 20, 30, 40, 50, 60, 70, 80]), { blockS: 1 });
    expect(Array.from(run.timeS)).toEqual([0, 1]);
    expect(Array.from(run.temperatureC)).toEqual([43, 47]);
    // The first row has no interval before it; the others have a quarter of a second each.
    expect(Array.from(run.powerW)).toEqual([30, 65]);
    expect(finding(run, 'block-means')).toMatchObject({ count: 8, severity: 'note' });
  });

  it('hold an instant power until the next row, and say then what the sample means', () => {
    const run = parseRun(text([10, 20, 30, 40, 50, 60, 70, 80]), { blockS: 1, powerSample: 'instant' });
    expect(Array.from(run.powerW)).toEqual([20, 55]);
    expect(run.powerSample).toBe('interval-mean');
  });

  it('keep gaps, and values that are missing in a whole stretch are interpolated', () => {
    const run = parseRun(
      lines(
        `${HEADER},fan_rpm`,
        '0,40,10,900',
        '0.5,41,20,',
        '1,42,30,',
        '1.5,43,40,',
        '60,44,50,1100',
        '60.5,45,60,1100',
      ),
      { blockS: 1 },
    );
    expect(Array.from(run.timeS)).toEqual([0, 1, 60]);
    expect(run.fanSpeedRpm?.[0]).toBe(900);
    expect(finding(run, 'value-interpolated').count).toBe(1);
  });

  it('are asked for with a time; 0 keeps every row', () => {
    expect(parseRun(text([10, 20, 30]), { blockS: 0 })).toEqual(parseRun(text([10, 20, 30])));
    expect(() => parseRun(text([1, 2]), { blockS: -1 })).toThrow(
      '`options.blockS` must be a finite number at least 0 (received -1)',
    );
  });
});
