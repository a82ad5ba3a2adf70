import { describe, expect, test } from 'vitest';
import { finishableRecord } from '../../../../toolkit/thermal/fit/coarse-record.js';
import { fitCandidates } from '../../../../toolkit/thermal/fit/fit-candidates.js';
import { recordOfRuns } from '../../../../toolkit/thermal/fit/fit-record.js';
import { everyS } from '../known-cooler.js';
import { noisyRun } from '../noisy-cooler.js';

const steps = Array.from({ length: 12 }, (_, i) => ({ atS: 30 + 1600 * i, powerW: i % 2 === 0 ? 85 : 20 }));
const run = noisyRun(77, { timeS: everyS(1, 20000), powerSteps: steps });
const structure = {
  stageCount: 2,
  sensorLag: false,
  fitExponent: false,
  powerExponent: 0,
  atPowerW: 85,
};

describe('records too long to be finished as they are', () => {
  test('become block means: every sample in one block, single ones after a change of power', () => {
    const record = recordOfRuns([run], 0);
    const short = finishableRecord(record, 10_000);
    expect(finishableRecord(record, 30_000)).toBe(record);
    expect(short.blockLength).toBe(9);
    const [{ samplesPerPoint, within, elapsedS }] = short.pieces;
    expect(samplesPerPoint?.reduce((sum, count) => sum + count, 0)).toBe(record.sampleCount);
    expect(within?.blockEnds[within.blockEnds.length - 1]).toBe(record.sampleCount);
    for (const { atS } of steps) {
      const first = elapsedS.findIndex((t) => t > atS);
      expect(samplesPerPoint?.slice(first, first + 10)).toEqual(new Float64Array(10).fill(1));
    }
  });

  test('fit as all samples do, well within a standard error', () => {
    const record = recordOfRuns([run], 0);
    const [all, blocks] = [30_000, 10_000].map((mostSamples) => {
      const { candidates, table } = fitCandidates([run], record, [structure], { mostSamples });
      const [candidate] = candidates;
      return { candidate, scale: candidate.weightedSquares / table.effectiveSampleCount };
    });
    const width = all.candidate.layout.count + structure.stageCount;
    const numbers = ({ candidate }: typeof all): number[] => [
      ...candidate.minimum.parameters,
      ...candidate.minimum.linearParameters,
    ];
    for (let i = 0; i < width; i++) {
      const standardError = Math.sqrt(all.scale * all.candidate.inverseGram.get(i, i));
      // Noise is drawn once: what differs is what means leave out of it.
      expect(Math.abs(numbers(all)[i] - numbers(blocks)[i]), `${i}`).toBeLessThan(0.5 * standardError);
    }
  });
});
