import { addProduct, addWeightedSum, setProduct } from '../../numerics/columns.js';
import type { FitPiece } from './fit-record.js';
import type { RecordModel } from './record-model.js';
import { type Span, spanOf } from './record-responses.js';

/**
 * Weighted ∂model/∂rₖ over piece p: m · w · (xₖ + (ψ − 1) xₙ), for the slowest stage m · w · ψ (xₙ + d), for an
 * enclosure's m · w · (1 − ψ) xₙ. The model is linear in them, so these columns are also what it is made of.
 */
export function fillResistanceColumns(
  columns: readonly Float64Array[],
  model: RecordModel,
  rootWeights: Float64Array,
  piece: FitPiece,
  p: number,
): void {
  const { structure, parameters, responses } = model;
  const { stageCount } = structure;
  const span = spanOf(piece);
  const factor = parameters.mountFactorOf(piece);
  const { bends, bend, slowest, fan } = responses;
  for (let k = 0; k < stageCount; k++) {
    setStageColumn(columns[k], factor, rootWeights, model, k, parameters.startOf(p, k), span);
    if (bends) addBent(columns[k], factor, rootWeights, bend, slowest, span);
  }
  if (fan !== undefined) {
    const column = columns[stageCount - 1];
    addProduct(column, factor, rootWeights, fan.value, span.begin, span.end);
    if (bends) addBent(column, factor, rootWeights, bend, fan.value, span);
  }
  if (structure.enclosure === true) {
    const column = columns[stageCount];
    column.fill(0, span.begin, span.end);
    if (bends) addBent(column, -factor, rootWeights, bend, slowest, span);
  }
}

/** factor · w · x of one stage, x through the lag. */
function setStageColumn(
  column: Float64Array,
  factor: number,
  rootWeights: Float64Array,
  { responses: { stages, lag, shareOf } }: RecordModel,
  stage: number,
  startW: number,
  { begin, end }: Span,
): void {
  const share = factor * shareOf(stage);
  setProduct(column, share, rootWeights, stages[stage].value, begin, end);
  if (lag === undefined) return;
  const rest = factor - share;
  addWeightedSum(column, rootWeights, rest, lag.value, rest * startW, lag.decay, begin, end);
}

/** column += factor · w · (ψ − 1) · x */
function addBent(
  column: Float64Array,
  factor: number,
  rootWeights: Float64Array,
  bend: Float64Array,
  x: Float64Array,
  { begin, end }: Span,
): void {
  for (let i = begin; i < end; i++) column[i] += factor * rootWeights[i] * bend[i] * x[i];
}
