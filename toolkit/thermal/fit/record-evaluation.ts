import { addScaled, dotProduct, setScaled, setSum } from '../../numerics/columns.js';
import type { Workspace } from '../../numerics/workspace.js';
import type { FitRecord } from './fit-record.js';
import { type FitStructure, linearCountOf, type ParameterLayout } from './fit-structure.js';
import { fillNonlinearColumns, type WeightedFit } from './nonlinear-columns.js';
import { columnsOfPieces } from './piece-columns.js';
import { addModelledRise, createRecordModel } from './record-model.js';
import { spanOf } from './record-responses.js';
import { fillResistanceColumns } from './resistance-columns.js';

/** One record's share in a separable problem: everything but the choice of the resistances and the priors. */
export interface RecordEvaluation {
  readonly nonlinearCount: number;
  readonly linearCount: number;
  /** Normal equations of the resistances at these nonlinear parameters, row-major; only valid until the next call. */
  respond(parameters: Float64Array): { readonly gram: Float64Array; readonly products: Float64Array };
  /** The sum of squares with these resistances, at the parameters of the last `respond`. */
  settle(resistancesKPerW: Float64Array): number;
  /** Gram matrix and gradient of all parameters, [nonlinear, linear], at the last `settle`. */
  accumulate(): { readonly gram: Float64Array; readonly gradient: Float64Array };
  /** The derivatives behind `accumulate`; newly allocated. */
  columns(): readonly FitColumn[];
  /** Modelled minus measured at the last `settle`, K, of all pieces in order; newly allocated. */
  residualsK(): Float64Array;
}

/** Weighted derivative of the model by one parameter, where it is not 0: over one piece. */
export interface FitColumn {
  /** Of the parameter, among [nonlinear, linear]. */
  readonly place: number;
  /** First sample of the piece. */
  readonly begin: number;
  readonly values: Float64Array;
}

/**
 * The model of one record (`RecordModel`) held against its samples: sum of squares and normal equations.
 *
 * All columns carry the root of the samples' weights; the cost is linear in samples.
 */
export function createRecordEvaluation(
  record: FitRecord,
  structure: FitStructure,
  layout: ParameterLayout,
  sampleWeights: Float64Array,
  workspace: Workspace,
): RecordEvaluation {
  const { sampleCount, pieces } = record;
  const linearCount = linearCountOf(structure);
  const room = (): Float64Array => workspace.take(sampleCount);

  const model = createRecordModel(record, structure, layout, workspace);
  const { rootWeights, weightedRise } = weighRecord(record, sampleWeights, room);
  const target = pieces.some((piece) => piece.ambientUnknown) ? room() : weightedRise;
  const residuals = room();
  const fit: WeightedFit = { model, rootWeights, target, residuals, gains: room() };
  const resistanceColumns = Array.from({ length: linearCount }, room);
  const pieceColumns = columnsOfPieces(record, structure, layout, resistanceColumns, room);

  const linearGram = new Float64Array(linearCount * linearCount);
  const linearProducts = new Float64Array(linearCount);
  const width = layout.count + linearCount;
  const gram = new Float64Array(width * width);
  const gradient = new Float64Array(width);

  return {
    nonlinearCount: layout.count,
    linearCount,

    respond(vector) {
      model.parameters.read(vector);
      linearGram.fill(0);
      linearProducts.fill(0);
      pieces.forEach((piece, p) => {
        const { begin, end } = spanOf(piece);
        model.responses.respond(p);
        fillResistanceColumns(resistanceColumns, model, rootWeights, piece, p);
        if (target !== weightedRise)
          setSum(target, 1, weightedRise, -model.parameters.airOffsetOf(piece), rootWeights, begin, end);
        for (let k = 0; k < linearCount; k++) {
          const column = resistanceColumns[k];
          linearProducts[k] += dotProduct(column, target, begin, end);
          for (let l = 0; l <= k; l++)
            linearGram[k * linearCount + l] += dotProduct(column, resistanceColumns[l], begin, end);
        }
      });
      mirrorLowerTriangle(linearGram, linearCount);
      return { gram: linearGram, products: linearProducts };
    },

    settle(resistancesKPerW) {
      model.setResistances(resistancesKPerW);
      setScaled(residuals, -1, target, 0, sampleCount);
      for (let k = 0; k < linearCount; k++)
        addScaled(residuals, resistancesKPerW[k], resistanceColumns[k], 0, sampleCount);
      return dotProduct(residuals, residuals, 0, sampleCount);
    },

    accumulate() {
      gram.fill(0);
      gradient.fill(0);
      pieces.forEach((piece, p) => {
        const { begin, end } = spanOf(piece);
        const { nonlinear, columns, places } = pieceColumns[p];
        fillNonlinearColumns(nonlinear, fit, piece, p);
        // Written out where they run: in a function of their own these loops take a tenth longer.
        for (let a = 0; a < columns.length; a++) {
          gradient[places[a]] += dotProduct(columns[a], residuals, begin, end);
          for (let b = 0; b <= a; b++) {
            const row = Math.max(places[a], places[b]);
            const column = Math.min(places[a], places[b]);
            gram[row * width + column] += dotProduct(columns[a], columns[b], begin, end);
          }
        }
      });
      mirrorLowerTriangle(gram, width);
      return { gram, gradient };
    },

    columns() {
      return pieces.flatMap((piece, p) => {
        const { begin, end } = spanOf(piece);
        const { nonlinear, columns, places } = pieceColumns[p];
        fillNonlinearColumns(nonlinear, fit, piece, p);
        return columns.map((column, c) => ({ place: places[c], begin, values: column.slice(begin, end) }));
      });
    },

    residualsK() {
      const residualsK = new Float64Array(sampleCount);
      pieces.forEach((piece, p) => {
        addModelledRise(residualsK, model, piece, p);
        const offsetK = model.parameters.airOffsetOf(piece);
        for (let i = 0; i < piece.riseK.length; i++) residualsK[piece.offset + i] += offsetK - piece.riseK[i];
      });
      return residualsK;
    },
  };
}

function weighRecord(
  { sampleCount, pieces }: FitRecord,
  sampleWeights: Float64Array,
  room: () => Float64Array,
): { readonly rootWeights: Float64Array; readonly weightedRise: Float64Array } {
  const rootWeights = room();
  const weightedRise = room();
  for (let i = 0; i < sampleCount; i++) rootWeights[i] = Math.sqrt(sampleWeights[i]);
  for (const { offset, riseK } of pieces)
    for (let i = 0; i < riseK.length; i++) weightedRise[offset + i] = rootWeights[offset + i] * riseK[i];
  return { rootWeights, weightedRise };
}

function mirrorLowerTriangle(matrix: Float64Array, width: number): void {
  for (let a = 0; a < width; a++) for (let b = 0; b < a; b++) matrix[b * width + a] = matrix[a * width + b];
}
