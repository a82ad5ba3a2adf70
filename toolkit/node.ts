/**
 * All of `kelvin-per-watt`, and what needs files, threads or the notebook.
 *
 * @module kelvin-per-watt/node
 */

// The public face in Node: all of index.ts, and what needs files, threads or the notebook.

export * from './index.js';

// Logs from files, and the recorder.

export { type FollowRunOptions, followRun } from './logs/read/follow-run-node.js';
export { type ReadRunOptions, type ReadRunsOptions, readRun } from './logs/read/read-run-node.js';
export { readRuns } from './logs/read/read-runs-node.js';
export type { RecordedSample } from './logs/record/record-log.js';
export type { RecordOptions } from './logs/record/record-options.js';
export { type Recorded, record } from './logs/record/record-run.js';
export type { SensorChoice } from './logs/record/record-sensors.js';
export { type ReadStudyOptions, readStudy } from './logs/study/study-node.js';

// Refits on worker threads.

export {
  bootstrapCoolerInParallel,
  type ParallelOptions,
  simulationCheckInParallel,
} from './thermal/check/parallel-refits-node.js';

// Pages as files.

export { plotlySource } from './report/page/plotly-node.js';
export { writeReport } from './report/page/write-report-node.js';

// In a notebook.

export { show } from './notebook/display/show.js';
export { showProgress } from './notebook/display/show-progress.js';
export { type WatchedRun, type WatchRunOptions, watchRun } from './notebook/display/watch-run.js';
export { type ExploreScenario, explore } from './notebook/panel/explore.js';
export { type ExploreLadderOptions, exploreLadder } from './notebook/panel/explore-ladder.js';
export type { Panel } from './notebook/panel/panel.js';
export { type CheckedAnswer, check } from './notebook/workshop/check.js';
