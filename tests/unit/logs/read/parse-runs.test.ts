import { describe, expect, it } from 'vitest';
import { parseRuns } from '../../../../toolkit/logs/read/parse-runs.js';

const HEADER = 'time_s,temperature_c,power_w';
/** Rest for some seconds, load for some, as rows from a time on. */
const course = (fromS: number, idleS: number, loadS: number): string[] =>
  Array.from(
    { length: idleS + loadS },
    (_, i) => `${fromS + i},${i < idleS ? 35 : 70},${i < idleS ? 12.5 : 95.5}`,
  );
const lengths = (text: string, options = {}): readonly (readonly [string, number])[] =>
  parseRuns(text, options).map(({ label, timeS }) => [label, timeS.length]);

describe('parseRuns', () => {
  it('parts runs at idling of two minutes; the last minute of it goes with the load behind', () => {
    const text = [HEADER, ...course(0, 60, 300), ...course(360, 200, 300)].join('\n');
    expect(lengths(text, { label: 'evening' })).toEqual([
      ['evening 1', 60 + 300 + 140],
      ['evening 2', 60 + 300],
    ]);
    const [first, second] = parseRuns(text, { label: 'evening', conditions: { cooler: 'flat 41 mm' } });
    expect(second?.timeS[0]).toBe(0);
    expect(second?.conditions.cooler).toBe('flat 41 mm');
    expect(first?.findings[0]).toMatchObject({
      code: 'part-of-log',
      message:
        'Run 1 of 2 in this log: lines 2 to 501; parted where time starts anew, or at 120 s without load or without samples. Counts of rows are those of the whole log.',
    });
    expect(second?.findings[0]?.message).toContain('lines 502 to 861');
  });

  it('leaves shorter idling within a run, and parts at it where it is told to', () => {
    const text = [HEADER, ...course(0, 60, 300), ...course(360, 100, 300)].join('\n');
    expect(lengths(text)).toEqual([['run', 760]]);
    expect(lengths(text, { idleS: 90 }).map(([, length]) => length)).toEqual([410, 350]);
  });

  it('parts where time starts anew, with or without another header', () => {
    const first = course(0, 60, 300);
    expect(lengths([HEADER, ...first, HEADER, ...first, ...first].join('\n'))).toEqual([
      ['run 1', 360],
      ['run 2', 360],
      ['run 3', 360],
    ]);
  });

  it('parts at a gap, whatever the load was', () => {
    const text = [HEADER, ...course(0, 0, 300), ...course(900, 0, 300)].join('\n');
    expect(lengths(text)).toEqual([
      ['run 1', 300],
      ['run 2', 300],
    ]);
  });

  it('does not take one stray stamp for another start', () => {
    const rows = course(0, 60, 300);
    rows[200] = '3,70,95.5';
    const [run, ...others] = parseRuns([HEADER, ...rows].join('\n'));
    expect(others).toEqual([]);
    expect(run?.timeS).toHaveLength(359);
    expect(run?.findings.some(({ code }) => code === 'backward-time')).toBe(true);
  });

  it('loses no sample', () => {
    const text = [HEADER, ...course(0, 60, 300), ...course(360, 200, 300), HEADER, ...course(0, 10, 50)].join(
      '\n',
    );
    const total = parseRuns(text).reduce((sum, { timeS }) => sum + timeS.length, 0);
    expect(total).toBe(360 + 500 + 60);
  });

  it('names an option at fault', () => {
    expect(() => parseRuns(HEADER, { idleS: 0 })).toThrow(
      'parseRuns: `options.idleS` must be a finite number above 0',
    );
    expect(() => parseRuns(HEADER, { idle: 5 } as never)).toThrow('did you mean idleS?');
    expect(() => parseRuns(5 as never)).toThrow('parseRuns: `text` must be the text of a log');
    expect(() => parseRuns('')).toThrow('the log is empty');
  });
});
