import type { SeparableProblem } from '../../numerics/least-squares/separable-least-squares.js';
import { createWorkspace, type Workspace } from '../../numerics/workspace.js';
import type { FitRecord } from '../fit/fit-record.js';
import {
  addPriors,
  costOfPriors,
  type FitStructure,
  linearCountOf,
  type ParameterLayout,
  type Prior,
} from '../fit/fit-structure.js';
import { createRecordEvaluation } from '../fit/record-evaluation.js';
import { polesOfLogLadder } from './ladder-map.js';

/** A record in a joint fit: what is fitted to it, and where what it depends on stands among all parameters. */
export interface JointRecord {
  readonly record: FitRecord;
  readonly structure: FitStructure;
  readonly layout: ParameterLayout;
  readonly sampleWeights: Float64Array;
  /** Logarithms of the rungs' heat capacities, then of their resistances; an enclosure is the last rung. */
  readonly rungPlaces: readonly number[];
  /** Of the layout's parameters after the time constants; that of the fan's share holds what the share is of, K/W. */
  readonly otherPlaces: readonly number[];
}

/** The parameters of a joint fit. */
export interface JointSpace {
  readonly count: number;
  readonly lowerBounds: Float64Array;
  readonly upperBounds: Float64Array;
  readonly priors: readonly Prior[];
}

/** One record's own parameters at the last `evaluate`, and how they move with those of the fit. */
export interface JointRecordState {
  /** As its layout has them. */
  readonly parameters: Float64Array;
  readonly resistancesKPerW: Float64Array;
  /** Rows: its [nonlinear, linear] parameters; columns: those of the fit. */
  readonly jacobian: readonly Float64Array[];
  residualsK(): Float64Array;
}

/** The sum of several records' problems, with parameters in common. */
export interface JointEvaluation extends SeparableProblem {
  stateOf(record: number): JointRecordState;
}

/**
 * Several records in one least-squares problem. What they have in common is stated where it is exact: as rungs of the
 * ladder, heat capacities and resistances from the die outward. Each record's time constants and resistances are those of
 * its whole ladder, so its normal equations carry over by the chain rule. Nothing is left linear.
 */
export function createJointEvaluation(
  records: readonly JointRecord[],
  { count, lowerBounds, upperBounds, priors }: JointSpace,
  workspace: Workspace = createWorkspace(),
): JointEvaluation {
  const current = new Float64Array(count);
  const gram = new Float64Array(count * count);
  const gradient = new Float64Array(count);
  const parts = records.map((own) => ({
    ...own,
    evaluation: createRecordEvaluation(own.record, own.structure, own.layout, own.sampleWeights, workspace),
    parameters: new Float64Array(own.layout.count),
    resistancesKPerW: new Float64Array(linearCountOf(own.structure)),
  }));

  return {
    nonlinearCount: count,
    linearCount: 0,
    linearParameters: new Float64Array(0),
    lowerBounds,
    upperBounds,
    evaluate(vector) {
      current.set(vector);
      let cost = costOfPriors(priors, current);
      for (const part of parts) {
        readRecord(part, current);
        part.evaluation.respond(part.parameters);
        cost += part.evaluation.settle(part.resistancesKPerW);
      }
      return cost;
    },
    accumulate() {
      gram.fill(0);
      gradient.fill(0);
      for (const part of parts)
        addThrough(jacobianOf(part, current), part.evaluation.accumulate(), { gram, gradient }, count);
      addPriors(priors, current, { gram, gradient }, count);
      return { gram, gradient };
    },
    stateOf(record) {
      const part = parts[record];
      return {
        parameters: part.parameters.slice(),
        resistancesKPerW: part.resistancesKPerW.slice(),
        jacobian: jacobianOf(part, current),
        residualsK: () => part.evaluation.residualsK(),
      };
    },
  };
}

type Part = JointRecord & {
  readonly parameters: Float64Array;
  readonly resistancesKPerW: Float64Array;
};

/** A record's own parameters from those of the fit. */
function readRecord(
  { structure, layout, rungPlaces, otherPlaces, parameters, resistancesKPerW }: Part,
  current: Float64Array,
): void {
  const { stageCount } = structure;
  const { values } = polesOfLogLadder(rungPlaces.map((place) => current[place]));
  for (let k = 0; k < stageCount; k++) {
    parameters[k] = values[k];
    resistancesKPerW[k] = values[stageCount + k];
  }
  otherPlaces.forEach((place, i) => {
    parameters[stageCount + i] = current[place];
  });
  if (layout.fanIndex >= 0) parameters[layout.fanIndex] /= resistancesKPerW[stageCount - 1];
  if (structure.enclosure === true)
    resistancesKPerW[stageCount] = Math.exp(current[rungPlaces[2 * stageCount - 1]]);
}

function jacobianOf(
  { structure, layout, rungPlaces, otherPlaces }: JointRecord,
  current: Float64Array,
): Float64Array[] {
  const { stageCount } = structure;
  const { values, jacobian } = polesOfLogLadder(rungPlaces.map((place) => current[place]));
  const rows = Array.from(
    { length: layout.count + linearCountOf(structure) },
    () => new Float64Array(current.length),
  );
  jacobian.forEach((slopes, row) => {
    const own = row < stageCount ? row : layout.count + row - stageCount;
    slopes.forEach((slope, i) => {
      rows[own][rungPlaces[i]] = slope;
    });
  });
  otherPlaces.forEach((place, i) => {
    rows[stageCount + i][place] = 1;
  });
  if (layout.fanIndex >= 0) {
    const place = otherPlaces[layout.fanIndex - stageCount];
    const slowestKPerW = values[2 * stageCount - 1];
    const slopes = rows[layout.count + stageCount - 1];
    rows[layout.fanIndex] = slopes.map((slope) => (-current[place] * slope) / slowestKPerW ** 2);
    rows[layout.fanIndex][place] = 1 / slowestKPerW;
  }
  if (structure.enclosure === true) {
    const place = rungPlaces[2 * stageCount - 1];
    rows[layout.count + stageCount][place] = Math.exp(current[place]);
  }
  return rows;
}

/** Adds Jᵀ G J and Jᵀ g. */
function addThrough(
  jacobian: readonly Float64Array[],
  own: { readonly gram: Float64Array; readonly gradient: Float64Array },
  into: { readonly gram: Float64Array; readonly gradient: Float64Array },
  count: number,
): void {
  const width = jacobian.length;
  const row = new Float64Array(count);
  for (let a = 0; a < width; a++) {
    row.fill(0);
    for (let b = 0; b < width; b++) addRow(row, own.gram[a * width + b], jacobian[b]);
    const left = jacobian[a];
    for (let i = 0; i < count; i++) {
      if (left[i] === 0) continue;
      into.gradient[i] += left[i] * own.gradient[a];
      for (let j = 0; j < count; j++) into.gram[i * count + j] += left[i] * row[j];
    }
  }
}

function addRow(into: Float64Array, factor: number, row: Float64Array): void {
  for (let j = 0; j < into.length; j++) into[j] += factor * row[j];
}
