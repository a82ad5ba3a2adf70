import type { Finding } from '../finding.js';
import { listedLines } from './listed-lines.js';

/** Which samples keep time strictly increasing, and what had to be left out for it. */
export interface TimeOrder {
  /** Indices of the samples kept; undefined where all are. */
  readonly keptIndices?: Uint32Array;
  readonly findings: readonly Finding[];
}

/** Above this share of samples out of order the log is most likely two logs, or its clock did not only count upward. */
const SERIOUS_FRACTION = 0.02;

/**
 * Keeps the longest strictly increasing sequence of time stamps, so that the fewest samples are left out: one
 * stamp far ahead of its neighbours costs one sample, not all that follow. Where stamps repeat, the last one
 * logged is kept.
 *
 * Patience sorting with back pointers [Fredman1975]; O(n) on ordered stamps, O(n log n) at worst.
 */
export function keepIncreasing(timeS: ArrayLike<number>, lineNumbers?: ArrayLike<number>): TimeOrder {
  if (isIncreasing(timeS)) return { findings: [] };

  const n = timeS.length;
  /** tails[k]: index of the smallest stamp that ends an increasing sequence of k + 1 samples. */
  const tails = new Uint32Array(n);
  const previous = new Int32Array(n);
  let length = 0;
  for (let i = 0; i < n; i++) {
    const time = timeS[i];
    let low = 0;
    if (length > 0 && time > timeS[tails[length - 1]]) {
      low = length;
    } else {
      let high = length;
      while (low < high) {
        const middle = (low + high) >>> 1;
        if (timeS[tails[middle]] < time) low = middle + 1;
        else high = middle;
      }
    }
    tails[low] = i;
    previous[i] = low === 0 ? -1 : tails[low - 1];
    if (low === length) length++;
  }

  const keptIndices = new Uint32Array(length);
  for (let k = length - 1, i = tails[length - 1]; k >= 0; k--, i = previous[i]) keptIndices[k] = i;
  return { keptIndices, findings: droppedFindings(timeS, keptIndices, lineNumbers) };
}

function isIncreasing(timeS: ArrayLike<number>): boolean {
  for (let i = 1; i < timeS.length; i++) if (!(timeS[i] > timeS[i - 1])) return false;
  return true;
}

function droppedFindings(
  timeS: ArrayLike<number>,
  keptIndices: Uint32Array,
  lineNumbers: ArrayLike<number> | undefined,
): readonly Finding[] {
  const repeated: number[] = [];
  const backward: number[] = [];
  for (let i = 0, k = 0; i < timeS.length; i++) {
    if (keptIndices[k] === i) {
      k++;
      continue;
    }
    const repeats = timeS[i] === timeS[i - 1] || timeS[i] === timeS[i + 1];
    (repeats ? repeated : backward).push(i);
  }
  const findings: Finding[] = [];
  if (repeated.length > 0) {
    findings.push({
      code: 'duplicate-time',
      severity: repeated.length > SERIOUS_FRACTION * timeS.length ? 'warning' : 'note',
      message: `${repeated.length} of ${timeS.length} samples repeat the time stamp of a neighbour; of each such group the last sample was kept, the others were left out.`,
      remedy: 'log the time with more decimals than the sampling interval needs',
      count: repeated.length,
      ...listedLines(repeated, lineNumbers),
    });
  }
  if (backward.length > 0) {
    const serious = backward.length > SERIOUS_FRACTION * timeS.length;
    findings.push({
      code: 'backward-time',
      severity: serious ? 'serious' : 'warning',
      message: `Time runs backward: ${backward.length} of ${timeS.length} samples were left out, the fewest that make the stamps increase.`,
      remedy: serious
        ? 'this looks like two logs in one, or a clock that was set during the run or passed midnight without a date: split the log where time steps back, and log date and time or seconds since the start'
        : 'check these lines: a clock that is set, or passes midnight without a date, steps back; log date and time or seconds since the start',
      count: backward.length,
      ...listedLines(backward, lineNumbers),
    });
  }
  return findings;
}
