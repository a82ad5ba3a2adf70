import { inverse, Matrix } from 'ml-matrix';
import {
  minimizeSeparable,
  type SeparableMinimum,
} from '../../numerics/least-squares/separable-least-squares.js';
import { createWorkspace } from '../../numerics/workspace.js';
import type { FanInfluence } from '../fan-response.js';
import { createFitEvaluation } from './fit-evaluation.js';
import type { FitRecord } from './fit-record.js';
import {
  FAN_SHARE_START,
  type FitStructure,
  layoutParameters,
  linearCountOf,
  type ParameterLayout,
} from './fit-structure.js';
import { type CoarseSpectrum, clusterTimeConstants } from './starting-poles.js';

/** One candidate structure, fitted. */
export interface FittedCandidate {
  readonly structure: FitStructure;
  readonly layout: ParameterLayout;
  readonly minimum: SeparableMinimum;
  /** Fastest first. */
  readonly timeConstantsS: readonly number[];
  readonly resistancesKPerW: readonly number[];
  readonly sensorLagS?: number;
  readonly powerExponent: number;
  /** How the fan rules the slowest stage, where it does. */
  readonly fan?: FanInfluence;
  /** Modelled minus measured, K, all pieces of the record in order. */
  readonly residualsK: Float64Array;
  /** Weighted sum of squared residuals, without the priors' share. */
  readonly weightedSquares: number;
  /** Inverse of the Gram matrix: covariance of [nonlinear, linear] parameters where weights are inverse variances. */
  readonly inverseGram: Matrix;
  /** Why it cannot be chosen, if so. What it says of the total resistance still counts as one opinion. */
  readonly rejected?: string;
}

/** Neighbouring time constants closer than this ratio describe one stage, not two. */
const LEAST_POLE_RATIO = 1.6;

/** A time constant known no better than to a factor of e is not identified. */
const MOST_LOG_STANDARD_ERROR = 1;

/** A stage this many times slower than the longest run is not seen to settle … */
const MOST_RUN_LENGTHS = 1.2;
/** … and with less than this share of the total it is drift of the air or of the load, taken for heat. */
const DRIFT_SHARE = 0.3;

/** A stage with less than this share of the total resistance is not there. */
const LEAST_RESISTANCE_SHARE = 1e-3;

/** One candidate is fitted at a time, and what is kept of it is copied. */
const workspace = createWorkspace();

/**
 * Fits one candidate structure.
 *
 * Starts from the clusters of the coarse spectrum and from each simpler or earlier candidate with one time
 * constant added; the start with the lowest sum of squares is the one searched from.
 */
export function fitCandidate(
  record: FitRecord,
  structure: FitStructure,
  sampleWeights: Float64Array,
  spectrum: CoarseSpectrum,
  earlier: readonly FittedCandidate[],
): FittedCandidate {
  const layout = layoutParameters(record, structure);
  const evaluation = createFitEvaluation(record, structure, layout, sampleWeights, workspace);
  const starts = startingPoints(record, structure, layout, spectrum, earlier);
  let best = starts[0];
  let bestCost = Number.POSITIVE_INFINITY;
  if (starts.length > 1) {
    for (const start of starts) {
      const cost = evaluation.evaluate(start);
      if (cost < bestCost) {
        best = start;
        bestCost = cost;
      }
    }
  }
  let minimum = minimizeSeparable(evaluation, best);
  // The outermost stage carries the convection, so the order of the stages has a meaning: where two crossed during
  // the search it goes on from the sorted ones.
  const { stageCount } = structure;
  const sorted = minimum.parameters.slice();
  sorted.subarray(0, stageCount).sort();
  if (sorted.some((value, i) => value !== minimum.parameters[i]))
    minimum = minimizeSeparable(evaluation, sorted);

  const timeConstantsS = Array.from(minimum.parameters.subarray(0, stageCount), Math.exp);
  const resistancesKPerW = Array.from(minimum.linearParameters);
  const residualsK = evaluation.residualsK();
  let weightedSquares = 0;
  for (let i = 0; i < residualsK.length; i++) weightedSquares += sampleWeights[i] * residualsK[i] ** 2;
  const inverseGram = scaledInverse(evaluation.accumulate().gram, layout.count + linearCountOf(structure));
  workspace.release();
  const sensorLagS = layout.lagIndex < 0 ? undefined : Math.exp(minimum.parameters[layout.lagIndex]);
  const rejected = reasonToReject(record, minimum, layout, timeConstantsS, resistancesKPerW, inverseGram);
  return {
    structure,
    layout,
    minimum,
    timeConstantsS,
    resistancesKPerW,
    powerExponent:
      layout.exponentIndex < 0 ? structure.powerExponent : minimum.parameters[layout.exponentIndex],
    residualsK,
    weightedSquares,
    inverseGram,
    ...(sensorLagS === undefined ? {} : { sensorLagS }),
    ...(layout.fanIndex < 0 ? {} : { fan: fanOf(layout, minimum.parameters) }),
    ...(rejected === undefined ? {} : { rejected }),
  };
}

export function fanOf({ fanIndex }: ParameterLayout, parameters: Float64Array): FanInfluence {
  return { share: parameters[fanIndex], exponent: parameters[fanIndex + 1] };
}

/** Total resistance of a candidate, die to air, K/W. */
export function totalOf({ resistancesKPerW }: Pick<FittedCandidate, 'resistancesKPerW'>): number {
  return resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
}

function startingPoints(
  record: FitRecord,
  structure: FitStructure,
  layout: ParameterLayout,
  spectrum: CoarseSpectrum,
  earlier: readonly FittedCandidate[],
): Float64Array[] {
  const { stageCount, sensorLag } = structure;
  const unknowns = layout.names.join();
  const same = earlier.find((candidate) => candidate.layout.names.join() === unknowns);
  if (same !== undefined) return [same.minimum.parameters];

  const sets = [clusterTimeConstants(spectrum, stageCount)];
  for (const candidate of earlier) {
    const { timeConstantsS } = candidate;
    if (timeConstantsS.length === stageCount) sets.push([...timeConstantsS]);
    if (timeConstantsS.length === stageCount - 1) {
      const last = timeConstantsS[timeConstantsS.length - 1];
      sets.push([timeConstantsS[0] / 5, ...timeConstantsS], [...timeConstantsS, last * 4]);
      for (let k = 0; k + 1 < timeConstantsS.length; k++) {
        sets.push(timeConstantsS.toSpliced(k + 1, 0, Math.sqrt(timeConstantsS[k] * timeConstantsS[k + 1])));
      }
    }
  }
  const lags = sensorLag ? [1, 3, 9].map((steps) => steps * record.medianStepS) : [undefined];
  const latest = earlier[earlier.length - 1];
  return sets.flatMap((timeConstantsS) =>
    lags.map((lagS) => {
      const start = new Float64Array(layout.count);
      start.set(timeConstantsS.map(Math.log));
      if (lagS !== undefined) start[layout.lagIndex] = Math.log(lagS);
      for (const prior of layout.priors) start[prior.index] = prior.mean;
      if (layout.fanIndex >= 0) start[layout.fanIndex] = latest?.fan?.share ?? FAN_SHARE_START;
      layout.startIndices.forEach((first, p) => {
        const free = record.pieces[p].startKind === 'free';
        const power =
          latest === undefined || free
            ? spectrum.startPowersW[p]
            : latest.minimum.parameters[latest.layout.startIndices[p]];
        start.fill(power, first, first + (free ? stageCount : 1));
      });
      return start;
    }),
  );
}

/** Why a minimum cannot be chosen, if so. */
export function reasonToReject(
  record: FitRecord,
  minimum: SeparableMinimum,
  layout: ParameterLayout,
  timeConstantsS: readonly number[],
  resistancesKPerW: readonly number[],
  inverseGram: Matrix,
): string | undefined {
  if (!minimum.termination.converged) return `not converged: ${minimum.termination.message}`;
  const total = resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
  if (!(total > 0)) return 'the temperature does not rise with the power';
  // Where stages and starts cannot be told apart, the total is all that is asked of a candidate.
  if (record.pieces.every((piece) => piece.startKind === 'inseparable')) return undefined;
  if (resistancesKPerW.some((resistance) => resistance < LEAST_RESISTANCE_SHARE * total)) {
    return 'a stage has no resistance';
  }
  for (let k = 1; k < timeConstantsS.length; k++) {
    if (timeConstantsS[k] < LEAST_POLE_RATIO * timeConstantsS[k - 1]) return 'two time constants coincide';
  }
  const atBound = (index: number): boolean =>
    minimum.parameters[index] <= layout.lowerBounds[index] ||
    minimum.parameters[index] >= layout.upperBounds[index];
  for (let k = 0; k < timeConstantsS.length; k++) {
    if (atBound(k)) return 'a time constant is outside what the run can show';
    if (Math.sqrt(inverseGram.get(k, k)) > MOST_LOG_STANDARD_ERROR)
      return 'a time constant is not identifiable';
  }
  const slowest = timeConstantsS.length - 1;
  if (
    timeConstantsS[slowest] > MOST_RUN_LENGTHS * record.longestPieceS &&
    resistancesKPerW[slowest] < DRIFT_SHARE * total
  ) {
    return 'a small stage is slower than the run: drift, not heat';
  }
  if (layout.lagIndex >= 0 && atBound(layout.lagIndex))
    return 'the sensor lag is outside what the run can show';
  return undefined;
}

/** Inverse of a Gram matrix by singular values, its columns scaled to unit length first. */
export function scaledInverse(gram: Float64Array, width: number): Matrix {
  const scale = Array.from(
    { length: width },
    (_, a) => 1 / Math.sqrt(Math.max(gram[a * (width + 1)], Number.MIN_VALUE)),
  );
  const scaled = Matrix.zeros(width, width);
  for (let a = 0; a < width; a++) {
    for (let b = 0; b < width; b++) scaled.set(a, b, gram[a * width + b] * scale[a] * scale[b]);
  }
  const inverted = inverse(scaled, true);
  for (let a = 0; a < width; a++) {
    for (let b = 0; b < width; b++) inverted.set(a, b, inverted.get(a, b) * scale[a] * scale[b]);
  }
  return inverted;
}
