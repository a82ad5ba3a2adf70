import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { LogFormatError } from '../../toolkit/logs/log-format-error.js';
import { parseRun } from '../../toolkit/logs/read/parse-run.js';
import { faultsOf, logs, mutate, mutations, noise } from './mutated-logs.js';

const SEED = 20_310_510;

/** Of the 10,000 that tests/benchmarks/mutated-logs.ts goes through. */
const COUNT = 600;

describe('a text that something happened to', () => {
  it('is a run or a LogFormatError, and every row is used or reported', () => {
    let runCount = 0;
    fc.assert(
      fc.property(logs, mutations, (text, list) => {
        const { isRun, faults } = faultsOf(mutate(text, list));
        expect(faults).toEqual([]);
        if (isRun) runCount++;
      }),
      { numRuns: COUNT, seed: SEED },
    );
    // The mutations are mild enough for many runs to come through, or this would only test refusals.
    expect(runCount).toBeGreaterThan(0.25 * COUNT);
  });

  it('is a run or a LogFormatError as bytes cut anywhere, too', () => {
    fc.assert(
      fc.property(logs, mutations, fc.nat(), (text, list, cut) => {
        const bytes = new TextEncoder().encode(mutate(text, list));
        expect(faultsOf(bytes.subarray(0, cut % (bytes.length + 1))).faults).toEqual([]);
      }),
      { numRuns: 200, seed: SEED },
    );
  });

  it('is a LogFormatError where it is noise', () => {
    fc.assert(
      fc.property(noise, (text) => {
        expect(() => parseRun(text)).toThrow(LogFormatError);
      }),
      { numRuns: 300, seed: SEED },
    );
  });
});
