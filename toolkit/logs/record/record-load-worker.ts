import { performance } from 'node:perf_hooks';
import { workerData } from 'node:worker_threads';
import { GO_ON, LOOKS, type LoadShared, STATE, UNWATCHED } from './record-load.js';

/** Numbers that fit into the nearest cache of any core, so that memory does not set the pace. */
const LENGTH = 1024;
/** Passes over them in one piece of work. */
const PASSES = 400;

const { counts, state, index, longestUnwatchedMs } = workerData as LoadShared;
const values = Float64Array.from({ length: LENGTH }, (_, i) => i / LENGTH);

/** One piece of work: always the same multiplications and additions, on numbers that stay between 0 and 2. */
function piece(): void {
  for (let pass = 0; pass < PASSES; pass++) {
    for (let i = 0; i < LENGTH; i += 4) {
      // Four chains that do not wait for one another.
      values[i] = values[i] * 0.999 + 0.001;
      values[i + 1] = values[i + 1] * 0.998 + 0.002;
      values[i + 2] = values[i + 2] * 0.997 + 0.003;
      values[i + 3] = values[i + 3] * 0.996 + 0.004;
    }
  }
}

let looks = Atomics.load(state, LOOKS);
let lookedAtMs = performance.now();
while (Atomics.load(state, STATE) === GO_ON) {
  piece();
  Atomics.add(counts, index, 1n);
  const looksNow = Atomics.load(state, LOOKS);
  const nowMs = performance.now();
  if (looksNow !== looks) {
    looks = looksNow;
    lookedAtMs = nowMs;
  } else if (nowMs - lookedAtMs > longestUnwatchedMs) Atomics.compareExchange(state, STATE, GO_ON, UNWATCHED);
}
