import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import { type RandomStream, seededRandom } from '../../numerics/random.js';
import type { Finding } from '../../runs/finding.js';

/** How many refits, from which seed, and what is heard of them on the way. */
export interface RefitSeriesOptions {
  /** How many refits, 20 to 100 000. */
  readonly count?: number;
  /** Whole number from 0 to 2³² − 1; the same seed gives the same result to the last digit. Default 1. */
  readonly seed?: number;
  /** Called now and then with how many refits are done, and of how many. */
  readonly onProgress?: (doneCount: number, count: number) => void;
  /** Ends the computation: the promise is rejected with the signal's reason. */
  readonly signal?: AbortSignal;
}

export const SERIES_OPTION_NAMES: KnownNames<RefitSeriesOptions> = {
  count: true,
  seed: true,
  onProgress: true,
  signal: true,
};

/** A series of refits that do not depend on one another: each has a stream of random numbers of its own. */
export interface RefitSeries<Replicate, Result> {
  readonly count: number;
  replicate(index: number): Replicate;
  /** The result of all of them, in order of their index. */
  conclude(replicates: readonly Replicate[]): Result;
}

const LEAST_COUNT = 20;
const MOST_COUNT = 100_000;
const MOST_SEED = 2 ** 32 - 1;
/** Streams of one seed that do not run into those of the next. */
const STREAMS_A_SEED = 2 ** 20;

/** Refits between two looks at the signal; some hundredths of a second. */
export const SERIES_BATCH = 20;

export function requireSeriesOptions(
  options: RefitSeriesOptions,
  names: object,
  defaultCount: number,
  caller: string,
): { readonly count: number; readonly seed: number } {
  requireKnownNames(options, names, { caller, argument: 'options' });
  const { count = defaultCount, seed = 1 } = options;
  requireWhole(count, { caller, argument: 'options.count' }, { atLeast: LEAST_COUNT, atMost: MOST_COUNT });
  requireWhole(seed, { caller, argument: 'options.seed' }, { atLeast: 0, atMost: MOST_SEED });
  return { count, seed };
}

export function requireWhole(
  value: number,
  where: { readonly caller: string; readonly argument: string },
  bounds: { readonly atLeast: number; readonly atMost: number },
): void {
  requireNumber(value, where, bounds);
  if (!Number.isInteger(value))
    throw new ArgumentError({ ...where, expected: 'a whole number', received: value });
}

/** Above this share of refits that failed, those that are left may not be like the others. */
const FAILED_SHARE = 0.05;

/** Says that many refits were left out, if so. */
export function failedRefits(count: number, failedCount: number, what: string): Finding[] {
  if (failedCount <= FAILED_SHARE * count) return [];
  return [
    {
      code: 'refits-not-converged',
      severity: 'warning',
      message: `${failedCount} of ${count} ${what} did not converge and were left out.`,
      remedy: 'the structure is at the edge of what the runs can tell: fit fewer stages',
      count: failedCount,
    },
  ];
}

export function randomOfReplicate(seed: number, index: number): RandomStream {
  return seededRandom(seed * STREAMS_A_SEED + index);
}

/** Runs a series here, letting go of the thread between batches so that a page can draw and a signal can arrive. */
export async function runSeries<Replicate, Result>(
  series: RefitSeries<Replicate, Result>,
  { onProgress, signal }: RefitSeriesOptions,
): Promise<Result> {
  const replicates: Replicate[] = [];
  for (;;) {
    signal?.throwIfAborted();
    const end = Math.min(series.count, replicates.length + SERIES_BATCH);
    while (replicates.length < end) replicates.push(series.replicate(replicates.length));
    onProgress?.(replicates.length, series.count);
    if (replicates.length === series.count) return series.conclude(replicates);
    await new Promise((resolve) => setTimeout(resolve, 0));
  }
}
