import * as danfojs from 'danfojs-node';
import { describe, expect, it } from 'vitest';
import { type Frame, fromFrame, toFrame } from '../../../../toolkit/report/tables/frame.js';
import { tableOfChoices } from '../../../../toolkit/report/tables/table-of-choices.js';
import { capChoice, drawerRun } from '../../figures/puppet-theatre.js';

describe('toFrame', () => {
  it('gives a run one column per logged quantity, readable by danfojs itself', async () => {
    const frame = await toFrame(drawerRun({ sampleCount: 100 }), { danfojs });
    expect(frame.columns).toEqual(['timeS', 'temperatureC', 'powerW', 'frequencyMHz']);
    expect(frame.shape).toEqual([100, 4]);
    expect(frame.column('timeS').max()).toBe(99 * 18);
  });

  it('splits uncertain numbers of a table into value and half-width', async () => {
    const frame = await toFrame(tableOfChoices([capChoice()]));
    expect(frame.columns).toEqual([
      'Cooler',
      'Power cap, W',
      'What binds',
      'Steady temperature, °C',
      'Steady temperature, °C ±',
      'Frequency, MHz',
      'Frequency, MHz ±',
      'Loss against 118 W, %',
      'Loss against 118 W, % ±',
      'Chance of exceeding the limit, %',
    ]);
    expect((frame.column('Frequency, MHz ±').values as number[])[0]).toBeCloseTo(18, 9);
  });

  it('takes plain rows and marks missing cells', async () => {
    const frame = await toFrame([{ a: 1, b: 'x' }, { a: 2 }] as const);
    expect(frame.columns).toEqual(['a', 'b']);
    expect((frame.column('b').values as unknown[])[1]).toBeNaN();
  });

  it('refuses what has no rows or is no table', async () => {
    await expect(toFrame([])).rejects.toThrow(
      'toFrame: `source` must be at least one row of at least one column (received an array of 0)',
    );
    await expect(toFrame(7 as never)).rejects.toThrow(
      'toFrame: `source` must be a run, a table or an array of rows (received 7)',
    );
  });
});

describe('fromFrame', () => {
  it('gives back the run that toFrame was given', async () => {
    const run = drawerRun({ sampleCount: 100 });
    const back = fromFrame(
      await toFrame(run),
      { timeS: 'timeS', temperatureC: 'temperatureC', powerW: 'powerW', frequencyMHz: 'frequencyMHz' },
      { label: run.label, conditions: run.conditions },
    );
    expect(back).toEqual(run);
  });

  it('names the column that is missing and those there are', async () => {
    const frame = await toFrame([{ second: 0, die: 30, watt: 5 }]);
    expect(() => fromFrame(frame, { timeS: 'time', temperatureC: 'die', powerW: 'watt' })).toThrow(
      "fromFrame: `columns.timeS` must be a column of the table: 'second', 'die', 'watt' (received \"time\")",
    );
    expect(() => fromFrame(frame, { time: 'second' } as never)).toThrow(
      'fromFrame: `columns.time` must be one of timeS, temperatureC, powerW, frequencyMHz',
    );
    expect(() => fromFrame(frame, undefined as never)).toThrow(
      "fromFrame: `columns` must be an object that names the columns, such as { timeS: 'second', … } (received undefined)",
    );
  });

  it('names the row of a cell that is no number', async () => {
    const frame = await toFrame([
      { second: 0, die: 30, watt: 5 },
      { second: 1, die: Number.NaN, watt: 5 },
    ]);
    expect(() => fromFrame(frame, { timeS: 'second', temperatureC: 'die', powerW: 'watt' })).toThrow(
      "fromFrame: `frame['die'][1]` must be a finite number (received NaN); fill or drop the rows with missing cells first",
    );
  });

  it('refuses what is no frame', () => {
    expect(() => fromFrame([] as unknown as Frame, {} as never)).toThrow(
      'fromFrame: `frame` must be a danfojs DataFrame (received an array of 0)',
    );
  });
});
