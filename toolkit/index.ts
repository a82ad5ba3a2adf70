export type { CapChoice, ShortTermCap, WorthOfOneMore } from './cap/choose/cap-choice.js';
export { chooseCap } from './cap/choose/choose-cap.js';
export type { WhatIf, WhatIfAnswer, WhatIfRefusal } from './cap/choose/what-if.js';
export { createWhatIf } from './cap/choose/what-if.js';
export type { CapFrontierOptions } from './cap/frontier/cap-frontier.js';
export { CAP_FRONTIER_DEFAULTS, capFrontier } from './cap/frontier/cap-frontier.js';
export type { CapFrontier, FrontierKnee, FrontierPoint } from './cap/frontier/frontier.js';
export type { PlanOptions } from './cap/plan/plan-next-runs.js';
export { PLAN_DEFAULTS, planNextRuns } from './cap/plan/plan-next-runs.js';
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
export { CAP_DEFAULTS } from './cap/scenario/settle-scenario.js';
export type { BindingConstraint } from './cap/setting/binding-constraint.js';
export type { CapSetting } from './cap/setting/prepared-cap.js';
export type {
  HeldFrequencyScenario,
  SteadyStateAtFrequency,
} from './cap/setting/steady-state-at-frequency.js';
export { steadyStateAtFrequency } from './cap/setting/steady-state-at-frequency.js';
export type {
  CoolerShortlist,
  CoolerVerdict,
  ShortlistEntry,
  ShortlistPlace,
} from './cap/shortlist/cooler-shortlist.js';
export type { ShortlistOptions } from './cap/shortlist/shortlist-coolers.js';
export { shortlistCoolers } from './cap/shortlist/shortlist-coolers.js';
export type { ArgumentProblem } from './errors.js';
export { ArgumentError, NumericalError } from './errors.js';
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
export type { FigureOfCapChoiceOptions } from './figures/figure-of-cap-choice.js';
export { figureOfCapChoice } from './figures/figure-of-cap-choice.js';
export { figureOfComparison } from './figures/figure-of-comparison.js';
export { figureOfCycles } from './figures/figure-of-cycles.js';
export { figureOfFit } from './figures/figure-of-fit.js';
export { figureOfForecast } from './figures/figure-of-forecast.js';
export { figureOfFrontier } from './figures/figure-of-frontier.js';
export { figureOfPowerCurve } from './figures/figure-of-power-curve.js';
export type { FigureOfRunOptions } from './figures/figure-of-run.js';
export { figureOfRun } from './figures/figure-of-run.js';
export { figureOfShortlist } from './figures/figure-of-shortlist.js';
export { figureOfSlowdown } from './figures/figure-of-slowdown.js';
export { figureOfStepResponse } from './figures/figure-of-step-response.js';
export { figureOfStructureFunction } from './figures/figure-of-structure-function.js';
export { figureTemplate } from './figures/template.js';
export type { Delimiter } from './logs/cells/delimited-record.js';
export type { DateOrder } from './logs/cells/local-date.js';
export type { ConditionName } from './logs/conditions.js';
export { parseConditions, requireConditions } from './logs/conditions.js';
export type { LogIssue } from './logs/log-format-error.js';
export { LogFormatError } from './logs/log-format-error.js';
export type { ParsedRun, ParseRunOptions } from './logs/read/parse-run.js';
export { parseRun, safeParseRun } from './logs/read/parse-run.js';
export type { ParseRunStreamOptions, ReadingOptions } from './logs/read/parse-run-stream.js';
export { parseRunStream } from './logs/read/parse-run-stream.js';
export type { ParseRunsOptions } from './logs/read/parse-runs.js';
export { parseRuns } from './logs/read/parse-runs.js';
export type { Study, StudyDisagreement, StudyLog } from './logs/study/study.js';
export type {
  ColumnChoice,
  ColumnRole,
  CombinedColumns,
  CombineRule,
  UnitChoice,
} from './logs/table/column-rules.js';
export type {
  ColumnDescription,
  DescribeColumnsOptions,
  DescribedColumn,
} from './logs/table/describe-columns.js';
export { describeColumns } from './logs/table/describe-columns.js';
export type {
  CorrelatedMean,
  CorrelatedMeanOptions,
  CorrelatedSlope,
  IndependenceOptions,
} from './numerics/autocorrelation.js';
export {
  autocorrelations,
  meanWithAutocorrelation,
  samplesPerIndependentSample,
  slopeWithAutocorrelation,
  varianceRatioOfMean,
} from './numerics/autocorrelation.js';
export {
  chiSquareCdf,
  chiSquareQuantile,
  fisherFCdf,
  fisherFQuantile,
  normalCdf,
  normalQuantile,
  studentTCdf,
  studentTQuantile,
} from './numerics/distributions.js';
export type { VariancePart } from './numerics/effective-degrees-of-freedom.js';
export { effectiveDegreesOfFreedom } from './numerics/effective-degrees-of-freedom.js';
export type { Estimate, EstimatedNumber, UnavailableNumber, UnavailableReason } from './numerics/estimate.js';
export type { EstimatedOptions } from './numerics/estimates.js';
export { estimated, requireValue, unavailable } from './numerics/estimates.js';
export { formatEstimate, formatNumber, formatValue } from './numerics/format-estimate.js';
export { holmAdjustedPValues } from './numerics/holm.js';
export type { InformationCriterionInput } from './numerics/information-criterion.js';
export { aicc, akaikeWeights } from './numerics/information-criterion.js';
export type { IntervalCheck } from './numerics/interval-check.js';
export type {
  JacobianFunction,
  LeastSquaresOptions,
  LeastSquaresResult,
  LeastSquaresTolerances,
  ResidualFunction,
  Termination,
  TerminationReason,
} from './numerics/least-squares.js';
export { LEAST_SQUARES_TOLERANCES, leastSquares } from './numerics/least-squares.js';
export type { DistributionOptions, PropagatedDistribution } from './numerics/monte-carlo.js';
export { propagateDistributions } from './numerics/monte-carlo.js';
export { nonnegativeLeastSquares } from './numerics/nonnegative-least-squares.js';
export type { PropagatedUncertainty } from './numerics/propagation.js';
export { propagate } from './numerics/propagation.js';
export { quasiRandomPoints } from './numerics/quasi-random.js';
export type { RandomStream } from './numerics/random.js';
export { seededRandom } from './numerics/random.js';
export type { LinePoint, LineReading, WeightedLine } from './numerics/weighted-line.js';
export { inverseOfLine, lineAt, weightedLine } from './numerics/weighted-line.js';
export type { CurveVoltage, OffsetLoss } from './power/curve-voltage.js';
export type { CurveOptions } from './power/fit/build-curve.js';
export type { CurveAssumptions, RoughValue } from './power/fit/curve-assumptions.js';
export { DEFAULT_CURVE_ASSUMPTIONS } from './power/fit/curve-assumptions.js';
export type { SteadyCurveOptions, SteadyCurvePoint } from './power/fit/curve-from-steady-points.js';
export {
  curveFromSteadyPoints,
  DEFAULT_STEADY_POINT_UNCERTAINTY,
} from './power/fit/curve-from-steady-points.js';
export type { FitPowerCurveOptions } from './power/fit/fit-power-curve.js';
export { FIT_POWER_CURVE_DEFAULTS, fitPowerCurve } from './power/fit/fit-power-curve.js';
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
export type { FrequencyAndTemperature, PowerAndTemperature } from './power/predict/frequency-at.js';
export { frequencyAt, frequencyFunction, powerAt } from './power/predict/frequency-at.js';
export type { LeakagePoint } from './power/predict/leakage-slope.js';
export { leakageSlopeWPerK } from './power/predict/leakage-slope.js';
export { throughputAt, throughputFunction } from './power/predict/throughput-at.js';
export type { UndervoltOptions } from './power/predict/undervolt.js';
export { undervolt } from './power/predict/undervolt.js';
export { loadModel } from './report/models/load-model.js';
export type { SavableModel, SavableModels } from './report/models/save-model.js';
export { saveModel } from './report/models/save-model.js';
export type { MathmlOfTex } from './report/page/light-markdown-inline.js';
export type { PlotlySource, ReportItem, ReportOptions } from './report/page/report-html.js';
export { reportHtml } from './report/page/report-html.js';
export type { StillPictureOptions } from './report/still/still-picture.js';
export { stillPicture } from './report/still/still-picture.js';
export type { DanfoModule, Frame, FrameColumns, PlainRow } from './report/tables/frame.js';
export { fromFrame, toFrame } from './report/tables/frame.js';
export type { Table, TableCell, TableColumn } from './report/tables/table.js';
export { tableText } from './report/tables/table.js';
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
export { tableOfPlan } from './report/tables/table-of-plan.js';
export { tableOfRuns } from './report/tables/table-of-runs.js';
export { tableOfShortlist } from './report/tables/table-of-shortlist.js';
export { tableOfSlowdown } from './report/tables/table-of-slowdown.js';
export { tableOfStudy } from './report/tables/table-of-study.js';
export type { ConditionSchema } from './runs/conditions-schema.js';
export { conditionsSchema } from './runs/conditions-schema.js';
export type { Finding } from './runs/finding.js';
export type { MakeRunOptions, RunColumns } from './runs/make-run.js';
export { makeRun } from './runs/make-run.js';
export type { Gap, Sampling } from './runs/quality/sampling.js';
export { samplingOf } from './runs/quality/sampling.js';
export { quantumOf } from './runs/quantum.js';
export type { Conditions, PowerSample, Run, RunSamples } from './runs/run.js';
export type { LoadSegments, LoadSegmentsOptions } from './runs/segments/load-segments.js';
export { loadSegments } from './runs/segments/load-segments.js';
export type {
  LimitedBy,
  LoadSegment,
  QuietSegment,
  RunSegment,
  SegmentSpan,
} from './runs/segments/run-segment.js';
export type { SteadyVerdict, SteadyWindow, SteadyWindowOptions } from './runs/segments/steady-window.js';
export { STEADY_WINDOW_DEFAULTS, steadyWindow } from './runs/segments/steady-window.js';
export type { RunGroup } from './runs/select-runs.js';
export { groupRuns } from './runs/select-runs.js';
export type { RunSlowdown, SlowdownCheck, SlowdownVerdict } from './runs/slowdown/slowdown.js';
export type { SlowdownCheckOptions } from './runs/slowdown/slowdown-check.js';
export { checkSlowdown, SLOWDOWN_CHECK_DEFAULTS } from './runs/slowdown/slowdown-check.js';
export type { BurstPower, BurstPowerScenario } from './thermal/burst/burst-power.js';
export { burstPower } from './thermal/burst/burst-power.js';
export type { BurstLimit } from './thermal/burst/burst-scenario.js';
export type {
  BurstSchedule,
  BurstScheduleScenario,
  NoSchedule,
  OnOff,
  ScheduleWithoutPause,
  SustainableSchedule,
} from './thermal/burst/burst-schedule.js';
export { burstSchedule } from './thermal/burst/burst-schedule.js';
export type {
  LimitAlreadyPassed,
  LimitNeverReached,
  LimitReached,
  TimeToLimit,
  TimeToLimitScenario,
} from './thermal/burst/time-to-limit.js';
export { timeToLimit } from './thermal/burst/time-to-limit.js';
export type { BootstrapCoolerOptions, CoolerBootstrap } from './thermal/check/bootstrap.js';
export { bootstrapCooler } from './thermal/check/bootstrap.js';
export type { RefitSeriesOptions } from './thermal/check/refit-series.js';
export type { SimulationCheck, SimulationCheckOptions } from './thermal/check/simulation-check.js';
export { simulationCheck } from './thermal/check/simulation-check.js';
export type { CompareCoolersOptions } from './thermal/compare/compare-coolers.js';
export { COMPARE_COOLERS_DEFAULTS, compareCoolers } from './thermal/compare/compare-coolers.js';
export type { ComparedCooler, CoolerComparison, CoolerPair } from './thermal/compare/cooler-comparison.js';
export type { EqualSound, SoundReference } from './thermal/compare/equal-sound.js';
export { fanSpeedAtSoundLevel } from './thermal/compare/equal-sound.js';
export { coolerAtFanSpeed } from './thermal/cooler-at-fan-speed.js';
export type { SteadyPoint, SteadyPointsOptions } from './thermal/cooler-from-steady-points.js';
export { coolerFromSteadyPoints, STEADY_POINT_UNCERTAINTY_K } from './thermal/cooler-from-steady-points.js';
export type {
  CoolerModel,
  CoolerStage,
  EnclosureRise,
  LadderRung,
  OrderCandidate,
  ResistanceLaw,
  RunStart,
} from './thermal/cooler-model.js';
export type { MeasuredEnclosure } from './thermal/enclosure-between.js';
export { enclosureBetween } from './thermal/enclosure-between.js';
export type { FanCurve } from './thermal/fan-curve.js';
export { fitFanCurve, resistanceAtFanSpeed, soundLevelAtFanSpeed } from './thermal/fan-curve.js';
export type { FitCoolerOptions } from './thermal/fit/fit-cooler.js';
export { FIT_COOLER_DEFAULTS, fitCooler } from './thermal/fit/fit-cooler.js';
export type { FitCoolersOptions } from './thermal/fit/fit-coolers.js';
export { fitCoolers } from './thermal/fit/fit-coolers.js';
export type { CoolerFit } from './thermal/fit/fit-of.js';
export { fitOf } from './thermal/fit/fit-of.js';
export type { JointFit, SharedRung, SharingCandidate } from './thermal/fit/joint-fit.js';
export type {
  Forecast,
  ForecastSteadyDefaults,
  ForecastSteadyOptions,
  SteadyForecast,
  TooEarlyForecast,
} from './thermal/forecast/forecast-steady.js';
export { FORECAST_DEFAULTS, forecastSteady } from './thermal/forecast/forecast-steady.js';
export type { Pole } from './thermal/ladder.js';
export { ladderFromPoles, polesOfLadder } from './thermal/ladder.js';
export type { TemperatureSimulation } from './thermal/simulate.js';
export { simulateTemperature } from './thermal/simulate.js';
export type { LadderSimulation } from './thermal/simulate-ladder.js';
export { simulateLadder } from './thermal/simulate-ladder.js';
export type { SteadyScenario } from './thermal/steady-temperature.js';
export { resistanceAt, steadyTemperature } from './thermal/steady-temperature.js';
export type { StageRange, StageRow } from './thermal/views/stage-table.js';
export { STAGE_RANGES, stageTable } from './thermal/views/stage-table.js';
export type { StepResponse, StepResponseOptions } from './thermal/views/step-response.js';
export { stepResponse } from './thermal/views/step-response.js';
export type { RungIntervals, StructureFunction } from './thermal/views/structure-function.js';
export { structureFunction } from './thermal/views/structure-function.js';
export type { SuffixMeaning } from './units/suffixes.js';
export { UNIT_SUFFIXES } from './units/suffixes.js';
export type { UnitPair } from './units/units.js';
export { convertUnit } from './units/units.js';
export type {
  AgeingAssumptions,
  AssumedNumberName,
  AssumedRange,
  UsedAssumption,
} from './wear/ageing-assumptions.js';
export { DEFAULT_AGEING_ASSUMPTIONS } from './wear/ageing-assumptions.js';
export type { ArrheniusComparison, CycleKind, CyclingComparison } from './wear/ageing-laws.js';
export { arrheniusRatio, BOLTZMANN_EV_PER_K, cyclingRatio } from './wear/ageing-laws.js';
export type { CountCyclesOptions } from './wear/count-cycles.js';
export { COUNT_CYCLES_DEFAULTS, countCycles } from './wear/count-cycles.js';
export type { CycleCount, TemperatureCycle } from './wear/cycle-count.js';
export type {
  AgeingRatio,
  AgeingSchedule,
  AgeingSensitivity,
  RelativeAgeing,
} from './wear/relative-ageing.js';
export { relativeAgeing } from './wear/relative-ageing.js';
export type { TemperatureInput, TemperatureSeries } from './wear/temperature-series.js';
