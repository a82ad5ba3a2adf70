import { describe, expect, it } from 'vitest';
import { describeColumns } from '../../../../toolkit/logs/table/describe-columns.js';
import { displayItems } from '../../../../toolkit/notebook/display/display-items.js';
import { tableText } from '../../../../toolkit/report/tables/table.js';
import { tableOfColumns } from '../../../../toolkit/report/tables/table-of-columns.js';

const LOG = `Evening
Time [s];Core 0 [°C];Core 0 temperature;Core 1 temperature;Package power [W];Power limit [W];Fan power [W];remark
0;40,5;40,5;41,5;65,2;95;1,5;a
`;

describe('describeColumns', () => {
  it('says of every column what it is and which rule says so', () => {
    const description = describeColumns(LOG);
    expect(description).toMatchObject({
      kind: 'column-description',
      delimiter: ';',
      decimal: ',',
      header: { line: 2 },
      absentRoles: ['frequency', 'throughput', 'ambient', 'fanSpeed', 'voltage'],
      issues: [],
    });
    expect(description.columns.map(({ role, unit, because }) => [role, unit, because])).toEqual([
      ['time', 's', 'the word "time"'],
      [undefined, undefined, 'no word, symbol or unit of a quantity that a run has'],
      ['temperature', '°C', 'the word "temperature", there for every core; its unit is assumed'],
      ['temperature', '°C', 'the word "temperature", there for every core; its unit is assumed'],
      ['power', 'W', 'the word "power"'],
      [undefined, undefined, 'not package power: the word "limit" means something else'],
      [undefined, undefined, 'not package power: the word "fan" means something else'],
      [undefined, undefined, 'no word, symbol or unit of a quantity that a run has'],
    ]);
    expect(description.columns[2]?.combine).toBe('highest');
  });

  it('describes what parseRun would refuse, with the option to write', () => {
    const { columns, issues } = describeColumns('time_s,temp a,temp b\n0,1,2\n');
    expect(columns[1]?.because).toBe('could be temperature, as 1 others could');
    expect(issues.map(({ code }) => code)).toEqual(['no-column', 'ambiguous-column']);
    expect(issues[0]?.remedy).toContain("columns: { temperature: 'temp a', power: '…' }");
    expect(describeColumns('time_s,temp_c,Power [dBm]\n0,40,1\n').issues[0]?.code).toBe('unknown-unit');
    expect(describeColumns('time_s;temp_c;power_w\n0;40;65,104\n').issues[0]?.code).toBe('ambiguous-decimal');
  });

  it('follows the options, and says that they decided', () => {
    const { columns } = describeColumns(LOG, {
      columns: { temperature: 'Core 0 [°C]', power: false as never },
    });
    expect(columns[1]).toMatchObject({ role: 'temperature', because: 'the option columns.temperature' });
  });

  it('describes lines of JSON, bytes and tables without headers', () => {
    const json = describeColumns('{"time_s":0,"cpu":{"temp":31.5},"power_w":65}\n');
    expect(json.columns.map(({ header }) => header)).toEqual(['time_s', 'cpu temp', 'power_w']);
    const bare = describeColumns(new TextEncoder().encode('0,40,65\n1,41,65\n'), {
      columns: { time: 0, temperature: 1, power: 2 },
    });
    expect(bare.header).toBeUndefined();
    expect(bare.columns.map(({ role }) => role)).toEqual(['time', 'temperature', 'power']);
    const long = `time_s,temp_c,power_w\n${'0,40,65\n'.repeat(20_000)}`;
    expect(describeColumns(long).issues).toEqual([]);
  });

  it('says of a date and a clock that they were read together', () => {
    const log = 'Date,Time,temp_c,power_w\n2031-05-09,12:00:00,40,65\n2031-05-09,12:00:01,40,65\n';
    const becauses = describeColumns(log).columns.map(({ role, because }) => [role, because]);
    expect(becauses.slice(0, 2)).toEqual([
      ['time', 'its cells are dates; read together with the clock in "Time"'],
      ['time', 'the word "time"; read together with the dates in "Date"'],
    ]);
    const chosen = describeColumns(log.replace('Date,Time', 'Tag,Uhr'), {
      columns: { time: { date: 'Tag', clock: 'Uhr' } },
    });
    expect(chosen.columns[0]?.because).toBe('the option columns.time; read together with the clock in "Uhr"');
    const { columns, issues } = describeColumns(
      log.replace('temp_c', 'Date UTC').replaceAll('40', '2031-05-09'),
    );
    expect(columns[1]?.because).toBe('the word "time"');
    expect(columns[2]?.because).toBe('could be the date of the clock, as 1 others could');
    expect(issues.map(({ code }) => code)).toEqual(['no-column', 'ambiguous-column']);
  });

  it('refuses other options and other things than texts', () => {
    expect(() => describeColumns(LOG, { label: 'x' } as never)).toThrow(
      'describeColumns: `options.label` must be one of columns, units, delimiter, decimal',
    );
    expect(() => describeColumns(5 as never)).toThrow('`text` must be the text of a log or its bytes');
    expect(() => describeColumns('')).toThrow('the log is empty');
    expect(() => describeColumns(LOG, { columns: { power: 'watts' } })).toThrow('there is no column "watts"');
  });
});

describe('the table of a description', () => {
  it('has a row for every column and says below what is wrong', () => {
    const table = tableOfColumns(describeColumns('time_s,temp a,temp b\n0,1,2\n'));
    const text = tableText(table);
    expect(text).toContain('Columns: comma between cells, decimal point, header in line 1');
    expect(text).toContain('could be temperature, as 1 others could');
    expect(text).toContain('write the option columns');
    expect(tableOfColumns(describeColumns(LOG)).rows[2]?.[2]).toBe('temperature (highest)');
  });

  it('is what a notebook shows', () => {
    expect(displayItems(describeColumns(LOG))?.map(({ kind }) => kind)).toEqual(['table']);
  });
});
