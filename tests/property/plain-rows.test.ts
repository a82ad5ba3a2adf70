import fc from 'fast-check';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { PlainRows } from '../../toolkit/logs/cells/plain-rows.js';
import { LogFormatError } from '../../toolkit/logs/log-format-error.js';
import { LogReader, type LogReaderOptions } from '../../toolkit/logs/read/log-reader.js';
import { HEAD_BYTES } from '../../toolkit/logs/table/table-start.js';

const SEED = 20_310_511;

/** Numbers as logs have them. */
const usual: fc.Arbitrary<string> = fc
  .tuple(fc.boolean(), fc.nat(99_999), fc.nat(9999), fc.nat(4))
  .map(([isNegative, whole, decimals, decimalCount]) => {
    const sign = isNegative && whole < 200 ? '-' : '';
    const point = decimalCount === 0 ? '' : '.';
    return `${sign}${whole}${point}${String(decimals).padStart(4, '0').slice(0, decimalCount)}`;
  });

/** Cells that go other ways: more digits than an integer holds, other spellings, quotes, words, nothing. */
const odd: fc.Arbitrary<string> = fc.oneof(
  fc.double({ min: 0, max: 1e9, noNaN: true }).map(String),
  fc.integer({ min: 0, max: 2_000_000_000_000 }).map(String),
  fc.constantFrom(' 7', '7 ', ' 7.5 ', '\t7', '7\t', '+7', '.5', '5.', '-0', '007', '1e2', '1.5E-3', '1e999'),
  fc.constantFrom(
    '123456789',
    '1234567890',
    '0.00000000012345',
    '4 000.5',
    "4'000",
    '−7',
    '-300',
    '7°',
    '1.2.3',
  ),
  fc.constantFrom(
    '"7.5"',
    '"7.5" ',
    '"-7"',
    '" 7"',
    '""',
    '"7',
    '7"',
    '"7""5"',
    '"7"5',
    '"a, b; c"',
    '"a\nb"',
  ),
  fc.constantFrom('', ' ', '-', '--', '.', 'NaN', 'off', '# remark', 'end', '\0', '°', '"7\n"', '5\0', '\n'),
);

const WIDTH = 5;
const usualRow = fc.array(usual, { minLength: WIDTH, maxLength: WIDTH });
const rows: fc.Arbitrary<readonly string[]> = fc.oneof(
  { weight: 20, arbitrary: usualRow },
  {
    weight: 4,
    arbitrary: fc.tuple(usualRow, fc.nat(WIDTH - 1), odd).map(([row, at, cell]) => row.with(at, cell)),
  },
  { weight: 1, arbitrary: usualRow.map((row) => [...row, '']) },
  { weight: 1, arbitrary: usualRow.map((row) => row.map((cell) => `"${cell}"`)) },
  { weight: 1, arbitrary: usualRow.map((row) => row.map((cell) => ` ${cell}`)) },
  { weight: 1, arbitrary: fc.array(fc.oneof(usual, odd), { maxLength: WIDTH + 3 }) },
);

/** Tables in which the last cell is wanted or not, and one that combines cells of two cores. */
const HEADERS = [
  'temp_c,power_w,fan_rpm,note',
  'note,temp_c,power_w,voltage_v',
  'core_0_temp_c,core_1_temp_c,power_w,ambient_c',
];

const two = (number: number): string => String(number).padStart(2, '0');
const clockOf = (s: number): string =>
  [(s / 3600) % 24, (s / 60) % 60, s % 60].map((part) => two(Math.floor(part))).join(':') +
  (s % 1 === 0 ? '' : s.toFixed(3).slice(-4));
/** The ninth of a month, and the tenth from midnight on. */
const dayOf = (s: number): number => (s < 86_400 ? 9 : 10);

/** Ways of writing times, from seconds since midnight, and the headers of their columns; the first keeps the cell. */
const TIMES: readonly { readonly headers: string; readonly cells?: (s: number) => readonly string[] }[] = [
  { headers: 'time_s' },
  { headers: 'time_s' },
  { headers: 'clock', cells: (s) => [clockOf(s)] },
  { headers: 'time', cells: (s) => [`2031-05-${two(dayOf(s))}T${clockOf(s)}Z`] },
  { headers: 'time', cells: (s) => [`2031-05-${two(dayOf(s))} ${clockOf(s)}+01:00`] },
  {
    headers: 'time',
    cells: (s) => [
      `"${clockOf(s % 43_200)
        .replace(/^00/, '12')
        .replace('.', ',')} pm"`,
    ],
  },
  { headers: 'time', cells: (s) => [`${dayOf(s) + 5}.5.2031 ${clockOf(s)} `] },
  { headers: 'time', cells: (s) => [`${dayOf(s) - 5}/5/31 ${clockOf(s)}`] },
  { headers: 'time', cells: (s) => [`203105${two(dayOf(s))}T${clockOf(s).replaceAll(':', '')}`] },
  { headers: 'date,time', cells: (s) => [`2031-05-${two(dayOf(s))}`, clockOf(s)] },
  // The date changes a little late, and is not there in every row.
  { headers: 'date,time', cells: (s) => [s % 7 === 0 ? '' : `${dayOf(s - 20) + 5}.5.2031`, clockOf(s)] },
];

interface Log {
  readonly text: string;
  readonly options: LogReaderOptions;
}

const logs: fc.Arbitrary<Log> = fc
  .record({
    header: fc.constantFrom(...HEADERS),
    time: fc.constantFrom(...TIMES),
    rows: fc.array(rows, { minLength: 3, maxLength: 40 }),
    delimiter: fc.constantFrom(',', ';', '\t'),
    decimal: fc.constantFrom('.', ','),
    lineEnd: fc.constantFrom('\n', '\n', '\r\n'),
    isEnded: fc.boolean(),
    // All samples, means over stretches of time, neighbours merged where memory ends.
    keeping: fc.constantFrom({}, {}, { blockS: 1000 }, { budgetBytes: 400 }),
  })
  .map(({ header, rows, delimiter, decimal, lineEnd, isEnded, keeping, time }) => {
    const written = (cell: string): string => {
      const text = cell.replace('.', decimal);
      return text.includes(delimiter) && !text.startsWith('"') ? `"${text}"` : text;
    };
    let timeS = 86_350;
    const lines = rows.map((row) => {
      const [first = '', ...others] = row;
      const cells = others.map(written);
      if (time.cells === undefined || !/^\d/.test(first)) return [written(first), ...cells].join(delimiter);
      timeS += Math.round(8 * (Number(first) % 9)) / 8;
      return [...time.cells(timeS), ...cells].join(delimiter);
    });
    lines.unshift(`${time.headers},${header}`.replaceAll(',', delimiter));
    const options = { delimiter, decimal, ...keeping } as LogReaderOptions;
    return { text: lines.join(lineEnd) + (isEnded ? lineEnd : ''), options };
  });

/** What a reader of the text comes to: samples and findings, or the issues of an error. */
function outcome(text: string, options: LogReaderOptions, chunkLength: number = HEAD_BYTES): unknown {
  const bytes = new TextEncoder().encode(text);
  const reader = new LogReader(options);
  try {
    reader.push(bytes.slice(0, HEAD_BYTES));
    for (let at = HEAD_BYTES; at < bytes.length; at += chunkLength)
      reader.push(bytes.slice(at, at + chunkLength));
    return reader.finish();
  } catch (error) {
    if (error instanceof LogFormatError) return error.issues;
    throw error;
  }
}

/** The same by the rules for any row: without line feeds no row is plain, and a carriage return ends a line as well. */
function outcomeOfRules(text: string, options: LogReaderOptions): string {
  return alike(outcome(text.replaceAll(/\r?\n/g, '\r'), options));
}

/** The outcome with the line ends that stand in quoted examples made alike. */
const alike = (result: unknown): string =>
  JSON.stringify(result, (_, value) =>
    ArrayBuffer.isView(value)
      ? Array.from(value as Float64Array, (number) => (Object.is(number, -0) ? '-0' : String(number)))
      : value,
  ).replaceAll(/\\\\r(?:\\\\n)?/g, '\\\\n');

/** Counts the rows read in one pass from now on. */
function countPlainRows(): { readonly count: number } {
  const counted = { count: 0 };
  const read = PlainRows.prototype.read;
  vi.spyOn(PlainRows.prototype, 'read').mockImplementation(function (this: PlainRows, ...bytes) {
    const next = read.apply(this, bytes);
    counted.count += this.count;
    return next;
  });
  return counted;
}

afterEach(() => vi.restoreAllMocks());

describe('plain rows, read in one pass', () => {
  it('are what the rules for any row make of them, with odd rows between', () => {
    const counted = countPlainRows();
    let rowCount = 0;
    let runCount = 0;
    fc.assert(
      fc.property(logs, ({ text, options }) => {
        const expected = outcomeOfRules(text, options);
        const before = counted.count;
        expect(alike(outcome(text, options))).toBe(expected);
        rowCount += text.split('\n').length;
        if (expected.startsWith('{')) runCount++;
        expect(counted.count - before).toBeLessThan(text.split('\n').length);
      }),
      { numRuns: 700, seed: SEED },
    );
    // Both ways are gone often, and most logs have samples to compare.
    expect(counted.count).toBeGreaterThan(0.3 * rowCount);
    expect(counted.count).toBeLessThan(0.8 * rowCount);
    expect(runCount).toBeGreaterThan(450);
  });

  it('are the same however the bytes are cut', () => {
    // What is looked at first is taken as a whole; blank lines fill it up.
    const filling = '\n'.repeat(HEAD_BYTES);
    fc.assert(
      fc.property(logs, fc.integer({ min: 1, max: 200 }), ({ text, options }, chunkLength) => {
        const [header, first, ...others] = text.split('\n');
        const long = `${header}\n${first}\n${filling}${others.join('\n')}`;
        expect(alike(outcome(long, options, chunkLength))).toBe(outcomeOfRules(long, options));
      }),
      { numRuns: 60, seed: SEED },
    );
  });
});
