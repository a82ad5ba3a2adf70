import { addProduct, setProduct, setScaled, setSum } from '../../numerics/columns.js';
import { LOWEST_POWER_SHARE } from '../convection.js';
import type { FitPiece } from './fit-record.js';
import type { NonlinearColumns } from './piece-columns.js';
import type { RecordModel } from './record-model.js';
import { type RecordResponses, spanOf } from './record-responses.js';

/** A model held against a record, in arrays over the whole record that have the root of the weights in them. */
export interface WeightedFit {
  readonly model: RecordModel;
  readonly rootWeights: Float64Array;
  /** What the modelled rise is held against: the measured rise, less the offset of an unknown air. */
  readonly target: Float64Array;
  /** Modelled less target. */
  readonly residuals: Float64Array;
  /** Room for what multiplies a response's derivatives. */
  readonly gains: Float64Array;
}

/** Weighted ∂model/∂θ over piece p for all nonlinear parameters that touch it. */
export function fillNonlinearColumns(
  columns: NonlinearColumns,
  fit: WeightedFit,
  piece: FitPiece,
  p: number,
): void {
  const { begin, end } = spanOf(piece);
  const { structure, responses } = fit.model;
  fillMountColumns(columns, fit, piece);
  for (const column of columns.air) setScaled(column, 1, fit.rootWeights, begin, end);
  for (const column of columns.lag) column.fill(0, begin, end);
  for (let k = 0; k < structure.stageCount; k++) fillStageColumns(columns, fit, piece, p, k);
  for (const column of columns.exponent) fillExponentColumn(column, fit, piece);
  if (responses.fan !== undefined) addFanColumns(columns, fit, piece, responses.fan);
}

/** A factor's logarithm changes the model by the model itself. */
function fillMountColumns(
  { mounts, mountSigns }: NonlinearColumns,
  { residuals, target }: WeightedFit,
  piece: FitPiece,
): void {
  const { begin, end } = spanOf(piece);
  mounts.forEach((column, m) => {
    const sign = mountSigns[m];
    setSum(column, sign, residuals, sign, target, begin, end);
  });
}

/** Columns of a stage's time constant and start, and what it adds to the lag's. */
function fillStageColumns(
  columns: NonlinearColumns,
  fit: WeightedFit,
  piece: FitPiece,
  p: number,
  stage: number,
): void {
  const { begin, end } = spanOf(piece);
  const { gains, model, rootWeights } = fit;
  const { parameters, responses } = model;
  const factor = parameters.mountFactorOf(piece);
  const { stages, lag } = responses;
  setScaled(gains, factor * model.resistancesKPerW[stage], rootWeights, begin, end);
  if (responses.bends && stage === slowestOf(model)) addBendGains(fit, piece, factor);
  const share = responses.shareOf(stage);
  const column = columns.stages[stage];
  const startColumn = startColumnOf(columns, stage);
  setProduct(column, share, gains, stages[stage].sensitivity, begin, end);
  // A start in equilibrium is one column of all stages.
  const fillStart = stage === 0 || columns.starts.length > 1 ? setProduct : addProduct;
  fillStart(startColumn, share, gains, stages[stage].decay, begin, end);
  if (lag === undefined) return;
  const lagS = parameters.lagS();
  const timeConstantS = parameters.timeConstantsS[stage];
  const apartS = timeConstantS - lagS;
  const crossing = (timeConstantS * lagS) / (apartS * apartS);
  const start = parameters.startOf(p, stage);
  addLagToColumns(
    { column, lagColumn: columns.lag[0], startColumn, gains, stage: stages[stage], lag, piece },
    { lagShare: 1 - share, crossing, start, lagS },
  );
}

/** What a change of the slowest stage's x moves through the bend. */
function addBendGains({ model, rootWeights, gains }: WeightedFit, piece: FitPiece, factor: number): void {
  const { begin, end } = spanOf(piece);
  const { bend, bendSlope, slowest: x, fan } = model.responses;
  addProduct(gains, factor * model.bendingKPerW(), bendSlope, rootWeights, begin, end);
  if (fan === undefined) return;
  const scale = factor * model.resistancesKPerW[slowestOf(model)];
  for (let i = begin; i < end; i++) {
    // ψ' = (d(xψ)/dx − ψ) / x, 0 where the bend has ended.
    if (x[i] !== 0) gains[i] += (scale * rootWeights[i] * fan.value[i] * (bendSlope[i] - bend[i])) / x[i];
  }
}

/** What a lag in series adds to the columns of a stage, its own column and the start's. */
function addLagToColumns(
  {
    column,
    lagColumn,
    startColumn,
    gains,
    stage,
    lag,
    piece: { elapsedS, offset },
  }: {
    readonly column: Float64Array;
    readonly lagColumn: Float64Array;
    readonly startColumn: Float64Array;
    readonly gains: Float64Array;
    readonly stage: RecordResponses['stages'][number];
    readonly lag: RecordResponses['stages'][number];
    readonly piece: FitPiece;
  },
  {
    lagShare,
    crossing,
    start,
    lagS,
  }: {
    readonly lagShare: number;
    readonly crossing: number;
    readonly start: number;
    readonly lagS: number;
  },
): void {
  for (let i = 0, j = offset; i < elapsedS.length; i++, j++) {
    const gain = gains[j];
    const apart = crossing * (stage.value[j] - lag.value[j] - start * lag.decay[j]);
    column[j] -= gain * apart;
    lagColumn[j] +=
      gain * (lagShare * (lag.sensitivity[j] + (start * lag.decay[j] * elapsedS[i]) / lagS) + apart);
    startColumn[j] += gain * lagShare * lag.decay[j];
  }
}

function fillExponentColumn(
  column: Float64Array,
  { model, rootWeights }: WeightedFit,
  piece: FitPiece,
): void {
  const { begin, end } = spanOf(piece);
  const factor = model.parameters.mountFactorOf(piece);
  const { bend, slowest: x, fan } = model.responses;
  const { atPowerW } = model.structure;
  const bendingKPerW = model.bendingKPerW();
  const ofSlowest = model.resistancesKPerW[slowestOf(model)];
  for (let i = begin; i < end; i++) {
    const logShare = Math.log(Math.max(x[i] / atPowerW, LOWEST_POWER_SHARE));
    const bentK = bendingKPerW * x[i] + (fan === undefined ? 0 : ofSlowest * fan.value[i]);
    column[i] = -factor * rootWeights[i] * bentK * (1 + bend[i]) * logShare;
  }
}

/** Columns of share and exponent of the fan, and what it adds to those of the slowest stage and its start. */
function addFanColumns(
  columns: NonlinearColumns,
  { model, rootWeights, gains }: WeightedFit,
  piece: FitPiece,
  fan: NonNullable<RecordResponses['fan']>,
): void {
  const { begin, end } = spanOf(piece);
  const { bends, bend } = model.responses;
  const slowest = slowestOf(model);
  const factor = model.parameters.mountFactorOf(piece);
  setScaled(gains, factor * model.resistancesKPerW[slowest], rootWeights, begin, end);
  if (bends) for (let i = begin; i < end; i++) gains[i] *= 1 + bend[i];
  addProduct(columns.stages[slowest], 1, gains, fan.sensitivity, begin, end);
  addProduct(startColumnOf(columns, slowest), 1, gains, fan.decay, begin, end);
  setProduct(columns.fan[0], 1, gains, fan.shareSensitivity, begin, end);
  setProduct(columns.fan[1], 1, gains, fan.exponentSensitivity, begin, end);
}

function slowestOf({ structure }: RecordModel): number {
  return structure.stageCount - 1;
}

/** Free starts are one per stage, a start in equilibrium one for all. */
function startColumnOf({ starts }: NonlinearColumns, stage: number): Float64Array {
  return starts[starts.length > 1 ? stage : 0];
}
