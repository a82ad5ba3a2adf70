// A worker thread of `simulationCheckInParallel` and `bootstrapCoolerInParallel`: replicates of the given work, a batch
// at a time.
import { parentPort, workerData } from 'node:worker_threads';
import type { Run } from '../../runs/run.js';
import type { CoolerModel } from '../cooler-model.js';
import { type BootstrapCoolerOptions, bootstrapSeries } from './bootstrap.js';
import type { RefitSeries } from './refit-series.js';
import { type SimulationCheckOptions, simulationSeries } from './simulation-check.js';

/** What a thread needs to make the same series as the one that started it. */
export type RefitWork = { readonly model: CoolerModel; readonly runs: readonly Run[] } & (
  | { readonly method: 'simulation'; readonly options: SimulationCheckOptions }
  | { readonly method: 'bootstrap'; readonly options: BootstrapCoolerOptions }
);

/** Which replicates: from this index to before that one. */
export interface RefitRequest {
  readonly from: number;
  readonly end: number;
}

function seriesOf(work: RefitWork): RefitSeries<unknown, unknown> {
  const caller = 'refit-worker';
  return work.method === 'simulation'
    ? simulationSeries(work.model, work.runs, work.options, caller)
    : bootstrapSeries(work.model, work.runs, work.options, caller);
}

const port = parentPort;
if (port !== null) {
  const series = seriesOf(workerData as RefitWork);
  port.on('message', ({ from, end }: RefitRequest) => {
    const done = Array.from({ length: end - from }, (_, i) => series.replicate(from + i));
    port.postMessage({ from, done });
  });
}
