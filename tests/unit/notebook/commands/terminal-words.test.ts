import { describe, expect, it } from 'vitest';
import { LogFormatError } from '../../../../toolkit/logs/log-format-error.js';
import { parseRun } from '../../../../toolkit/logs/read/parse-run.js';
import { parseCommandOptions } from '../../../../toolkit/notebook/commands/command-options.js';
import { inTerminalWords } from '../../../../toolkit/notebook/commands/terminal-words.js';

const here = '/home/puppets';
const said = (text: string): string => inTerminalWords(text, here);

describe('inTerminalWords', () => {
  it('names options of the command in place of arguments of code', () => {
    expect(said('Open bench: give `enclosure: { riseK }` for the place.')).toBe(
      'Open bench: give `--enclosure-rise` for the place.',
    );
    expect(said('chooseCap: `scenario.limitC` must be above the room air of 25 °C (received 20)')).toBe(
      'npm run decide: `--limit` must be above the room air of 25 °C (received 20)',
    );
    expect(said('chooseCap: `scenario.ambientC.low` must be')).toBe('npm run decide: `--ambient` must be');
    expect(said('give a finer `stepW`')).toBe('give a finer `--step`');
    expect(said('give `defaultCapW` or `maxCapW`')).toBe('give `--default-cap` or `--max-cap`');
    expect(said('flat: no cap. chooseCap: no cap from 1 W up')).toBe('flat: no cap: no cap from 1 W up');
  });

  it('leaves what it does not know as it is', () => {
    const text = 'fitCooler: `runs` must be an array; `b` { columns } of 3';
    expect(said(text)).toBe(text);
  });

  it('names files as they were typed', () => {
    expect(said('/home/puppets/run.csv: the log is empty')).toBe('run.csv: the log is empty');
    expect(said('/elsewhere/run.csv: the log is empty')).toBe('/elsewhere/run.csv: the log is empty');
  });

  it('turns the order of dates into an option that the command takes', () => {
    const rows = ['03/03/2031 23:59:59,40,65', '03/04/2031 00:00:00,41,65', '03/04/2031 00:00:01,41,65'];
    expect(() => parseRun(`time,temperature_c,power_w\n${rows.join('\n')}\n`)).toThrow(LogFormatError);
    try {
      parseRun(`time,temperature_c,power_w\n${rows.join('\n')}\n`);
    } catch (error) {
      expect(said((error as Error).message)).toMatch(
        /may be 31 days as day-month-year or 1 day as month-day-year; add --date-order day-month-year or --date-order month-day-year; better/,
      );
    }
  });

  it('turns the column option of code into options that the command takes', () => {
    const header = "die 'A' temperature °C";
    let message = '';
    try {
      parseRun(
        `time_s,${header},die 'B' temperature °C,power_w,frequency_mhz,frequency 2 MHz\n0,30,31,90,1,2\n`,
      );
    } catch (error) {
      if (!(error instanceof LogFormatError)) throw error;
      message = said(error.message);
    }
    expect(message).not.toMatch(/columns:|option/);
    const first = /; add (.*) with the one you mean$/m.exec(message)![1];
    const words = [...first.matchAll(/--column ('(?:[^']|'\\'')*'|[^\s']+)/g)].map(([, text]) =>
      text.startsWith("'") ? text.slice(1, -1).replaceAll("'\\''", "'") : text,
    );
    const { columns } = parseCommandOptions(
      ['a.csv', ...words.flatMap((text) => ['--column', text])],
      'npm start',
    );
    expect(columns).toEqual({ temperature: header, frequency: 'frequency_mhz' });
    expect(said("the option units: { power: 'W' } with the unit it has")).toBe(
      '--unit power=W with the unit it has',
    );
    expect(said("or the option units: { temperature: '…' } with the unit it has (°C, °F, K)")).toBe(
      'or add --unit temperature=UNIT with the unit it has (°C, °F, K)',
    );
    expect(said('readRuns: `options.units.power` must be a unit of package power')).toBe(
      'npm run decide: `--unit power` must be a unit of package power',
    );
    const nameless = 'write headers, or the option columns: { time: 0, power: 2 } with the index of each';
    expect(said(nameless)).toBe(
      'write headers, or add --column time=0 --column power=2 with the index of each',
    );
    expect(said("write the option columns: { power: '…' } with the headers that hold it")).toBe(
      'add --column power=HEADER with the headers that hold it',
    );
    expect(
      said("write the option columns: { time: { date: 'Day 1', clock: 0 }, power: 2 } with your choice"),
    ).toBe("add --column 'time.date=Day 1' --column time.clock=0 --column power=2 with your choice");
    expect(said('leave it out by columns: { frequency: false }')).toBe(
      'leave it out by --column frequency=false',
    );
  });
});
