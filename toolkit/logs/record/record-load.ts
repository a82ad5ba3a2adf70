import { Worker } from 'node:worker_threads';
import { NumericalError } from '../../errors.js';

/** What the threads share: one counter for each, and whether to stop. */
export interface LoadShared {
  /** Pieces of work done, one counter per thread. */
  readonly counts: BigInt64Array;
  /** Nonzero: stop. */
  readonly stop: Int32Array;
  /** Which counter is this thread's. */
  readonly index: number;
}

/**
 * Load on all cores: worker threads that do one fixed piece of arithmetic again and again and count the pieces, so that
 * throughput falls as the clock falls and can be compared between runs.
 */
export class RecordLoad {
  private readonly workers: Worker[] = [];
  private readonly counts: BigInt64Array;
  private readonly stopped: Int32Array = new Int32Array(new SharedArrayBuffer(4));
  private failure: Error | undefined;

  constructor(threadCount: number) {
    this.counts = new BigInt64Array(new SharedArrayBuffer(8 * threadCount));
  }

  start(): void {
    for (let index = 0; index < this.counts.length; index++) {
      const worker = new Worker(new URL('./record-load-worker.js', import.meta.url), {
        workerData: { counts: this.counts, stop: this.stopped, index } satisfies LoadShared,
      });
      worker.on('error', (error) => {
        this.failure = error;
      });
      this.workers.push(worker);
    }
  }

  /**
   * Pieces of work done by all threads so far.
   *
   * @throws NumericalError if a thread has failed: a load that has quietly ended would make a wrong run
   */
  pieceCount(): number {
    if (this.failure !== undefined)
      throw new NumericalError(`record: a thread of the load has failed (${this.failure.message})`);
    let sum = 0n;
    for (let index = 0; index < this.counts.length; index++) sum += Atomics.load(this.counts, index);
    return Number(sum);
  }

  /** Ends the load; it is over within a piece of work, some milliseconds, even before the promise is kept. */
  async stop(): Promise<void> {
    Atomics.store(this.stopped, 0, 1);
    await Promise.all(this.workers.splice(0).map((worker) => worker.terminate()));
  }
}
