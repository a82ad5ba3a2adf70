import fc from 'fast-check';
import { LogReader, type LogReaderOptions } from '../../toolkit/logs/read/log-reader.js';
import { safeParseRun } from '../../toolkit/logs/read/parse-run.js';
import type { CollectedSamples } from '../../toolkit/logs/samples/collected-samples.js';
import type { Finding } from '../../toolkit/runs/finding.js';

/** How a log begins, and how its rows are written. */
interface Shape {
  readonly head: string;
  readonly delimiter: string;
  readonly time: (i: number) => string;
}

const clock = (i: number): string =>
  `${23 + Math.floor((3590 + i) / 3600)}:59:${String((50 + i) % 60).padStart(2, '0')}`;
const SHAPES: readonly Shape[] = [
  { head: 'time_s,temperature_c,power_w,fan_rpm,note', delimiter: ',', time: String },
  { head: 'Time [h:mm:ss];Temp [°F];Power [mW];Fan;Remark', delimiter: ';', time: clock },
  { head: 't\tT\tP\tf\tx', delimiter: '\t', time: String },
  {
    head: 'Evening run\nby hand; in the drawer\n\ntime,temp,power,fan,note\ns,°C,W,rpm,',
    delimiter: ',',
    time: String,
  },
  {
    head: 'Time|Package temp|Power [W]|Core 0 temp|Core 1 temp',
    delimiter: '|',
    time: (i) => `05/${String(9 + i).padStart(2, '0')}/2031 14:30:00`,
  },
  {
    head: 'Clock,Core 0 temp,Core 1 temp,power_w,Core 2 temp',
    delimiter: ',',
    time: (i) =>
      `2031-03-30 0${1 + Math.floor((3590 + i) / 3600)}:59:${String((50 + i) % 60).padStart(2, '0')}`,
  },
  {
    head: 'Date;Time;Package temp [°C];Power [W];Fan;Remark',
    delimiter: ';',
    time: (i) => (i < 10 ? `9.5.2031;23:59:${50 + i}` : `10.5.2031;00:00:${String(i - 10).padStart(2, '0')}`),
  },
];

/** Logs of up to 25 rows in several shapes, and lines of JSON. */
export const logs: fc.Arbitrary<string> = fc
  .record({
    shape: fc.nat(SHAPES.length),
    rows: fc.array(fc.tuple(fc.integer({ min: 0, max: 9999 }), fc.integer({ min: 20, max: 110 })), {
      maxLength: 25,
    }),
  })
  .map(({ shape, rows }) => {
    const of = SHAPES[shape];
    if (of === undefined)
      return rows
        .map(([power, temperature], i) =>
          JSON.stringify({ time_s: i, cpu: { temp_c: temperature, power_w: power / 10 }, note: `a "${i}"` }),
        )
        .join('\n');
    const lines = rows.map(([power, temperature], i) =>
      [of.time(i), temperature, power / 10, 20 + i, `"a ""${i}"""`].join(of.delimiter),
    );
    return [of.head, ...lines].join('\n');
  });

/** What happens to a text on its way: pieces cut out, put in, repeated, or swapped for others. */
export interface Mutation {
  readonly at: number;
  readonly length: number;
  readonly piece: string;
}
/** Up to five of them. */
export const mutations: fc.Arbitrary<readonly Mutation[]> = fc.array(
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
        '\0'.repeat(40),
        '\nend of log',
        '\n# a remark\n',
        '{',
        '}\n{',
        '1.234.567,8',
        '05/13/2031 01:00:00',
        '\ntime_s,temperature_c,power_w,fan_rpm,note\n',
      ),
      fc.string({ unit: 'binary', maxLength: 8 }),
    ),
  }),
  { maxLength: 5 },
);
/** The text after all of them. */
export function mutate(text: string, list: readonly Mutation[]): string {
  return list.reduce((current, { at, length, piece }) => {
    const start = Math.floor(at * current.length);
    return current.slice(0, start) + piece + current.slice(start + length);
  }, text);
}

/** Text that is no log at all, and bytes that are no text. */
export const noise: fc.Arbitrary<string | Uint8Array> = fc.oneof(
  fc.string({ unit: 'binary', maxLength: 300 }),
  fc.uint8Array({ maxLength: 300 }),
);

/**
 * What is wrong with how a text was read; empty where it is a run of which every row was used or reported, or an error that
 * says where and what to do.
 */
export function faultsOf(text: string | Uint8Array): {
  readonly isRun: boolean;
  readonly faults: readonly string[];
} {
  const parsed = safeParseRun(text);
  const faults: string[] = [];
  const check = (isFine: boolean, fault: string): void => {
    if (!isFine) faults.push(fault);
  };
  if (!parsed.ok) {
    check(parsed.issues.length > 0, 'an error without an issue');
    for (const { code, message, line } of parsed.issues) {
      check(/^[a-z0-9-]+$/.test(code), `code ${code}`);
      check(message.length < 4000, `a message of ${message.length} characters`);
      check(line === undefined || line >= 1, `line ${line}`);
    }
    return { isRun: false, faults };
  }
  const { run } = parsed;
  for (const column of [
    run.timeS,
    run.temperatureC,
    run.powerW,
    run.fanSpeedRpm ?? run.timeS,
    run.frequencyMHz ?? run.timeS,
  ]) {
    check(column.length === run.timeS.length, 'columns of several lengths');
    check(column.every(Number.isFinite), 'a value that is no number');
  }
  // Rows in = rows used + rows reported.
  const { rowCount } = samplesOf(text, {});
  const reported = countIn(
    run.findings,
    (code) => code.startsWith('row-') || code === 'duplicate-time' || code === 'backward-time',
  );
  check(
    run.timeS.length + reported === rowCount,
    `${rowCount} rows in, ${run.timeS.length} used and ${reported} reported`,
  );
  // The same where room for six samples is all there is, and rows are merged.
  const merged = samplesOf(text, { budgetBytes: 250 });
  const isMerged = merged.findings.some(({ code }) => code === 'block-means');
  const used = isMerged
    ? countIn(merged.findings, (code) => code === 'block-means')
    : merged.lineNumbers.length;
  const leftOut = countIn(merged.findings, (code) => code.startsWith('row-'));
  check(used + leftOut === rowCount, `${rowCount} rows in, ${used} merged and ${leftOut} left out`);
  return { isRun: true, faults };
}

function samplesOf(text: string | Uint8Array, options: LogReaderOptions): CollectedSamples {
  const reader = new LogReader(options);
  reader.push(typeof text === 'string' ? new TextEncoder().encode(text) : text);
  return reader.finish();
}

function countIn(findings: readonly Finding[], isMeant: (code: string) => boolean): number {
  return findings
    .filter(({ code }) => isMeant(code))
    .reduce((sum, { count }) => sum + (count ?? Number.NaN), 0);
}
