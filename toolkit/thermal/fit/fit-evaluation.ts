import { nonnegativeLeastSquares } from '../../numerics/nonnegative-least-squares.js';
import type { SeparableProblem } from '../../numerics/separable-least-squares.js';
import { createWorkspace, type Workspace } from '../../numerics/workspace.js';
import type { FitRecord } from './fit-record.js';
import { type FitStructure, type ParameterLayout, type Prior, resistanceCountOf } from './fit-structure.js';
import { createRecordEvaluation, type FitColumn } from './record-evaluation.js';

/** A record in a fit: what is fitted to it, and where its parameters stand among those of the whole fit. */
export interface FitMember {
  readonly record: FitRecord;
  readonly structure: FitStructure;
  readonly layout: ParameterLayout;
  readonly sampleWeights: Float64Array;
  /** Place of each of its nonlinear parameters, and of each of its resistances, among those of the fit. */
  readonly places: { readonly nonlinear: readonly number[]; readonly linear: readonly number[] };
}

/** The parameters of a whole fit. */
export interface FitParameterSpace {
  readonly nonlinearCount: number;
  readonly linearCount: number;
  readonly lowerBounds: Float64Array;
  readonly upperBounds: Float64Array;
  readonly priors: readonly Prior[];
}

/**
 * The separable least-squares problem of one candidate: for given nonlinear parameters the resistances rₖ ≥ 0
 * follow from a small linear problem, and what is left to minimise depends on the nonlinear ones alone
 * (variable projection [GolubPereyra1973], with Kaufman's simplification of the Jacobian [Kaufman1975]).
 *
 * A fit of several records is the sum of theirs, with some parameters in common: records of several coolers on one
 * processor, of one cooler on the bench and in an enclosure. `createRecordEvaluation` states the model.
 */
export interface FitEvaluation extends SeparableProblem {
  /** Modelled minus measured at the last `evaluate`, K, of all pieces of a member in order; newly allocated. */
  residualsK(member?: number): Float64Array;
  /** The derivatives behind `accumulate` of the first member, without the priors; newly allocated. */
  columns(): readonly FitColumn[];
}

/** The problem of one record on its own. */
export function createFitEvaluation(
  record: FitRecord,
  structure: FitStructure,
  layout: ParameterLayout,
  sampleWeights: Float64Array,
  workspace: Workspace = createWorkspace(),
): FitEvaluation {
  const linearCount = resistanceCountOf(structure);
  const places = {
    nonlinear: Array.from({ length: layout.count }, (_, i) => i),
    linear: Array.from({ length: linearCount }, (_, k) => k),
  };
  const space = { ...layout, nonlinearCount: layout.count, linearCount };
  return createJointEvaluation([{ record, structure, layout, sampleWeights, places }], space, workspace);
}

/** The problem of several records with parameters in common. */
export function createJointEvaluation(
  members: readonly FitMember[],
  space: FitParameterSpace,
  workspace: Workspace = createWorkspace(),
): FitEvaluation {
  const { nonlinearCount, linearCount, lowerBounds, upperBounds, priors } = space;
  const width = nonlinearCount + linearCount;
  const parts = members.map(({ record, structure, layout, sampleWeights, places }) => ({
    evaluation: createRecordEvaluation(record, structure, layout, sampleWeights, workspace),
    parameters: new Float64Array(places.nonlinear.length),
    resistances: new Float64Array(places.linear.length),
    places,
    all: [...places.nonlinear, ...places.linear.map((place) => nonlinearCount + place)],
  }));
  const current = new Float64Array(nonlinearCount);
  const linearParameters = new Float64Array(linearCount);
  const linearGram = new Float64Array(linearCount * linearCount);
  const linearProducts = new Float64Array(linearCount);
  const gram = new Float64Array(width * width);
  const gradient = new Float64Array(width);

  return {
    nonlinearCount,
    linearCount,
    linearParameters,
    lowerBounds,
    upperBounds,

    evaluate(vector) {
      current.set(vector);
      linearGram.fill(0);
      linearProducts.fill(0);
      for (const { evaluation, parameters, places } of parts) {
        gather(parameters, current, places.nonlinear);
        const equations = evaluation.respond(parameters);
        scatterVector(linearProducts, equations.products, places.linear);
        scatterMatrix(linearGram, linearCount, equations.gram, places.linear);
      }
      nonnegativeLeastSquares(linearGram, linearProducts, linearParameters);
      let cost = 0;
      for (const { evaluation, resistances, places } of parts) {
        gather(resistances, linearParameters, places.linear);
        cost += evaluation.settle(resistances);
      }
      for (const { index, mean, standardDeviation } of priors)
        cost += ((current[index] - mean) / standardDeviation) ** 2;
      return cost;
    },

    accumulate() {
      gram.fill(0);
      gradient.fill(0);
      for (const { evaluation, all } of parts) {
        const equations = evaluation.accumulate();
        scatterVector(gradient, equations.gradient, all);
        scatterMatrix(gram, width, equations.gram, all);
      }
      for (const { index, mean, standardDeviation } of priors) {
        const precision = 1 / standardDeviation ** 2;
        gram[index * (width + 1)] += precision;
        gradient[index] += precision * (current[index] - mean);
      }
      return { gram, gradient };
    },

    columns: () => parts[0].evaluation.columns(),
    residualsK: (member = 0) => parts[member].evaluation.residualsK(),
  };
}

function gather(into: Float64Array, from: Float64Array, places: readonly number[]): void {
  for (let i = 0; i < places.length; i++) into[i] = from[places[i]];
}

function scatterVector(into: Float64Array, from: Float64Array, places: readonly number[]): void {
  for (let i = 0; i < places.length; i++) into[places[i]] += from[i];
}

function scatterMatrix(
  into: Float64Array,
  width: number,
  from: Float64Array,
  places: readonly number[],
): void {
  const count = places.length;
  for (let a = 0; a < count; a++) {
    const row = places[a] * width;
    for (let b = 0; b < count; b++) into[row + places[b]] += from[a * count + b];
  }
}
