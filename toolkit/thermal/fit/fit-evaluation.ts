import { nonnegativeLeastSquares } from '../../numerics/least-squares/nonnegative-least-squares.js';
import type { SeparableProblem } from '../../numerics/least-squares/separable-least-squares.js';
import { createWorkspace, type Workspace } from '../../numerics/workspace.js';
import type { FitRecord } from './fit-record.js';
import { addPriors, costOfPriors, type FitStructure, type ParameterLayout } from './fit-structure.js';
import { createRecordEvaluation, type FitColumn } from './record-evaluation.js';

/**
 * The separable least-squares problem of one candidate: for given nonlinear parameters the resistances rₖ ≥ 0
 * follow from a small linear problem, and what is left to minimise depends on the nonlinear ones alone
 * (variable projection [GolubPereyra1973], with Kaufman's simplification of the Jacobian [Kaufman1975]).
 * `RecordModel` states the model.
 */
export interface FitEvaluation extends SeparableProblem {
  /** Modelled minus measured at the last `evaluate`, K, of all pieces in order; newly allocated. */
  residualsK(): Float64Array;
  /** The derivatives behind `accumulate`, without the priors; newly allocated. */
  columns(): readonly FitColumn[];
}

export function createFitEvaluation(
  record: FitRecord,
  structure: FitStructure,
  layout: ParameterLayout,
  sampleWeights: Float64Array,
  workspace: Workspace = createWorkspace(),
): FitEvaluation {
  const evaluation = createRecordEvaluation(record, structure, layout, sampleWeights, workspace);
  const { nonlinearCount, linearCount } = evaluation;
  const current = new Float64Array(nonlinearCount);
  const linearParameters = new Float64Array(linearCount);
  return {
    nonlinearCount,
    linearCount,
    linearParameters,
    lowerBounds: layout.lowerBounds,
    upperBounds: layout.upperBounds,
    evaluate(parameters) {
      current.set(parameters);
      const { gram, products } = evaluation.respond(parameters);
      nonnegativeLeastSquares(gram, products, linearParameters);
      return evaluation.settle(linearParameters) + costOfPriors(layout.priors, current);
    },
    accumulate() {
      const equations = evaluation.accumulate();
      addPriors(layout.priors, current, equations, nonlinearCount + linearCount);
      return equations;
    },
    columns: () => evaluation.columns(),
    residualsK: () => evaluation.residualsK(),
  };
}
