import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { makeRun } from '../../../toolkit/runs/make-run.js';
import { countCycles } from '../../../toolkit/wear/count-cycles.js';

const series = fc.array(fc.integer({ min: -50, max: 120 }), { minLength: 1, maxLength: 60 });
const rangesOf = (values: readonly number[], history: 'once' | 'repeating' = 'once') =>
  countCycles(values, { rangeStepK: 0, history }).ranges;
const reversalCount = (values: readonly number[]): number => {
  const levels = values.filter((value, i) => i === 0 || value !== values[i - 1]);
  return levels.filter(
    (value, i) => i === 0 || i === levels.length - 1 || (value - levels[i - 1]) * (levels[i + 1] - value) < 0,
  ).length;
};

describe('countCycles', () => {
  it('counts half a cycle between two samples, and none in one or in a constant series', () => {
    expect(rangesOf([1, 2])).toEqual([{ rangeK: 1, cycleCount: 0.5 }]);
    expect(rangesOf([1, 2, 3])).toEqual([{ rangeK: 2, cycleCount: 0.5 }]);
    expect(rangesOf([1])).toEqual([]);
    expect(rangesOf([5, 5, 5])).toEqual([]);
    expect(countCycles([5, 5, 5]).summary).toBe("'series' has no temperature cycle.");
  });

  it('is not changed by repeated samples', () => {
    fc.assert(
      fc.property(series, (values) => {
        expect(rangesOf(values.flatMap((value) => [value, value]))).toEqual(rangesOf(values));
      }),
    );
  });

  it('counts half as many cycles as there are ranges between reversals', () => {
    fc.assert(
      fc.property(series, (values) => {
        expect(countCycles(values).cycleCount).toBe((reversalCount(values) - 1) / 2);
      }),
    );
  });

  it('keeps ranges and counts when the series is shifted or turned upside down', () => {
    fc.assert(
      fc.property(series, (values) => {
        expect(rangesOf(values.map((value) => value + 7))).toEqual(rangesOf(values));
        expect(rangesOf(values.map((value) => -value))).toEqual(rangesOf(values));
      }),
    );
  });

  it('scales ranges with the series', () => {
    fc.assert(
      fc.property(series, (values) => {
        const doubled = rangesOf(values.map((value) => 2 * value));
        expect(doubled.map(({ rangeK, cycleCount }) => ({ rangeK: rangeK / 2, cycleCount }))).toEqual(
          rangesOf(values),
        );
      }),
    );
  });

  it('counts whole cycles alone in a repeating series, wherever it is cut', () => {
    fc.assert(
      fc.property(series, fc.nat(59), (values, at) => {
        const cut = at % values.length;
        const turned = [...values.slice(cut), ...values.slice(0, cut)];
        const count = countCycles(values, { history: 'repeating' });
        expect(count.cycles.every((cycle) => cycle.count === 1)).toBe(true);
        expect(rangesOf(turned, 'repeating')).toEqual(rangesOf(values, 'repeating'));
        // Its largest cycle spans the whole series.
        const spanK = Math.max(...values) - Math.min(...values);
        expect(Math.max(0, ...count.cycles.map(({ rangeK }) => rangeK))).toBe(spanK);
      }),
    );
  });

  it('names the samples of each cycle', () => {
    fc.assert(
      fc.property(series, fc.constantFrom('once' as const, 'repeating' as const), (values, history) => {
        for (const { startIndex, endIndex, rangeK, meanC, highestC } of countCycles(values, { history })
          .cycles) {
          const ends = [values[startIndex], values[endIndex]];
          expect(Math.abs(ends[0] - ends[1])).toBe(rangeK);
          expect((ends[0] + ends[1]) / 2).toBe(meanC);
          expect(Math.max(...ends)).toBe(highestC);
        }
      }),
    );
  });

  it('counts a run with its name and duration, and does not touch it', () => {
    const timeS = Array.from({ length: 121 }, (_, i) => i);
    const temperatureC = timeS.map((t) => 50 + 20 * Math.cos((2 * Math.PI * t) / 40));
    const run = makeRun({ timeS, temperatureC, powerW: timeS.map(() => 60) }, { label: 'three cues' });
    const before = run.temperatureC.slice();
    const count = countCycles(run);
    expect(count.label).toBe('three cues');
    expect(count.durationS).toBe(120);
    expect(count.summary).toBe("'three cues' has 3 temperature cycles in 2 min, the largest of 40 K.");
    expect(run.temperatureC).toEqual(before);
    expect(JSON.parse(JSON.stringify(count))).toEqual(count);
  });

  it('leaves small cycles out when asked to, and says how many', () => {
    const count = countCycles([20, 60, 59, 60, 20], { smallestRangeK: 2 });
    expect(count.leftOutCount).toBe(1);
    expect(count.cycleCount).toBe(1);
    expect(count.summary).toContain('1 below 2 K are left out');
  });

  it('notes cycles of the size of noise, and says what to do', () => {
    const noisy = Array.from({ length: 200 }, (_, i) => (i < 100 ? 20 : 70) + (i % 2));
    const [finding] = countCycles(noisy).findings;
    expect(finding).toMatchObject({
      code: 'small-cycles',
      remedy: 'give smallestRangeK: 2 to leave them out',
    });
    expect(countCycles(noisy, { smallestRangeK: 2 }).findings).toEqual([]);
  });

  it('warns of a gap', () => {
    const timeS = [...Array.from({ length: 30 }, (_, i) => i), 400, 401, 402];
    const { findings } = countCycles({ label: 'act', timeS, temperatureC: timeS.map((t) => 40 + (t % 7)) });
    expect(findings.find(({ code }) => code === 'gap')?.message).toMatch(
      /^'act' has 1 gap, the longest of 371 s;/,
    );
  });

  it('counts a million samples within seconds', () => {
    const long = Float64Array.from(
      { length: 1_000_000 },
      (_, i) => 60 + 20 * Math.sin(i / 50) + 3 * Math.sin(i * 1.7),
    );
    expect(countCycles(long).cycleCount).toBeGreaterThan(100_000);
  });

  it.each<[string, () => unknown, string]>([
    [
      'an empty series',
      () => countCycles([]),
      'countCycles: `series` must be at least one temperature (received an array of 0)',
    ],
    [
      'a number that is none',
      () => countCycles([20, Number.NaN, 30]),
      'countCycles: `series[1]` must be a finite temperature, degrees Celsius, above −273.15 (received NaN); leave the sample out, or read the log with parseRun, which repairs and reports such samples',
    ],
    [
      'times that stand still',
      () => countCycles({ timeS: [0, 1, 1], temperatureC: [1, 2, 3] }),
      'countCycles: `series.timeS[2]` must be finite and later than the one before, s (received 1); leave the sample out, or read the log with parseRun, which repairs and reports such samples',
    ],
    [
      'columns of different lengths',
      () => countCycles({ timeS: [0, 1], temperatureC: [1, 2, 3] }),
      'countCycles: `series.timeS` must be as long as temperatureC, 3 (received 2)',
    ],
    [
      'a text',
      () => countCycles('20, 30' as never),
      'countCycles: `series` must be a run, { timeS, temperatureC }, or a list of temperatures (received "20, 30"); read a log with parseRun or readRun',
    ],
    [
      'a mistyped option',
      () => countCycles([1, 2], { smallestRange: 2 } as never),
      'countCycles: `options.smallestRange` must be one of history, smallestRangeK, rangeStepK (received "smallestRange"); did you mean smallestRangeK?',
    ],
    [
      'a history of another kind',
      () => countCycles([1, 2], { history: 'twice' as never }),
      "countCycles: `options.history` must be 'once' or 'repeating' (received \"twice\")",
    ],
    [
      'a negative range',
      () => countCycles([1, 2], { smallestRangeK: -1 }),
      'countCycles: `options.smallestRangeK` must be a finite number at least 0 (received -1)',
    ],
  ])('refuses %s', (_, call, message) => {
    expect(call).toThrow(message);
  });
});
