export * from './index.js';
export type { FollowRunOptions } from './logs/read/follow-run-node.js';
export { followRun } from './logs/read/follow-run-node.js';
export type { ReadRunOptions, ReadRunsOptions } from './logs/read/read-run-node.js';
export { readRun } from './logs/read/read-run-node.js';
export { readRuns } from './logs/read/read-runs-node.js';
export type { RecordDefaults, Recorded, RecordedSample, RecordOptions } from './logs/record/record-run.js';
export { RECORD_DEFAULTS, record } from './logs/record/record-run.js';
export type { SensorChoice } from './logs/record/record-sensors.js';
export type { ReadStudyOptions } from './logs/study/study-node.js';
export { readStudy } from './logs/study/study-node.js';
export { show } from './notebook/display/show.js';
export { showProgress } from './notebook/display/show-progress.js';
export type { WatchedRun, WatchRunOptions } from './notebook/display/watch-run.js';
export { watchRun } from './notebook/display/watch-run.js';
export type { ExploreScenario } from './notebook/panel/explore.js';
export { explore } from './notebook/panel/explore.js';
export type { ExploreLadderOptions } from './notebook/panel/explore-ladder.js';
export { exploreLadder } from './notebook/panel/explore-ladder.js';
export type { Panel } from './notebook/panel/panel.js';
export type { CheckedAnswer } from './notebook/workshop/check.js';
export { check } from './notebook/workshop/check.js';
export { plotlySource } from './report/page/plotly-node.js';
export { writeReport } from './report/page/write-report-node.js';
export type { ParallelOptions } from './thermal/check/parallel-refits-node.js';
export {
  bootstrapCoolerInParallel,
  simulationCheckInParallel,
} from './thermal/check/parallel-refits-node.js';
