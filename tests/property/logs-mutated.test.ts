import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LogFormatError } from '../../toolkit/logs/log-format-error.js';
import { LogReader } from '../../toolkit/logs/log-reader.js';
import { parseRun, safeParseRun } from '../../toolkit/logs/parse-run.js';

const SEED = 20_310_510;

const HEADERS = [
  'time_s,temperature_c,power_w,fan_rpm,note',
  'Time [h:mm:ss];Temp [°F];Power [mW];Fan;Remark',
  't\tT\tP\tf\tx',
];
const logs = fc
  .record({
    header: fc.constantFrom(...HEADERS),
    rows: fc.array(fc.tuple(fc.integer({ min: 0, max: 9999 }), fc.integer({ min: 20, max: 110 })), {
      maxLength: 25,
    }),
  })
  .map(({ header, rows }) => {
    const delimiter = /[,;\t]/.exec(header)![0];
    const lines = rows.map(([power, temperature], i) =>
      [`${i}`, temperature, power / 10, 1200 + i, `"a ""${i}"""`].join(delimiter),
    );
    return [header, ...lines].join('\n');
  });

/** What happens to a text on its way: pieces cut out, put in, repeated, or swapped for others. */
interface Mutation {
  readonly at: number;
  readonly length: number;
  readonly piece: string;
}
const mutations = fc.array(
  fc.record<Mutation>({
    // Without bias, or nearly all mutations would hit the header.
    at: fc.noBias(fc.integer({ min: 0, max: 9999 })).map((part) => part / 10_000),
    length: fc.integer({ min: 0, max: 12 }),
    piece: fc.oneof(
      fc.constantFrom(
        '"',
        '\n',
        '\r',
        ',',
        ';',
        '\t',
        '|',
        '\0',
        '°',
        '\uFEFF',
        'NaN',
        '-',
        '1e999',
        '1e-400',
        '-0',
        '""',
        '',
      ),
      fc.constantFrom(
        '0:00:01',
        '2031-05-09T14:30:00Z',
        '1,234',
        '1.5.2',
        '−5',
        '-460',
        '9'.repeat(400),
        ',,,,,,',
        '\n\n\n',
      ),
      fc.string({ unit: 'binary', maxLength: 8 }),
    ),
  }),
  { maxLength: 5 },
);
const mutate = (text: string, list: readonly Mutation[]): string =>
  list.reduce((current, { at, length, piece }) => {
    const start = Math.floor(at * current.length);
    return current.slice(0, start) + piece + current.slice(start + length);
  }, text);

/** Either a run, or an error that says where and what to do. */
function check(text: string | Uint8Array): boolean {
  const parsed = safeParseRun(text);
  if (!parsed.ok) {
    expect(parsed.issues.length).toBeGreaterThan(0);
    for (const { code, message, line } of parsed.issues) {
      expect(code).toMatch(/^[a-z0-9-]+$/);
      expect(message.length).toBeLessThan(4000);
      if (line !== undefined) expect(line).toBeGreaterThanOrEqual(1);
    }
    return false;
  }
  const { run } = parsed;
  for (const column of [run.timeS, run.temperatureC, run.powerW, run.fanSpeedRpm ?? run.timeS]) {
    expect(column.length).toBe(run.timeS.length);
    expect(column.every(Number.isFinite)).toBe(true);
  }
  // Rows in = rows used + rows reported.
  const bytes = typeof text === 'string' ? new TextEncoder().encode(text) : text;
  const reader = new LogReader({});
  reader.push(bytes);
  const reported = run.findings
    .filter(({ code }) => code.startsWith('row-') || code === 'duplicate-time' || code === 'backward-time')
    .reduce((sum, { count }) => sum + (count ?? Number.NaN), 0);
  expect(run.timeS.length + reported).toBe(reader.finish().rowCount);
  return true;
}

describe('a text that something happened to', () => {
  it('is a run or a LogFormatError, and every row is used or reported', () => {
    let runCount = 0;
    fc.assert(
      fc.property(logs, mutations, (text, list) => {
        if (check(mutate(text, list))) runCount++;
      }),
      { numRuns: 500, seed: SEED },
    );
    // The mutations are mild enough for many runs to come through, or this would only test refusals.
    expect(runCount).toBeGreaterThan(150);
  });

  it('is a run or a LogFormatError as bytes cut anywhere, too', () => {
    fc.assert(
      fc.property(logs, mutations, fc.nat(), (text, list, cut) => {
        const bytes = new TextEncoder().encode(mutate(text, list));
        check(bytes.subarray(0, cut % (bytes.length + 1)));
      }),
      { numRuns: 200, seed: SEED },
    );
  });

  it('is a LogFormatError where it is noise', () => {
    fc.assert(
      fc.property(
        fc.oneof(fc.string({ unit: 'binary', maxLength: 300 }), fc.uint8Array({ maxLength: 300 })),
        (noise) => {
          expect(() => parseRun(noise)).toThrow(LogFormatError);
        },
      ),
      { numRuns: 300, seed: SEED },
    );
  });
});
