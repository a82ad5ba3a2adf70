export type { ArgumentProblem } from './errors.js';
export { ArgumentError, NumericalError } from './errors.js';
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
export type { Estimate, EstimatedNumber, UnavailableNumber, UnavailableReason } from './numerics/estimate.js';
export type { EstimatedOptions } from './numerics/estimates.js';
export { estimated, unavailable } from './numerics/estimates.js';
export type { InformationCriterionInput } from './numerics/information-criterion.js';
export { aicc, akaikeWeights } from './numerics/information-criterion.js';
export type {
  JacobianFunction,
  LeastSquaresOptions,
  LeastSquaresResult,
  LeastSquaresTolerances,
  ResidualFunction,
  Termination,
  TerminationReason,
} from './numerics/least-squares.js';
export { defaultTolerances, leastSquares } from './numerics/least-squares.js';
export type { DistributionOptions, PropagatedDistribution } from './numerics/monte-carlo.js';
export { propagateDistributions } from './numerics/monte-carlo.js';
export { nonnegativeLeastSquares } from './numerics/nonnegative-least-squares.js';
export type { PropagatedUncertainty } from './numerics/propagation.js';
export { propagate } from './numerics/propagation.js';
export { quasiRandomPoints } from './numerics/quasi-random.js';
export type { RandomStream } from './numerics/random.js';
export { seededRandom } from './numerics/random.js';
export type { Finding } from './runs/finding.js';
export type { Conditions, PowerSample, Run, RunSamples } from './runs/run.js';
export type {
  CoolerModel,
  CoolerStage,
  EnclosureRise,
  LadderRung,
  OrderCandidate,
  ResistanceLaw,
} from './thermal/cooler-model.js';
export type { CurveCandidate, PowerCurve, PowerCurveForm } from './power/power-curve.js';
export type { CapChoice, CapScenario, UncertainInput } from './cap/cap-choice.js';
