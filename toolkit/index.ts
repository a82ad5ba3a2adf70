export type { ArgumentProblem } from './errors.js';
export { ArgumentError, NumericalError } from './errors.js';
export type { Estimate, EstimatedNumber, UnavailableNumber, UnavailableReason } from './numerics/estimate.js';
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
