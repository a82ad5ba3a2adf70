import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseRun } from '../../toolkit/logs/read/parse-run.js';
import type { Run } from '../../toolkit/runs/run.js';

const SEED = 20_310_509;

/** A way of writing a log down. */
interface Dialect {
  readonly delimiter: ',' | ';' | '\t' | '|';
  readonly decimal: '.' | ',';
  readonly lineEnd: '\n' | '\r\n' | '\r';
  readonly quoting: 'none' | 'all' | 'texts';
  readonly encoding: 'text' | 'utf-8' | 'utf-8 with mark' | 'latin-1' | 'utf-16le' | 'utf-16be with mark';
  readonly headers: 'brackets' | 'snake' | 'camel' | 'stroke' | 'words';
  readonly endsWithDelimiter: boolean;
  readonly endsWithLineEnd: boolean;
  readonly reversedColumns: boolean;
}

const HEADERS: Readonly<Record<Dialect['headers'], readonly string[]>> = {
  brackets: ['Time [s]', 'Die temperature [°C]', 'Package power [W]', 'Core clock [MHz]', 'Room [°C]'],
  snake: ['time_s', 'temp_c', 'power_w', 'freq_mhz', 'ambient_c'],
  camel: ['timeS', 'temperatureC', 'powerW', 'frequencyMHz', 'ambientC'],
  stroke: ['t / s', 'T / °C', 'P / W', 'f / MHz', 'ambient / °C'],
  words: ['Elapsed in s', 'Temp (deg C)', 'Power W', 'Frequency, MHz', 'Intake air °C'],
};

const dialects: fc.Arbitrary<Dialect> = fc
  .record<Dialect>({
    delimiter: fc.constantFrom(',', ';', '\t', '|'),
    decimal: fc.constantFrom('.', ','),
    lineEnd: fc.constantFrom('\n', '\r\n', '\r'),
    quoting: fc.constantFrom('none', 'all', 'texts'),
    encoding: fc.constantFrom(
      'text',
      'utf-8',
      'utf-8 with mark',
      'latin-1',
      'utf-16le',
      'utf-16be with mark',
    ),
    headers: fc.constantFrom('brackets', 'snake', 'camel', 'stroke', 'words'),
    endsWithDelimiter: fc.boolean(),
    endsWithLineEnd: fc.boolean(),
    reversedColumns: fc.boolean(),
  })
  // A decimal comma between commas has to be quoted, or nobody could tell them apart.
  .map((dialect) =>
    dialect.delimiter === ',' && dialect.decimal === ',' ? { ...dialect, quoting: 'all' as const } : dialect,
  );

/** Samples whose decimals are exact, so that equality can be asked for; one decimal tells the mark apart. */
const samples = fc
  .array(
    fc.record({
      stepTenths: fc.integer({ min: 1, max: 40 }),
      temperature: fc.integer({ min: 200, max: 1000 }),
      power: fc.integer({ min: 0, max: 2500 }),
      frequency: fc.integer({ min: 4000, max: 60_000 }),
      ambient: fc.integer({ min: 150, max: 350 }),
    }),
    { minLength: 2, maxLength: 60 },
  )
  .map((rows) => {
    let tenths = 0;
    return rows.map(({ stepTenths, temperature, power, frequency, ambient }) => {
      tenths += stepTenths;
      return [tenths, temperature, power, frequency, ambient].map((value) => value / 10);
    });
  });

function write(rows: readonly (readonly number[])[], dialect: Dialect): string | Uint8Array {
  const order = dialect.reversedColumns ? [4, 3, 2, 1, 0] : [0, 1, 2, 3, 4];
  const quote = (cell: string, isText: boolean): string =>
    dialect.quoting === 'all' || (dialect.quoting === 'texts' && isText) || cell.includes(dialect.delimiter)
      ? `"${cell.replaceAll('"', '""')}"`
      : cell;
  const headers = HEADERS[dialect.headers];
  const lines = [
    order.map((column) => quote(headers[column], true)),
    ...rows.map((row) =>
      order.map((column) => quote(row[column].toFixed(1).replace('.', dialect.decimal), false)),
    ),
  ].map((cells) => cells.join(dialect.delimiter) + (dialect.endsWithDelimiter ? dialect.delimiter : ''));
  const text = lines.join(dialect.lineEnd) + (dialect.endsWithLineEnd ? dialect.lineEnd : '');
  return encode(text, dialect.encoding);
}

function encode(text: string, encoding: Dialect['encoding']): string | Uint8Array {
  if (encoding === 'text') return text;
  if (encoding === 'utf-8') return new TextEncoder().encode(text);
  if (encoding === 'utf-8 with mark') return new TextEncoder().encode(`\uFEFF${text}`);
  if (encoding === 'latin-1') return Uint8Array.from(text, (sign) => sign.charCodeAt(0));
  const marked = encoding === 'utf-16le' ? text : `\uFEFF${text}`;
  const view = new DataView(new ArrayBuffer(2 * marked.length));
  for (let i = 0; i < marked.length; i++)
    view.setUint16(2 * i, marked.charCodeAt(i), encoding === 'utf-16le');
  return new Uint8Array(view.buffer);
}

const columnOf = (
  run: Run,
  name: 'timeS' | 'temperatureC' | 'powerW' | 'frequencyMHz' | 'ambientC',
): number[] => Array.from(run[name] ?? []);

/** Fifty different dialects, each a way that some program writes. */
const FIFTY: readonly Dialect[] = [
  ...new Map(
    fc.sample(dialects, { numRuns: 200, seed: SEED }).map((dialect) => [JSON.stringify(dialect), dialect]),
  ).values(),
].slice(0, 50);

describe('a run of 2,000 samples written down in fifty dialects', () => {
  const [pattern] = fc.sample(samples, { numRuns: 1, seed: SEED + 1 });
  const rows = Array.from({ length: 2000 }, (_, i) => {
    const [, temperature, power, frequency, ambient] = pattern[i % pattern.length];
    return [i / 5, temperature, power, frequency, ambient];
  });

  it('are fifty', () => {
    expect(FIFTY).toHaveLength(50);
  });

  it.each(FIFTY)(
    'is read back number by number: $delimiter $decimal $quoting $encoding $headers',
    (dialect) => {
      const run = parseRun(write(rows, dialect));
      expect(columnOf(run, 'timeS')).toEqual(rows.map((row) => row[0]));
      expect(columnOf(run, 'temperatureC')).toEqual(rows.map((row) => row[1]));
      expect(columnOf(run, 'powerW')).toEqual(rows.map((row) => row[2]));
      expect(columnOf(run, 'frequencyMHz')).toEqual(rows.map((row) => row[3]));
      expect(columnOf(run, 'ambientC')).toEqual(rows.map((row) => row[4]));
      expect(run.findings.filter(({ code }) => /^(?:row|value)-|assumed-unit/.test(code))).toEqual([]);
    },
  );
});

describe('a run written down in any dialect', () => {
  it('is read back number by number, with no row left out', () => {
    fc.assert(
      fc.property(samples, dialects, (rows, dialect) => {
        const run = parseRun(write(rows, dialect));
        const [t0] = rows[0];
        // Times are shifted to start at 0, by the same subtraction.
        expect(columnOf(run, 'timeS')).toEqual(rows.map(([time]) => time - t0));
        expect(columnOf(run, 'temperatureC')).toEqual(rows.map((row) => row[1]));
        expect(columnOf(run, 'powerW')).toEqual(rows.map((row) => row[2]));
        expect(columnOf(run, 'frequencyMHz')).toEqual(rows.map((row) => row[3]));
        expect(columnOf(run, 'ambientC')).toEqual(rows.map((row) => row[4]));
        expect(run.findings.filter(({ code }) => /^(?:row|value)-|assumed-unit/.test(code))).toEqual([]);
      }),
      { numRuns: 300, seed: SEED },
    );
  });
});
