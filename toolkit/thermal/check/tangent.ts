import type { Matrix } from 'ml-matrix';
import { dotProduct } from '../../numerics/columns.js';
import { scaledInverse } from '../fit/fit-candidate.js';
import type { FitEvaluation } from '../fit/fit-evaluation.js';
import type { ParameterLayout } from '../fit/fit-structure.js';
import type { FitColumn } from '../fit/record-evaluation.js';

/** The model as it is near its own parameters: linear in them. */
export interface Tangent {
  /** Linear parameters of the model. */
  readonly resistancesKPerW: readonly number[];
  readonly rootWeights: Float64Array;
  readonly columns: readonly FitColumn[];
  /** Gradient of half the sum of squares that the priors have there, by nonlinear parameter. */
  readonly ofPriors: Float64Array;
  readonly priorCost: number;
  readonly inverseGram: Matrix;
}

/** The tangent of the problem at parameters that it was evaluated at last. */
export function tangentAt(
  evaluation: FitEvaluation,
  parameters: Float64Array,
  resistancesKPerW: readonly number[],
  { priors, count }: ParameterLayout,
  sampleWeights: Float64Array,
): Tangent {
  const { gram } = evaluation.accumulate();
  const ofPriors = new Float64Array(count);
  let priorCost = 0;
  for (const { index, mean, standardDeviation } of priors) {
    ofPriors[index] += (parameters[index] - mean) / standardDeviation ** 2;
    priorCost += ((parameters[index] - mean) / standardDeviation) ** 2;
  }
  return {
    resistancesKPerW,
    rootWeights: sampleWeights.map(Math.sqrt),
    columns: evaluation.columns(),
    ofPriors,
    priorCost,
    inverseGram: scaledInverse(gram, count + evaluation.linearCount),
  };
}

/** Where the model's tangent has its minimum for other temperatures. */
export interface TangentStep {
  readonly nonlinear: Float64Array;
  readonly linear: Float64Array;
  /** Whether that is inside all bounds. */
  readonly inside: boolean;
  /** Sum of squares at the model's own parameters, priors included, and by how much the tangent lowers it. */
  readonly costBefore: number;
  readonly promised: number;
}

/**
 * @param parameters - nonlinear ones, at which the tangent touches the model
 * @param residuals - of the model there, weighted: modelled minus other temperatures
 */
export function stepOnTangent(
  { resistancesKPerW, columns, ofPriors, priorCost, inverseGram }: Tangent,
  parameters: Float64Array,
  layout: ParameterLayout,
  residuals: Float64Array,
): TangentStep {
  const width = layout.count + resistancesKPerW.length;
  const gradient = new Float64Array(width);
  gradient.set(ofPriors);
  for (const { place, begin, values } of columns) {
    gradient[place] += dotProduct(values, residuals.subarray(begin), 0, values.length);
  }
  const nonlinear = parameters.slice();
  const linear = Float64Array.from(resistancesKPerW);
  let promised = 0;
  let inside = true;
  for (let a = 0; a < width; a++) {
    let step = 0;
    for (let b = 0; b < width; b++) step -= inverseGram.get(a, b) * gradient[b];
    promised -= step * gradient[a];
    if (a < layout.count) {
      nonlinear[a] += step;
      inside &&= nonlinear[a] > layout.lowerBounds[a] && nonlinear[a] < layout.upperBounds[a];
    } else {
      linear[a - layout.count] += step;
      inside &&= linear[a - layout.count] > 0;
    }
  }
  const costBefore = dotProduct(residuals, residuals, 0, residuals.length) + priorCost;
  return { nonlinear, linear, inside, costBefore, promised };
}
