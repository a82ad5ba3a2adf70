export * from './index.js';
export type { ReadRunOptions, ReadRunsOptions } from './logs/read-run-node.js';
export { readRun } from './logs/read-run-node.js';
export { readRuns } from './logs/read-runs-node.js';
export type { ExploreScenario } from './notebook/panel/explore.js';
export { explore } from './notebook/panel/explore.js';
export type { ExploreLadderOptions } from './notebook/panel/explore-ladder.js';
export { exploreLadder } from './notebook/panel/explore-ladder.js';
export type { Panel } from './notebook/panel/panel.js';
export { show } from './notebook/show.js';
export type { CheckedAnswer } from './notebook/workshop/check.js';
export { check } from './notebook/workshop/check.js';
export { plotlySource } from './report/plotly-node.js';
export { writeReport } from './report/write-report-node.js';
export type { ParallelOptions } from './thermal/check/parallel-refits-node.js';
export {
  bootstrapCoolerInParallel,
  simulationCheckInParallel,
} from './thermal/check/parallel-refits-node.js';
