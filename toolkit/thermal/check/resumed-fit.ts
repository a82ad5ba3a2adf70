import type { Matrix } from 'ml-matrix';
import { ArgumentError } from '../../errors.js';
import { minimizeSeparable } from '../../numerics/least-squares/separable-least-squares.js';
import { seededRandom } from '../../numerics/random.js';
import { createWorkspace } from '../../numerics/workspace.js';
import { requireSamples } from '../../runs/require-samples.js';
import type { Run } from '../../runs/run.js';
import type { CoolerModel } from '../cooler-model.js';
import { scaledInverse } from '../fit/fit-candidate.js';
import { weightsOf } from '../fit/fit-candidates.js';
import { createFitEvaluation, type FitEvaluation } from '../fit/fit-evaluation.js';
import { fitOf } from '../fit/fit-of.js';
import { type FitRecord, NOMINAL_AIR_C, recordOfRuns } from '../fit/fit-record.js';
import { type FitStructure, layoutParameters, type ParameterLayout } from '../fit/fit-structure.js';
import { type ResidualNoise, residualNoise } from '../fit/residual-correlation.js';
import { spikeMask } from '../fit/spikes.js';
import { requireStages } from '../require-stages.js';
import { stepOnTangent, type Tangent, type TangentStep, tangentAt } from './tangent.js';

/** The fit behind a model, taken up again: what refits of other temperatures on the same record start from. */
export interface ResumedFit {
  readonly record: FitRecord;
  readonly structure: FitStructure;
  readonly layout: ParameterLayout;
  /** Nonlinear parameters of the model. */
  readonly parameters: Float64Array;
  /** What the model gives for the rise of each sample, K, all pieces in order. */
  readonly modelledRiseK: Float64Array;
  /** Measured minus modelled, K. */
  readonly residualsK: Float64Array;
  /** 0 for samples without weight, else 1. */
  readonly mask: Float64Array;
  readonly noise: ResidualNoise;
  readonly sampleWeights: Float64Array;
  readonly tangent: Tangent;
  /** By how much the tangent is wrong under noise like the run's own: root mean square, as a share of what it promises. */
  readonly tangentErrorRatio: number;
}

/** One refit, at other temperatures. */
export interface Refit {
  /** Fastest first. */
  readonly timeConstantsS: readonly number[];
  readonly resistancesKPerW: readonly number[];
  readonly sensorLagS?: number;
  readonly powerExponent: number;
  readonly converged: boolean;
}

/** What a refit leaves over, and the shape of its covariance. */
export interface RefitRest {
  /** Modelled minus measured, K. */
  readonly residualsK: Float64Array;
  /** Of [nonlinear, linear] parameters, where the weights are inverse variances. */
  readonly inverseGram: Matrix;
}

/** One refit is done at a time, and what is kept of it is copied. */
const workspace = createWorkspace();

/**
 * @param runs - the runs the model was fitted from, in the same order
 * @throws ArgumentError if they are not, or the model has no stages
 */
export function resumeFit(model: CoolerModel, runs: readonly Run[], caller: string): ResumedFit {
  const { timeConstantsS, resistancesKPerW, sensorLagS, airTimeConstantS } = requireStages(model, caller);
  requireRunsOf(model, runs, caller);
  runs.forEach((run, j) => {
    requireSamples(run, caller, `runs[${j}]`);
  });
  const { fanCurve } = model;
  const record = recordOfRuns(
    runs,
    airTimeConstantS,
    fanCurve === undefined ? {} : { referenceFanSpeedRpm: fanCurve.referenceFanSpeedRpm },
  );
  requireStartsOf(model, record, caller);
  const { powerExponent, exponentSource, atPowerW } = model.resistanceLaw;
  const structure: FitStructure = {
    stageCount: timeConstantsS.length,
    sensorLag: sensorLagS !== undefined,
    fitExponent: exponentSource === 'fitted',
    powerExponent,
    atPowerW,
    fan: fanCurve !== undefined,
  };
  const layout = layoutParameters(record, structure);
  const parameters = new Float64Array(layout.count);
  parameters.set(timeConstantsS.map(Math.log));
  if (sensorLagS !== undefined) parameters[layout.lagIndex] = Math.log(sensorLagS);
  if (layout.exponentIndex >= 0) parameters[layout.exponentIndex] = powerExponent;
  if (fanCurve !== undefined) {
    const slowestKPerW = resistancesKPerW[resistancesKPerW.length - 1];
    parameters[layout.fanIndex] = fanCurve.convectionKPerW / slowestKPerW;
    parameters[layout.fanIndex + 1] = fanCurve.fanSpeedExponent;
  }
  const residualsK = new Float64Array(record.sampleCount);
  const modelledRiseK = new Float64Array(record.sampleCount);
  const fits = runs.map((run) => fitOf(model, run));
  record.pieces.forEach((piece, p) => {
    const start = model.starts[p];
    const { mountIndex, runIndex, firstIndex, offset, riseK } = piece;
    parameters.set(start.startPowerW, layout.startIndices[p]);
    if (layout.mountIndex >= 0 && mountIndex < record.mounts.length - 1)
      parameters[layout.mountIndex + mountIndex] = Math.log(start.mountFactor);
    if (start.ambientC !== undefined)
      parameters[layout.ambientIndices[runIndex]] = start.ambientC - NOMINAL_AIR_C;
    for (let i = 0; i < riseK.length; i++) {
      residualsK[offset + i] = fits[runIndex].residualK[firstIndex + i];
      modelledRiseK[offset + i] = riseK[i] - residualsK[offset + i];
    }
  });
  const mask = spikeMask(record, residualsK);
  const noise = residualNoise(record, residualsK, mask);
  const sampleWeights = weightsOf(record, noise, mask);
  const evaluation = createFitEvaluation(record, structure, layout, sampleWeights, workspace);
  evaluation.evaluate(parameters);
  const fit = {
    record,
    structure,
    layout,
    parameters,
    modelledRiseK,
    residualsK,
    mask,
    noise,
    sampleWeights,
    tangent: tangentAt(evaluation, parameters, resistancesKPerW, layout, sampleWeights),
  };
  workspace.release();
  return { ...fit, tangentErrorRatio: tangentErrorRatioOf(fit) };
}

/** Trials that find out how far the tangent holds, and the seed of their noise: the same whatever is refitted later. */
const TRIAL_COUNT = 24;
const TRIAL_SEED = 20;

function tangentErrorRatioOf(fit: Omit<ResumedFit, 'tangentErrorRatio'>): number {
  const { record, modelledRiseK, noise } = fit;
  const random = seededRandom(TRIAL_SEED);
  const riseK = new Float64Array(record.sampleCount);
  let squares = 0;
  for (let trial = 0; trial < TRIAL_COUNT; trial++) {
    for (const { runIndex, offset, stepS } of record.pieces) {
      for (let i = offset; i < offset + stepS.length; i++)
        riseK[i] = modelledRiseK[i] + noise.runRmsK[runIndex] * random.normal();
    }
    const step = stepTowards(fit, riseK);
    const gained = step.costBefore - evaluationOf(fit, riseK).evaluate(step.nonlinear);
    workspace.release();
    squares += step.inside ? ((step.promised - gained) / step.promised) ** 2 : 1;
  }
  return Math.sqrt(squares / TRIAL_COUNT);
}

/** By how much the noise is larger than the residuals: the fit has taken up a part of it. */
export function hiddenNoiseRatio({ record, layout, structure, noise }: ResumedFit): number {
  const independentCount = record.sampleCount / noise.samplesPerIndependentSample;
  return Math.sqrt(independentCount / Math.max(1, independentCount - layout.count - structure.stageCount));
}

/** Fits the same structure, from the model's parameters on, to other temperatures; the rest only if it is asked for. */
export function refit(fit: ResumedFit, riseK: Float64Array): Refit;
export function refit(fit: ResumedFit, riseK: Float64Array, rest: 'with-rest'): Refit & RefitRest;
export function refit(fit: ResumedFit, riseK: Float64Array, rest?: 'with-rest'): Refit & Partial<RefitRest> {
  const { structure, layout } = fit;
  const step = stepTowards(fit, riseK);
  if (rest === undefined && isTangentEnough(fit, step)) {
    workspace.release();
    return refitOf(fit, step.nonlinear, step.linear, true);
  }
  const evaluation = evaluationOf(fit, riseK);
  const { parameters, converged } = nearestMinimum(fit, step, evaluation);
  const left =
    rest === undefined
      ? {}
      : {
          residualsK: evaluation.residualsK(),
          inverseGram: scaledInverse(evaluation.accumulate().gram, layout.count + structure.stageCount),
        };
  workspace.release();
  return { ...refitOf(fit, parameters, evaluation.linearParameters, converged), ...left };
}

function evaluationOf(
  { record, structure, layout, sampleWeights }: Omit<ResumedFit, 'tangentErrorRatio'>,
  riseK: Float64Array,
): FitEvaluation {
  const pieces = record.pieces.map((piece) => ({
    ...piece,
    riseK: riseK.subarray(piece.offset, piece.offset + piece.riseK.length),
  }));
  return createFitEvaluation({ ...record, pieces }, structure, layout, sampleWeights, workspace);
}

function refitOf(
  { structure, layout }: ResumedFit,
  nonlinear: Float64Array,
  linear: ArrayLike<number>,
  converged: boolean,
): Refit {
  const stages = Array.from({ length: structure.stageCount }, (_, k) => ({
    timeConstantS: Math.exp(nonlinear[k]),
    resistanceKPerW: linear[k],
  })).sort((a, b) => a.timeConstantS - b.timeConstantS);
  return {
    timeConstantsS: stages.map(({ timeConstantS }) => timeConstantS),
    resistancesKPerW: stages.map(({ resistanceKPerW }) => resistanceKPerW),
    ...(layout.lagIndex < 0 ? {} : { sensorLagS: Math.exp(nonlinear[layout.lagIndex]) }),
    powerExponent: layout.exponentIndex < 0 ? structure.powerExponent : nonlinear[layout.exponentIndex],
    converged,
  };
}

/** The step on the model's tangent to other temperatures. */
function stepTowards(
  { parameters, layout, modelledRiseK, tangent }: Omit<ResumedFit, 'tangentErrorRatio'>,
  riseK: Float64Array,
): TangentStep {
  const residuals = workspace.take(riseK.length);
  for (let i = 0; i < riseK.length; i++)
    residuals[i] = tangent.rootWeights[i] * (modelledRiseK[i] - riseK[i]);
  return stepOnTangent(tangent, parameters, layout, residuals);
}

/**
 * A further gain of this share of the sum of squares would move parameters by some hundredths of their standard errors:
 * nothing beside the scatter of refits.
 */
const NEGLIGIBLE_GAIN = 1e-7;

/**
 * Where the sum of squares falls by another amount than the tangent promised, what is left to gain is about the square of
 * the difference over the promise. Where that does not matter for noise like the run's own, the step is the refit, and the
 * model itself is not computed again.
 */
function isTangentEnough({ tangentErrorRatio }: ResumedFit, step: TangentStep): boolean {
  const { inside, promised, costBefore } = step;
  return inside && tangentErrorRatio ** 2 * promised < NEGLIGIBLE_GAIN * (costBefore - promised);
}

/** The minimum next to the model's own parameters: the step on the tangent, if it holds what it promised, or a search. */
function nearestMinimum(
  { parameters }: ResumedFit,
  { nonlinear, inside, costBefore, promised }: TangentStep,
  evaluation: FitEvaluation,
): { readonly parameters: Float64Array; readonly converged: boolean } {
  if (inside) {
    const cost = evaluation.evaluate(nonlinear);
    const left = (promised - (costBefore - cost)) ** 2 / promised;
    if (left < NEGLIGIBLE_GAIN * cost) return { parameters: nonlinear, converged: true };
  }
  const found = minimizeSeparable(evaluation, parameters);
  return { parameters: found.parameters, converged: found.termination.converged };
}

function requireRunsOf(model: CoolerModel, runs: readonly Run[], caller: string): void {
  const labels = runs.map((run) => run.label);
  if (labels.length === model.runLabels.length && labels.every((label, i) => label === model.runLabels[i]))
    return;
  throw new ArgumentError({
    caller,
    argument: 'runs',
    expected: `the runs the model was fitted from, in the same order (${model.runLabels.join(', ')})`,
    received: labels.join(', '),
  });
}

/** Runs of the same names but other samples would be cut elsewhere. */
function requireStartsOf(model: CoolerModel, { pieces }: FitRecord, caller: string): void {
  const same =
    pieces.length === model.starts.length &&
    pieces.every(({ firstIndex }, p) => firstIndex === model.starts[p].firstIndex);
  if (same) return;
  throw new ArgumentError({
    caller,
    argument: 'runs',
    expected: 'the runs the model was fitted from, unchanged',
    received: 'runs with gaps at other places',
    remedy: 'fit them with fitCooler first',
  });
}
