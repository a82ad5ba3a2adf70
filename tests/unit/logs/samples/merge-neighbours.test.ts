import { describe, expect, it } from 'vitest';
import { LogReader, type LogReaderOptions } from '../../../../toolkit/logs/read/log-reader.js';
import { runFrom } from '../../../../toolkit/logs/read/parse-run.js';
import type { CollectedSamples } from '../../../../toolkit/logs/samples/collected-samples.js';

// Four columns take 36 bytes a sample: this is room for twenty.
const BUDGET = { budgetBytes: 20 * 36 } as const;
const HEADER = 'time_s,temperature_c,power_w,frequency_mhz';

type Row = readonly [timeS: number, temperatureC: number, powerW: number, frequencyMHz: number | string];

const textOf = (rows: readonly Row[]): string =>
  `${HEADER}\n${rows.map((row) => row.join(',')).join('\n')}\n`;

function read(rows: readonly Row[], options: LogReaderOptions = BUDGET): CollectedSamples {
  const reader = new LogReader(options);
  reader.push(new TextEncoder().encode(textOf(rows)));
  return reader.finish();
}

/** A step of power at row 33, in the middle of a merged sample. */
const steady = (count: number): readonly Row[] =>
  Array.from({ length: count }, (_, i) => [i / 4, 40 + i / 8, i < 33 ? 20 : 100, 3000 + i]);

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

describe('a log with more numbers than fit into the budget', () => {
  it('has its neighbours merged two by two as often as it takes: last temperatures, means of the rest', () => {
    for (const [count, rowsEach] of [
      [20, 1],
      [21, 2],
      [40, 2],
      [41, 4],
      [150, 8],
      [1000, 64],
    ] as const) {
      const rows = steady(count);
      const { columns, lineNumbers } = read(rows);
      const groups = Array.from({ length: Math.ceil(count / rowsEach) }, (_, k) =>
        rows.slice(k * rowsEach, (k + 1) * rowsEach),
      );
      const lastOf = (group: readonly Row[]): Row => group.at(-1)!;
      expect(Array.from(columns.time!)).toEqual(
        groups.map((group) => lastOf(group)[0] - lastOf(groups[0])[0]),
      );
      expect(Array.from(columns.temperature!)).toEqual(groups.map((group) => lastOf(group)[1]));
      const expectMeans = (actual: Float64Array | undefined, cell: 2 | 3): void => {
        for (const [k, group] of groups.entries())
          expect(actual![k]).toBeCloseTo(mean(group.map((row) => Number(row[cell]))), 9);
      };
      expectMeans(columns.power, 2);
      expectMeans(columns.frequency, 3);
      expect(lineNumbers.at(-1)).toBe(count + 1);
    }
  });

  it('keeps the energy through steps of power, where intervals differ too', () => {
    let timeS = 0;
    const rows = Array.from({ length: 700 }, (_, i): Row => {
      timeS += [0.2, 0.3, 0.25, 0.5][i % 4];
      return [timeS, 50, i % 7 < 3 ? 150 : 10, 3000];
    });
    const energyJ = (samples: CollectedSamples): number => {
      const { time, power } = samples.columns;
      return power!.reduce((sum, value, i) => sum + (i === 0 ? 0 : value * (time![i] - time![i - 1])), 0);
    };
    const merged = read(rows);
    const every = read(rows, { blockS: 0 });
    expect(every.columns.time).toHaveLength(700);
    const groupLength = 64;
    expect(merged.columns.time).toHaveLength(Math.ceil(700 / groupLength));
    // The first sample has no interval before it in either: what its rows did is left out of both.
    const from = (samples: CollectedSamples): number => {
      const { time, power } = samples.columns;
      return power!
        .slice(1, groupLength)
        .reduce((sum, value, i) => sum + value * (time![i + 1] - time![i]), 0);
    };
    expect(energyJ(merged)).toBeCloseTo(energyJ(every) - from(every), 8);
  });

  it('holds an instant power until the next row, over every merging', () => {
    const rows = steady(41);
    const samples = read(rows, { ...BUDGET, powerSample: 'instant' });
    // Held, the step at row 33 heats from its own time on: row 34 is the first interval at 100 W.
    const held = rows.map((_, i) => rows[Math.max(0, i - 1)][2]);
    const means = Array.from({ length: 11 }, (_, k) => mean(held.slice(4 * k, 4 * k + 4)));
    expect(samples.columns.power).toHaveLength(11);
    for (const [k, value] of means.entries()) expect(samples.columns.power![k]).toBeCloseTo(value, 9);
    expect(samples.areMeans).toBe(true);
    expect(runFrom(samples, { powerSample: 'instant' }).powerSample).toBe('interval-mean');
  });

  it('says how many rows became how many samples, how far apart, and how every row is had', () => {
    const { findings } = read(steady(150));
    const finding = findings.find(({ code }) => code === 'block-means')!;
    expect(finding.message).toBe(
      'The 150 rows that could be used hold more numbers than fit into 0.00072 MB: they were made into 19 samples, 2 s apart, of up to 8 rows each. Temperatures are the last reading of each, everything else the mean over its time.',
    );
    expect(finding.remedy).toContain('write the option blockS: 0, which takes 0.0054 MB');
    // Two seconds are long for a die.
    expect(finding).toMatchObject({ count: 150, severity: 'warning' });
    expect(read(steady(30)).findings.find(({ code }) => code === 'block-means')?.severity).toBe('note');
  });

  it('accounts for every row: used or reported', () => {
    const rows = steady(300).map((row, i): Row => (i % 50 === 7 ? [row[0], row[1], Number.NaN, ''] : row));
    const { findings, rowCount } = read(rows);
    const countOf = (code: string): number | undefined => findings.find((one) => one.code === code)?.count;
    expect(rowCount).toBe(300);
    expect(countOf('block-means')).toBe(294);
    expect(countOf('row-missing-value')).toBe(6);
  });

  it('merges no rows over a gap, a step back of time or a start anew', () => {
    const part = (fromS: number, count: number): readonly Row[] =>
      Array.from({ length: count }, (_, i) => [fromS + i, 40 + i, fromS + 1, 3000]);
    const rows = [...part(0, 11), ...part(500, 7), ...part(0.5, 15)];
    const { columns, lineNumbers } = read(rows);
    // Two rows each, and the last of an odd number by itself.
    expect(Array.from(lineNumbers)).toEqual([
      ...[3, 5, 7, 9, 11, 12],
      ...[14, 16, 18, 19],
      ...[21, 23, 25, 27, 29, 31, 33, 34],
    ]);
    expect(new Set(columns.power)).toEqual(new Set([1, 501, 1.5]));
  });

  it('interpolates what is missing in a whole sample, and averages what is there in one', () => {
    const rows = steady(40).map(([timeS, temperatureC, powerW], i): Row => {
      return [timeS, temperatureC, powerW, i === 4 || i === 10 || i === 11 ? '' : 3000];
    });
    const { columns, findings } = read(rows);
    expect(new Set(columns.frequency)).toEqual(new Set([3000]));
    expect(findings.find(({ code }) => code === 'value-interpolated')?.count).toBe(1);
  });

  it('keeps reading where time does not step ahead and nothing can be merged', () => {
    const rows = Array.from({ length: 200 }, (_, i): Row => [1000 - i, 40, 20, 3000]);
    rows.push([2000, 40, 20, 3000]);
    // The last row alone steps ahead, and joins the one before it.
    expect(read(rows).columns.time).toHaveLength(200);
  });

  it('gives a snapshot of what has come as the end would, and goes on', () => {
    const rows = steady(333);
    const reader = new LogReader(BUDGET);
    const encoder = new TextEncoder();
    // The head decides after 64 KiB; from there on rows come singly.
    const pad = '0'.repeat(400);
    reader.push(encoder.encode(`${HEADER}\n`));
    rows.forEach(([timeS, temperatureC, powerW, frequencyMHz], i) => {
      reader.push(encoder.encode(`${timeS},${temperatureC},${powerW},${frequencyMHz}.${pad}\n`));
      if (i % 37 === 36) expect(reader.snapshot()).toEqual(read(rows.slice(0, i + 1)));
    });
    expect(reader.finish()).toEqual(read(rows));
  });

  it('is read as ever within the budget', () => {
    expect(read(steady(20))).toEqual(read(steady(20), {}));
  });
});
