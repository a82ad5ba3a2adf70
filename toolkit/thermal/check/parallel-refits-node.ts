import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { type KnownNames, NumericalError } from '../../errors.js';
import { requireRuns } from '../../runs/require-run.js';
import type { Run } from '../../runs/run.js';
import type { CoolerModel } from '../cooler-model.js';
import {
  BOOTSTRAP_NAMES,
  type BootstrapCoolerOptions,
  bootstrapSeries,
  type CoolerBootstrap,
} from './bootstrap.js';
import { type RefitSeries, type RefitSeriesOptions, requireWhole, SERIES_BATCH } from './refit-series.js';
import type { RefitRequest, RefitWork } from './refit-worker-node.js';
import {
  SIMULATION_CHECK_NAMES,
  type SimulationCheck,
  type SimulationCheckOptions,
  simulationSeries,
} from './simulation-check.js';

/** On how many worker threads. */
export interface ParallelOptions {
  /** Default: as many as the machine runs at once. */
  readonly workerCount?: number;
}

const PARALLEL_NAMES: KnownNames<ParallelOptions> = { workerCount: true };

/**
 * `simulationCheck` on worker threads, with the same result to the last digit. Needs Node. Threads take some tenths of a
 * second to start: worth it for long records or thousands of refits.
 *
 * @param model - from `fitCooler`, with stages
 * @param runs - the runs it was fitted from, in the same order
 * @param options - of `simulationCheck`, and how many threads
 * @throws ArgumentError as `simulationCheck`, or if the number of threads is out of its domain
 * @example
 * const random = seededRandom(3);
 * const timeS = Array.from({ length: 400 }, (_, i) => i);
 * const run = makeRun(
 *   {
 *     timeS,
 *     powerW: timeS.map((t) => (t < 20 ? 10 : 80)),
 *     temperatureC: timeS.map((t) => 27 + (t < 20 ? 0 : 35 * (1 - Math.exp((19 - t) / 60))) + 0.2 * random.normal()),
 *   },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * const model = fitCooler(run, { powerExponent: 0 });
 * await simulationCheckInParallel(model, run, { workerCount: 0 }); // => throws /workerCount/
 */
export async function simulationCheckInParallel(
  model: CoolerModel,
  runs: Run | readonly Run[],
  options: SimulationCheckOptions & ParallelOptions = {},
): Promise<SimulationCheck> {
  const caller = 'simulationCheckInParallel';
  const list = requireRuns(runs, caller);
  const series = simulationSeries(model, list, options, caller, {
    ...SIMULATION_CHECK_NAMES,
    ...PARALLEL_NAMES,
  });
  const { count, seed, powerW } = options;
  return runOnWorkers(
    series,
    { method: 'simulation', model, runs: list, options: { count, seed, powerW } },
    options,
    caller,
  );
}

/**
 * `bootstrapCooler` on worker threads, with the same result to the last digit. Needs Node. Threads take some tenths of a
 * second to start: worth it for long records or thousands of refits.
 *
 * @param model - from `fitCooler`, with stages
 * @param runs - the runs it was fitted from, in the same order
 * @param options - of `bootstrapCooler`, and how many threads
 * @throws ArgumentError as `bootstrapCooler`, or if the number of threads is out of its domain
 * @example
 * const random = seededRandom(3);
 * const timeS = Array.from({ length: 400 }, (_, i) => i);
 * const run = makeRun(
 *   {
 *     timeS,
 *     powerW: timeS.map((t) => (t < 20 ? 10 : 80)),
 *     temperatureC: timeS.map((t) => 27 + (t < 20 ? 0 : 35 * (1 - Math.exp((19 - t) / 60))) + 0.2 * random.normal()),
 *   },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * const model = fitCooler(run, { powerExponent: 0 });
 * await bootstrapCoolerInParallel(model, run, { workerCount: 0 }); // => throws /workerCount/
 */
export async function bootstrapCoolerInParallel(
  model: CoolerModel,
  runs: Run | readonly Run[],
  options: BootstrapCoolerOptions & ParallelOptions = {},
): Promise<CoolerBootstrap> {
  const caller = 'bootstrapCoolerInParallel';
  const list = requireRuns(runs, caller);
  const series = bootstrapSeries(model, list, options, caller, { ...BOOTSTRAP_NAMES, ...PARALLEL_NAMES });
  const { count, seed, powerW, blockS } = options;
  return runOnWorkers(
    series,
    { method: 'bootstrap', model, runs: list, options: { count, seed, powerW, blockS } },
    options,
    caller,
  );
}

/** Hands batches to whichever thread is free; replicates go to the place of their index, so the order is always the same. */
async function runOnWorkers<Replicate, Result>(
  series: RefitSeries<Replicate, Result>,
  work: RefitWork,
  options: RefitSeriesOptions & ParallelOptions,
  caller: string,
): Promise<Result> {
  const { onProgress, signal } = options;
  const { workerCount = availableParallelism() } = options;
  requireWhole(workerCount, { caller, argument: 'options.workerCount' }, { atLeast: 1, atMost: 256 });
  signal?.throwIfAborted();
  const { count } = series;
  const replicates = new Array<Replicate>(count);
  const batchCount = Math.ceil(count / SERIES_BATCH);
  let nextBatch = 0;
  let doneCount = 0;
  const workers: Worker[] = [];
  try {
    await new Promise<void>((resolve, reject) => {
      signal?.addEventListener('abort', () => reject(signal.reason), { once: true });
      for (let w = 0; w < Math.min(workerCount, batchCount); w++) {
        const worker = new Worker(new URL('./refit-worker-node.js', import.meta.url), { workerData: work });
        workers.push(worker);
        const hand = (): void => {
          if (nextBatch === batchCount) return;
          const from = SERIES_BATCH * nextBatch++;
          const request: RefitRequest = { from, end: Math.min(count, from + SERIES_BATCH) };
          worker.postMessage(request);
        };
        worker.on('message', ({ from, done }: { from: number; done: readonly Replicate[] }) => {
          done.forEach((replicate, i) => {
            replicates[from + i] = replicate;
          });
          doneCount += done.length;
          onProgress?.(doneCount, count);
          if (doneCount === count) resolve();
          else hand();
        });
        worker.on('error', reject);
        worker.on('exit', () => reject(new NumericalError(`${caller}: a worker thread ended by itself`)));
        hand();
      }
    });
  } finally {
    await Promise.all(workers.map((worker) => worker.terminate()));
  }
  return series.conclude(replicates);
}
