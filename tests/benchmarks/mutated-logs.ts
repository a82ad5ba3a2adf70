/**
 * 10,000 mutated and random texts through the log reader: each must become a run of which every row was used or reported, or
 * an error that says where; none may hang or crash it. `npm test` goes through some hundred of them.
 *
 * Run with: npm run build && node dist/tests/benchmarks/mutated-logs.js [seed]
 */
import { performance } from 'node:perf_hooks';
import fc from 'fast-check';
import { faultsOf, logs, mutate, mutations, noise } from '../property/mutated-logs.js';

const COUNT = 10_000;
/** A text of some hundred characters that takes longer than this hangs, ms. */
const LONGEST_MS = 2000;

const seed = Number(process.argv[2] ?? 20_310_510);
let runCount = 0;
let longestMs = 0;
const texts = fc.oneof(
  {
    weight: 7,
    arbitrary: fc.tuple(logs, mutations).map(([text, list]): string | Uint8Array => mutate(text, list)),
  },
  {
    weight: 2,
    arbitrary: fc.tuple(logs, mutations, fc.nat()).map(([text, list, cut]): string | Uint8Array => {
      const bytes = new TextEncoder().encode(mutate(text, list));
      return bytes.subarray(0, cut % (bytes.length + 1));
    }),
  },
  { weight: 1, arbitrary: noise },
);
fc.assert(
  fc.property(texts, (text) => {
    const start = performance.now();
    const { isRun, faults } = faultsOf(text);
    const tookMs = performance.now() - start;
    longestMs = Math.max(longestMs, tookMs);
    if (isRun) runCount++;
    if (tookMs > LONGEST_MS) throw new Error(`took ${tookMs.toFixed(0)} ms`);
    if (faults.length > 0) throw new Error(faults.join('; '));
  }),
  { numRuns: COUNT, seed },
);
console.log(
  `${COUNT} texts, seed ${seed}: ${runCount} runs, ${COUNT - runCount} refusals, every row accounted for; the longest took ${longestMs.toFixed(0)} ms`,
);
