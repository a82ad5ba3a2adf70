import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { makeRun } from '../../toolkit/runs/make-run.js';
import { keepIncreasing } from '../../toolkit/runs/quality/time-order.js';
import { quantumOf } from '../../toolkit/runs/quantum.js';
import { loadSegments } from '../../toolkit/runs/segments/load-segments.js';
import { steadyWindow } from '../../toolkit/runs/segments/steady-window.js';

/** Plausible columns of any course, stamps in any order; at least two stamps differ. */
const columns = fc
  .array(
    fc.record({
      // Whole seconds, which often repeat, or milliseconds.
      time: fc.oneof(
        fc.integer({ min: 0, max: 40 }),
        fc.integer({ min: 0, max: 1_000_000 }).map((milliseconds) => milliseconds / 1000),
      ),
      temperature: fc.double({ min: -20, max: 120, noNaN: true }),
      power: fc.double({ min: 0, max: 300, noNaN: true }),
    }),
    { minLength: 2, maxLength: 120 },
  )
  .filter((rows) => new Set(rows.map(({ time }) => time)).size > 1)
  .map((rows) => ({
    timeS: rows.map(({ time }) => time),
    temperatureC: rows.map(({ temperature }) => temperature),
    powerW: rows.map(({ power }) => power),
  }));

/** Length of the longest strictly increasing subsequence, by the definition. */
function longestIncreasing(values: readonly number[]): number {
  const ending = values.map(() => 1);
  for (let i = 0; i < values.length; i++)
    for (let j = 0; j < i; j++) if (values[j] < values[i]) ending[i] = Math.max(ending[i], ending[j] + 1);
  return Math.max(...ending);
}

describe('ordering time', () => {
  it('keeps increasing stamps, as many as can be kept, and accounts for every other sample', () => {
    fc.assert(
      fc.property(columns, ({ timeS }) => {
        const { keptIndices, findings } = keepIncreasing(timeS);
        const kept = keptIndices === undefined ? timeS : [...keptIndices].map((i) => timeS[i]);
        for (let i = 1; i < kept.length; i++) expect(kept[i]).toBeGreaterThan(kept[i - 1]);
        expect(kept).toHaveLength(longestIncreasing(timeS));
        const dropped = findings.reduce((sum, { count }) => sum + count!, 0);
        expect(kept.length + dropped).toBe(timeS.length);
      }),
      { seed: 20 },
    );
  });
});

describe('a run made from any columns', () => {
  const decreasing = (timeS: readonly number[]) => longestIncreasing(timeS) < 2;

  it('starts at zero, keeps values as they were and is not changed by being divided', () => {
    fc.assert(
      fc.property(columns, (samples) => {
        if (decreasing(samples.timeS)) {
          expect(() => makeRun(samples, { label: 'x' })).toThrow(/at least two samples with different time/);
          return;
        }
        const before = structuredClone(samples);
        const run = makeRun(samples, { label: 'x' });
        expect(samples).toEqual(before);
        expect(run.timeS[0]).toBe(0);
        const known = new Set(samples.temperatureC);
        for (const temperature of run.temperatureC) expect(known.has(temperature)).toBe(true);
        const copy = structuredClone(run);
        loadSegments(run);
        expect(run).toEqual(copy);
      }),
      { seed: 21 },
    );
  });

  it('is divided into segments without holes, with means inside the range of the samples', () => {
    fc.assert(
      fc.property(columns, fc.option(fc.double({ min: 5, max: 300, noNaN: true })), (samples, cap) => {
        fc.pre(!decreasing(samples.timeS));
        const run = makeRun(samples, { label: 'x', conditions: cap === null ? {} : { powerCapW: cap } });
        const { segments } = loadSegments(run);
        let next = 0;
        for (const segment of segments) {
          expect(segment.startIndex).toBe(next);
          expect(segment.endIndex).toBeGreaterThan(segment.startIndex);
          next = segment.endIndex;
          const powers = run.powerW.subarray(segment.startIndex, segment.endIndex);
          // One rounding per addition at most.
          expect(segment.meanPowerW).toBeGreaterThanOrEqual(Math.min(...powers) - 1e-9);
          expect(segment.meanPowerW).toBeLessThanOrEqual(Math.max(...powers) + 1e-9);
          expect(segment.reason).not.toBe('');
        }
        expect(next).toBe(run.timeS.length);
      }),
      { seed: 22 },
    );
  });

  it('has a steady window inside its load, with a verdict and a reason, or no load at all', () => {
    fc.assert(
      fc.property(columns, (samples) => {
        fc.pre(!decreasing(samples.timeS));
        const run = makeRun(samples, { label: 'x' });
        const hasLoad = loadSegments(run).segments.some(({ kind }) => kind === 'load');
        if (!hasLoad) {
          expect(() => steadyWindow(run)).toThrow(/a run with load in it/);
          return;
        }
        const end = steadyWindow(run);
        expect(end.endIndex).toBeGreaterThan(end.startIndex);
        expect(end.endS - end.startS).toBeLessThanOrEqual(120);
        expect(end.reason).not.toMatch(/NaN|undefined|Infinity/);
        expect(Number.isFinite(end.temperatureC.mean)).toBe(true);
      }),
      { seed: 23 },
    );
  });
});

describe('a rounded signal', () => {
  it('shows its step whatever the step is', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.05, max: 4, noNaN: true }),
        fc.integer({ min: 1, max: 1000 }),
        (step, phase) => {
          const values = Array.from({ length: 3000 }, (_, i) => {
            const signal = 60 + 9 * step * Math.sin((i + phase) / 40) + step * Math.sin(i * 1.9);
            return step * Math.round(signal / step);
          });
          // The last bits of the products are all that can differ.
          expect(Math.abs(quantumOf(values)! - step)).toBeLessThan(1e-9 * step);
        },
      ),
      { seed: 24 },
    );
  });
});
