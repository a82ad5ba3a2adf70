import { Worker } from 'node:worker_threads';
import { NumericalError } from '../../errors.js';

/** What the threads share: one counter for each, and whether to stop. */
export interface LoadShared {
  /** Pieces of work done, one counter per thread. */
  readonly counts: BigInt64Array;
  /** `state[STATE]`: go on, stop, or stopped for want of anybody watching; `state[LOOKS]`: looks at the temperature so far. */
  readonly state: Int32Array;
  /** Which counter is this thread's. */
  readonly index: number;
  readonly longestUnwatchedMs: number;
}

/** Places in `LoadShared.state`. */
export const STATE = 0;
export const LOOKS = 1;

/** Values of `state[STATE]`. */
export const GO_ON = 0;
const STOP = 1;
export const UNWATCHED = 2;

/** A load that nobody has watched for so long ends by itself, ms. */
const LONGEST_UNWATCHED_MS = 10_000;

/**
 * Load on all cores: worker threads that do one fixed piece of arithmetic again and again and count the pieces, so that
 * throughput falls as the clock falls and can be compared between runs. Whoever watches the temperature says so by
 * `keepGoing`; when that ceases, as where the main thread hangs, the threads end by themselves.
 */
export class RecordLoad {
  private readonly workers: Worker[] = [];
  private readonly counts: BigInt64Array;
  private readonly state: Int32Array = new Int32Array(new SharedArrayBuffer(8));
  private failure: Error | undefined;

  constructor(
    threadCount: number,
    private readonly longestUnwatchedMs: number = LONGEST_UNWATCHED_MS,
  ) {
    this.counts = new BigInt64Array(new SharedArrayBuffer(8 * threadCount));
  }

  start(): void {
    for (let index = 0; index < this.counts.length; index++) {
      const worker = new Worker(new URL('./record-load-worker.js', import.meta.url), {
        workerData: {
          counts: this.counts,
          state: this.state,
          index,
          longestUnwatchedMs: this.longestUnwatchedMs,
        } satisfies LoadShared,
      });
      worker.on('error', (error) => {
        this.failure = error;
      });
      this.workers.push(worker);
    }
  }

  /** Says that the temperature was looked at. */
  keepGoing(): void {
    Atomics.add(this.state, LOOKS, 1);
  }

  /**
   * Pieces of work done by all threads so far.
   *
   * @throws NumericalError if a thread has failed or ended by itself: a load that has quietly ended would make a wrong run
   */
  pieceCount(): number {
    if (this.failure !== undefined)
      throw new NumericalError(`record: a thread of the load has failed (${this.failure.message})`);
    if (Atomics.load(this.state, STATE) === UNWATCHED)
      throw new NumericalError(
        `record: the temperature was not looked at for ${this.longestUnwatchedMs / 1000} s, and the load ended by itself; nothing else may keep this thread busy meanwhile`,
      );
    let sum = 0n;
    for (let index = 0; index < this.counts.length; index++) sum += Atomics.load(this.counts, index);
    return Number(sum);
  }

  /** Ends the load; it is over within a piece of work, some milliseconds, even before the promise is kept. */
  async stop(): Promise<void> {
    Atomics.compareExchange(this.state, STATE, GO_ON, STOP);
    await Promise.all(this.workers.splice(0).map((worker) => worker.terminate()));
  }
}
