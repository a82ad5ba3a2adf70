/**
 * Everything that also works in a browser: runs, coolers, power curves, caps, figures, tables, pages.
 *
 * @module kelvin-per-watt
 */

// The public face, browser-safe, in the order data flow. What is not here is internal and may change.

// Numbers: with their uncertainty, units and the errors that name what is wrong.

export { ArgumentError, type ArgumentProblem, NumericalError } from './errors.js';
export {
  type CorrelatedMean,
  type CorrelatedMeanOptions,
  type IndependenceOptions,
  meanWithAutocorrelation,
} from './numerics/autocorrelation.js';
export type { Estimate, EstimatedNumber, UnavailableNumber, UnavailableReason } from './numerics/estimate.js';
export { type EstimatedOptions, estimated, requireValue, unavailable } from './numerics/estimates.js';
export { formatEstimate, formatNumber, formatValue } from './numerics/format-estimate.js';
export type { IntervalCheck } from './numerics/interval-check.js';
export type { Termination, TerminationReason } from './numerics/least-squares/termination.js';
export {
  type DistributionOptions,
  type PropagatedDistribution,
  propagateDistributions,
} from './numerics/monte-carlo.js';
export { type PropagatedUncertainty, propagate } from './numerics/propagation.js';
export { type RandomStream, seededRandom } from './numerics/random.js';
export {
  inverseOfLine,
  type LinePoint,
  type LineReading,
  lineAt,
  type WeightedLine,
  weightedLine,
} from './numerics/weighted-line.js';
export { convertUnit, type UnitPair } from './units/units.js';

// Logs: text to runs.

export type { Delimiter } from './logs/cells/delimited-record.js';
export type { DateOrder } from './logs/cells/local-date.js';
export { type ConditionName, parseConditions } from './logs/conditions.js';
export { LogFormatError, type LogIssue } from './logs/log-format-error.js';
export { type ParsedRun, type ParseRunOptions, parseRun, safeParseRun } from './logs/read/parse-run.js';
export {
  type ParseRunStreamOptions,
  parseRunStream,
  type ReadingOptions,
} from './logs/read/parse-run-stream.js';
export { type ParseRunsOptions, parseRuns } from './logs/read/parse-runs.js';
export type { Study, StudyDisagreement, StudyLog } from './logs/study/study.js';
export type {
  ColumnChoice,
  ColumnRole,
  CombinedColumns,
  CombineRule,
  DateAndClock,
  UnitChoice,
} from './logs/table/column-rules.js';
export {
  type ColumnDescription,
  type DescribeColumnsOptions,
  type DescribedColumn,
  describeColumns,
} from './logs/table/describe-columns.js';

// Runs: their load, their steady end, the work they lost.

export type { Finding } from './runs/finding.js';
export { type MakeRunOptions, makeRun, type RunColumns } from './runs/make-run.js';
export { type Gap, type Sampling, samplingOf } from './runs/quality/sampling.js';
export { quantumOf } from './runs/quantum.js';
export type { Conditions, PowerSample, Run, RunSamples } from './runs/run.js';
export { type LoadSegments, type LoadSegmentsOptions, loadSegments } from './runs/segments/load-segments.js';
export type {
  LimitedBy,
  LoadSegment,
  QuietSegment,
  RunSegment,
  SegmentSpan,
} from './runs/segments/run-segment.js';
export {
  type SteadyVerdict,
  type SteadyWindow,
  type SteadyWindowOptions,
  steadyWindow,
} from './runs/segments/steady-window.js';
export { groupRuns, type RunGroup } from './runs/select-runs.js';
export type { RunSlowdown, SlowdownCheck, SlowdownVerdict } from './runs/slowdown/slowdown.js';
export { checkSlowdown, type SlowdownCheckOptions } from './runs/slowdown/slowdown-check.js';

// Coolers: fit, ask, compare, check.

export { type BurstPower, type BurstPowerScenario, burstPower } from './thermal/burst/burst-power.js';
export type { BurstLimit } from './thermal/burst/burst-scenario.js';
export {
  type BurstSchedule,
  type BurstScheduleScenario,
  burstSchedule,
  type NoSchedule,
  type OnOff,
  type ScheduleWithoutPause,
  type SustainableSchedule,
} from './thermal/burst/burst-schedule.js';
export {
  type LimitAlreadyPassed,
  type LimitNeverReached,
  type LimitReached,
  type TimeToLimit,
  type TimeToLimitScenario,
  timeToLimit,
} from './thermal/burst/time-to-limit.js';
export {
  type BootstrapCoolerOptions,
  bootstrapCooler,
  type CoolerBootstrap,
} from './thermal/check/bootstrap.js';
export type { RefitSeriesOptions } from './thermal/check/refit-series.js';
export {
  type SimulationCheck,
  type SimulationCheckOptions,
  simulationCheck,
} from './thermal/check/simulation-check.js';
export { type CompareCoolersOptions, compareCoolers } from './thermal/compare/compare-coolers.js';
export type { ComparedCooler, CoolerComparison, CoolerPair } from './thermal/compare/cooler-comparison.js';
export { type EqualSound, fanSpeedAtSoundLevel, type SoundReference } from './thermal/compare/equal-sound.js';
export { coolerAtFanSpeed } from './thermal/cooler-at-fan-speed.js';
export {
  coolerFromSteadyPoints,
  type SteadyPoint,
  type SteadyPointsOptions,
} from './thermal/cooler-from-steady-points.js';
export type {
  CoolerModel,
  CoolerStage,
  EnclosureRise,
  LadderRung,
  OrderCandidate,
  ResistanceLaw,
  RunStart,
} from './thermal/cooler-model.js';
export { enclosureBetween, type MeasuredEnclosure } from './thermal/enclosure-between.js';
export {
  type FanCurve,
  fitFanCurve,
  resistanceAtFanSpeed,
  soundLevelAtFanSpeed,
} from './thermal/fan-curve.js';
export { type FitCoolerOptions, fitCooler } from './thermal/fit/fit-cooler.js';
export { type CoolerFit, fitOf } from './thermal/fit/fit-of.js';
export type { Forecast, SteadyForecast, TooEarlyForecast } from './thermal/forecast/forecast.js';
export { type ForecastSteadyOptions, forecastSteady } from './thermal/forecast/forecast-steady.js';
export { type FitCoolersOptions, fitCoolers } from './thermal/joint/fit-coolers.js';
export type { JointFit, SharedRung, SharingCandidate } from './thermal/joint/joint-fit.js';
export { ladderFromPoles, type Pole, polesOfLadder } from './thermal/ladder.js';
export { simulateTemperature, type TemperatureSimulation } from './thermal/simulate.js';
export { type LadderSimulation, simulateLadder } from './thermal/simulate-ladder.js';
export { resistanceAt, type SteadyScenario, steadyTemperature } from './thermal/steady-temperature.js';
export { type StageRow, stageTable } from './thermal/views/stage-table.js';
export { type StepResponse, type StepResponseOptions, stepResponse } from './thermal/views/step-response.js';
export {
  type RungIntervals,
  type StructureFunction,
  structureFunction,
} from './thermal/views/structure-function.js';

// Power against frequency.

export type { CurveVoltage, OffsetLoss } from './power/curve-voltage.js';
export type { CurveOptions } from './power/fit/build-curve.js';
export {
  type CurveAssumptions,
  DEFAULT_CURVE_ASSUMPTIONS,
  type RoughValue,
} from './power/fit/curve-assumptions.js';
export {
  curveFromSteadyPoints,
  type SteadyCurveOptions,
  type SteadyCurvePoint,
} from './power/fit/curve-from-steady-points.js';
export { type FitPowerCurveOptions, fitPowerCurve } from './power/fit/fit-power-curve.js';
export type {
  ThroughputCandidate,
  ThroughputForm,
  ThroughputPoint,
  ThroughputRelation,
} from './power/fit/throughput-relation.js';
export type {
  CurveCandidate,
  CurveDiscrepancy,
  CurvePoint,
  PointLimit,
  PowerCurve,
  PowerCurveForm,
  SlowedRun,
} from './power/power-curve.js';
export {
  type FrequencyAndTemperature,
  frequencyAt,
  type PowerAndTemperature,
  powerAt,
} from './power/predict/frequency-at.js';
export { type LeakagePoint, leakageSlopeWPerK } from './power/predict/leakage-slope.js';
export { throughputAt } from './power/predict/throughput-at.js';
export { type UndervoltOptions, undervolt } from './power/predict/undervolt.js';

// The cap: choose, weigh, shortlist, plan.

export type { CapChoice, ShortTermCap, WorthOfOneMore } from './cap/choose/cap-choice.js';
export { chooseCap } from './cap/choose/choose-cap.js';
export { createWhatIf, type WhatIf, type WhatIfAnswer, type WhatIfRefusal } from './cap/choose/what-if.js';
export { type CapFrontierOptions, capFrontier } from './cap/frontier/cap-frontier.js';
export type { CapFrontier, FrontierKnee, FrontierPoint } from './cap/frontier/frontier.js';
export { planNextRuns } from './cap/plan/plan-next-runs.js';
export type { PlanOptions } from './cap/plan/plan-options.js';
export type { CapKnowledge, PlannedRun, RunPlan, StopLogging } from './cap/plan/run-plan.js';
export type {
  CapObjective,
  CapScenario,
  DutyPhase,
  EnclosureOfScenario,
  FanOfScenario,
  SettledFan,
  SettledScenario,
  SettledSupply,
  SettledWorkload,
  ShortTermOfScenario,
  SoundAtFanSpeed,
  SupplyOfScenario,
  UncertainInput,
  VoltageOffsetOfScenario,
  WorkloadOfScenario,
} from './cap/scenario/cap-scenario.js';
export type { BindingConstraint } from './cap/setting/binding-constraint.js';
export type { CapSetting } from './cap/setting/prepared-cap.js';
export type { SettingEstimates } from './cap/setting/setting-estimates.js';
export {
  type HeldFrequencyScenario,
  type SteadyStateAtFrequency,
  steadyStateAtFrequency,
} from './cap/setting/steady-state-at-frequency.js';
export type {
  CoolerShortlist,
  CoolerVerdict,
  ShortlistEntry,
  ShortlistPlace,
} from './cap/shortlist/cooler-shortlist.js';
export { type ShortlistOptions, shortlistCoolers } from './cap/shortlist/shortlist-coolers.js';

// Wear: one schedule against another.

export {
  type AgeingAssumptions,
  type AssumedNumberName,
  type AssumedRange,
  DEFAULT_AGEING_ASSUMPTIONS,
  type UsedAssumption,
} from './wear/ageing-assumptions.js';
export {
  type ArrheniusComparison,
  arrheniusRatio,
  type CycleKind,
  type CyclingComparison,
  cyclingRatio,
} from './wear/ageing-laws.js';
export { type CountCyclesOptions, countCycles } from './wear/count-cycles.js';
export type { CycleCount, TemperatureCycle } from './wear/cycle-count.js';
export {
  type AgeingRatio,
  type AgeingSchedule,
  type AgeingSensitivity,
  type RelativeAgeing,
  relativeAgeing,
} from './wear/relative-ageing.js';
export type { TemperatureInput, TemperatureSeries } from './wear/temperature-series.js';

// Figures.

export type {
  Annotation,
  Axis,
  AxisStyle,
  Datum,
  Figure,
  FigureConfig,
  FigureTemplate,
  Font,
  IntervalBars,
  Layout,
  Shape,
  Trace,
} from './figures/figure.js';
export { type FigureOfCapChoiceOptions, figureOfCapChoice } from './figures/figure-of-cap-choice.js';
export { figureOfComparison } from './figures/figure-of-comparison.js';
export { figureOfCycles } from './figures/figure-of-cycles.js';
export { figureOfFit } from './figures/figure-of-fit.js';
export { figureOfForecast } from './figures/figure-of-forecast.js';
export { figureOfFrontier } from './figures/figure-of-frontier.js';
export { figureOfPowerCurve } from './figures/figure-of-power-curve.js';
export { type FigureOfRunOptions, figureOfRun } from './figures/figure-of-run.js';
export { figureOfShortlist } from './figures/figure-of-shortlist.js';
export { figureOfSlowdown } from './figures/figure-of-slowdown.js';
export { figureOfStepResponse } from './figures/figure-of-step-response.js';
export { figureOfStructureFunction } from './figures/figure-of-structure-function.js';
export { figureTemplate } from './figures/template.js';

// Tables, model files, pages.

export { loadModel } from './report/models/load-model.js';
export { type SavableModel, type SavableModels, saveModel } from './report/models/save-model.js';
export type { MathmlOfTex } from './report/page/light-markdown-inline.js';
export {
  type PlotlySource,
  type ReportItem,
  type ReportOptions,
  reportHtml,
} from './report/page/report-html.js';
export { type StillPictureOptions, stillPicture } from './report/still/still-picture.js';
export {
  type DanfoModule,
  type Frame,
  type FrameColumns,
  fromFrame,
  type PlainRow,
  toFrame,
} from './report/tables/frame.js';
export { type Table, type TableCell, type TableColumn, tableText } from './report/tables/table.js';
export { tableHtml } from './report/tables/table-html.js';
export { tableOfAgeing, tableOfAssumptions } from './report/tables/table-of-ageing.js';
export { tableOfChoices, tableOfNeighbours } from './report/tables/table-of-choices.js';
export { tableOfColumns } from './report/tables/table-of-columns.js';
export { tableOfComparison, tableOfPairs } from './report/tables/table-of-comparison.js';
export { tableOfCooler, tableOfCoolers } from './report/tables/table-of-cooler.js';
export { tableOfCurve } from './report/tables/table-of-curve.js';
export { tableOfCycles } from './report/tables/table-of-cycles.js';
export { tableOfFindings } from './report/tables/table-of-findings.js';
export { tableOfFrontier } from './report/tables/table-of-frontier.js';
export { tableOfOrders } from './report/tables/table-of-orders.js';
export { tableOfPlan } from './report/tables/table-of-plan.js';
export { tableOfRuns } from './report/tables/table-of-runs.js';
export { tableOfShortlist } from './report/tables/table-of-shortlist.js';
export { tableOfSlowdown } from './report/tables/table-of-slowdown.js';
export { tableOfStages } from './report/tables/table-of-stages.js';
export { tableOfStudy } from './report/tables/table-of-study.js';
