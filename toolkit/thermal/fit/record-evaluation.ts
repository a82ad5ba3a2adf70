import { addProduct, addScaled, dotProduct, setProduct, setScaled, setSum } from '../../numerics/columns.js';
import type { Workspace } from '../../numerics/workspace.js';
import { LOWEST_POWER_SHARE } from '../convection.js';
import { createFitParameters, type PiecePlaces, placesTouching } from './fit-parameters.js';
import type { FitPiece, FitRecord } from './fit-record.js';
import { type FitStructure, linearCountOf, type ParameterLayout } from './fit-structure.js';
import { createRecordResponses, type RecordResponses, setStageColumn, spanOf } from './record-responses.js';

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
 * The model of one record, for the rise of the measured temperature over the air as the die sees it:
 *
 *   rise(t) = m · ( Σₖ rₖ xₖ(t) + rₙ d(t) + (R xₙ(t) + rₙ d(t)) · (ψ(xₙ(t)) − 1) ),   R = Σₖ rₖ − rₑ,   ψ(x) = (x / P₀)^(−q)
 *
 * xₖ is the unit-gain response of pole k (through the sensor lag, if there is one) to the measured power, m the mount's
 * factor, P₀ the power at which R is stated; d is what the fan adds to the slowest stage (`fillFanResponse`), rₑ the part
 * of the resistance that is an enclosure's and does not bend, each where there is one. ψ puts the fall of the resistance
 * with power where it belongs physically: on the outermost, slowest stage. In steady state
 * rise = P · (R(n) · (P / P₀)^(−q) + rₑ).
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
  const { stageCount, atPowerW } = structure;
  const slowest = stageCount - 1;
  const linearCount = linearCountOf(structure);
  const width = layout.count + linearCount;
  const bends = structure.fitExponent || structure.powerExponent !== 0;
  const room = (): Float64Array => workspace.take(sampleCount);

  const parameters = createFitParameters(record, structure, layout);
  const responses = createRecordResponses(record, structure, parameters, workspace);
  const { rootWeights, weightedRise } = weighRecord(record, sampleWeights, room);
  /** What the modelled rise is held against: the measured rise, less the offset of an unknown air. */
  const target = pieces.some((piece) => piece.ambientUnknown) ? room() : weightedRise;
  const linearColumns = Array.from({ length: linearCount }, room);
  const weightedResiduals = room();
  const gains = room();
  const places = pieces.map((_, p) => placesTouching(record, structure, layout, p));
  const nonlinearPlaces = places.map(nonlinearPlacesOf);
  const nonlinearRoom = Array.from({ length: Math.max(...nonlinearPlaces.map((own) => own.length)) }, room);
  const columnPlaces = places.map((own, p) => [...nonlinearPlaces[p], ...own.resistances]);
  const columnsOf = nonlinearPlaces.map((own) => [...nonlinearRoom.slice(0, own.length), ...linearColumns]);
  const columnSets = places.map((own) => columnSetOf(own, nonlinearRoom));

  const resistancesKPerW = new Float64Array(linearCount);
  /** Of all that bends. */
  let totalKPerW = 0;
  const linearGram = new Float64Array(linearCount * linearCount);
  const linearProducts = new Float64Array(linearCount);
  const gram = new Float64Array(width * width);
  const gradient = new Float64Array(width);

  return {
    nonlinearCount: layout.count,
    linearCount,

    respond(vector) {
      parameters.read(vector);
      linearGram.fill(0);
      linearProducts.fill(0);
      pieces.forEach((piece, p) => {
        const { begin, end } = spanOf(piece);
        responses.respond(p);
        fillLinearColumns(piece, p);
        if (target !== weightedRise)
          setSum(target, 1, weightedRise, -parameters.airOffsetOf(piece), rootWeights, begin, end);
        for (let k = 0; k < linearCount; k++) {
          linearProducts[k] += dotProduct(linearColumns[k], target, begin, end);
          for (let l = 0; l <= k; l++)
            linearGram[k * linearCount + l] += dotProduct(linearColumns[k], linearColumns[l], begin, end);
        }
      });
      mirrorLowerTriangle(linearGram, linearCount);
      return { gram: linearGram, products: linearProducts };
    },

    settle(resistances) {
      resistancesKPerW.set(resistances);
      totalKPerW = 0;
      setScaled(weightedResiduals, -1, target, 0, sampleCount);
      for (let k = 0; k < linearCount; k++) {
        totalKPerW += k < stageCount ? resistancesKPerW[k] : -resistancesKPerW[k];
        addScaled(weightedResiduals, resistancesKPerW[k], linearColumns[k], 0, sampleCount);
      }
      return dotProduct(weightedResiduals, weightedResiduals, 0, sampleCount);
    },

    accumulate() {
      gram.fill(0);
      gradient.fill(0);
      pieces.forEach((piece, p) => {
        const { begin, end } = spanOf(piece);
        fillNonlinearColumns(piece, p);
        const columns = columnsOf[p];
        const own = columnPlaces[p];
        for (let a = 0; a < columns.length; a++) {
          gradient[own[a]] += dotProduct(columns[a], weightedResiduals, begin, end);
          for (let b = 0; b <= a; b++) {
            const row = Math.max(own[a], own[b]);
            const column = Math.min(own[a], own[b]);
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
        fillNonlinearColumns(piece, p);
        return columnsOf[p].map((column, c) => ({
          place: columnPlaces[p][c],
          begin,
          values: column.slice(begin, end),
        }));
      });
    },

    residualsK() {
      const residuals = new Float64Array(sampleCount);
      pieces.forEach((piece, p) => {
        addModel(residuals, piece, p);
        const offsetK = parameters.airOffsetOf(piece);
        for (let i = 0; i < piece.riseK.length; i++) residuals[piece.offset + i] += offsetK - piece.riseK[i];
      });
      return residuals;
    },
  };

  /** The model without weights: residuals are wanted of samples that have none. */
  function addModel(into: Float64Array, piece: FitPiece, p: number): void {
    const { begin, end } = spanOf(piece);
    const factor = parameters.mountFactorOf(piece);
    const { bend, slowest: x, fan } = responses;
    for (let k = 0; k < stageCount; k++) {
      for (const [scale, response] of responses.partialFractions(p, k))
        addScaled(into, factor * resistancesKPerW[k] * scale, response, begin, end);
    }
    if (bends) addProduct(into, factor * totalKPerW, bend, x, begin, end);
    if (fan !== undefined) {
      const scale = factor * resistancesKPerW[slowest];
      addScaled(into, scale, fan.value, begin, end);
      if (bends) addProduct(into, scale, bend, fan.value, begin, end);
    }
  }

  /** Weighted ∂model/∂rₖ of one piece: m · w · (xₖ + (ψ − 1) xₙ), for the slowest m · w · ψ (xₙ + d), for an enclosure's m · w · (1 − ψ) xₙ. */
  function fillLinearColumns(piece: FitPiece, p: number): void {
    const span = spanOf(piece);
    const { begin, end } = span;
    const factor = parameters.mountFactorOf(piece);
    const { bend, slowest: x, fan } = responses;
    for (let k = 0; k < stageCount; k++) {
      const column = linearColumns[k];
      setStageColumn(column, factor, rootWeights, responses, k, parameters.startOf(p, k), span);
      if (bends) addBent(column, factor, rootWeights, bend, x, begin, end);
    }
    if (fan !== undefined) {
      const column = linearColumns[slowest];
      addProduct(column, factor, rootWeights, fan.value, begin, end);
      if (bends) addBent(column, factor, rootWeights, bend, fan.value, begin, end);
    }
    if (structure.enclosure === true) {
      linearColumns[stageCount].fill(0, begin, end);
      if (bends) addBent(linearColumns[stageCount], -factor, rootWeights, bend, x, begin, end);
    }
  }

  /** Weighted ∂model/∂θ of one piece for all nonlinear parameters that touch it. */
  function fillNonlinearColumns(piece: FitPiece, p: number): void {
    const set = columnSets[p];
    const { begin, end } = spanOf(piece);
    fillMountColumns(piece, places[p], set);
    for (const column of set.air) setScaled(column, 1, rootWeights, begin, end);
    for (const column of set.lag) column.fill(0, begin, end);
    for (let k = 0; k < stageCount; k++) fillStageColumns(piece, p, k, set);
    for (const column of set.exponent) fillExponentColumn(piece, column);
    if (responses.fan !== undefined) addFanColumns(piece, set);
  }

  /** A factor's logarithm changes the model by the model itself. */
  function fillMountColumns(piece: FitPiece, { mountSigns }: PiecePlaces, set: ColumnSet): void {
    const { begin, end } = spanOf(piece);
    set.mounts.forEach((column, m) => {
      const sign = mountSigns[m];
      setSum(column, sign, weightedResiduals, sign, target, begin, end);
    });
  }

  /** Columns of a stage's time constant and start, and what it adds to the lag's. */
  function fillStageColumns(piece: FitPiece, p: number, stage: number, set: ColumnSet): void {
    const { begin, end } = spanOf(piece);
    const factor = parameters.mountFactorOf(piece);
    const { stages, lag } = responses;
    setScaled(gains, factor * resistancesKPerW[stage], rootWeights, begin, end);
    if (bends && stage === slowest) addBendGains(piece, factor);
    const share = responses.shareOf(stage);
    const column = set.stages[stage];
    const free = set.starts.length > 1;
    const startColumn = set.starts[free ? stage : 0];
    setProduct(column, share, gains, stages[stage].sensitivity, begin, end);
    const fillStart = free || stage === 0 ? setProduct : addProduct;
    fillStart(startColumn, share, gains, stages[stage].decay, begin, end);
    if (lag === undefined) return;
    const lagS = parameters.lagS();
    const timeConstantS = parameters.timeConstantsS[stage];
    const apartS = timeConstantS - lagS;
    const crossing = (timeConstantS * lagS) / (apartS * apartS);
    const start = parameters.startOf(p, stage);
    addLagToColumns(
      { column, lagColumn: set.lag[0], startColumn, gains, stage: stages[stage], lag, piece },
      { lagShare: 1 - share, crossing, start, lagS },
    );
  }

  /** What a change of the slowest stage's x moves through the bend. */
  function addBendGains(piece: FitPiece, factor: number): void {
    const { begin, end } = spanOf(piece);
    const { bend, bendSlope, slowest: x, fan } = responses;
    addProduct(gains, factor * totalKPerW, bendSlope, rootWeights, begin, end);
    if (fan === undefined) return;
    const scale = factor * resistancesKPerW[slowest];
    for (let i = begin; i < end; i++) {
      // ψ' = (d(xψ)/dx − ψ) / x, 0 where the bend has ended.
      if (x[i] !== 0) gains[i] += (scale * rootWeights[i] * fan.value[i] * (bendSlope[i] - bend[i])) / x[i];
    }
  }

  function fillExponentColumn(piece: FitPiece, column: Float64Array): void {
    const { begin, end } = spanOf(piece);
    const factor = parameters.mountFactorOf(piece);
    const { bend, slowest: x, fan } = responses;
    const ofSlowest = resistancesKPerW[slowest];
    for (let i = begin; i < end; i++) {
      const logShare = Math.log(Math.max(x[i] / atPowerW, LOWEST_POWER_SHARE));
      const bentK = totalKPerW * x[i] + (fan === undefined ? 0 : ofSlowest * fan.value[i]);
      column[i] = -factor * rootWeights[i] * bentK * (1 + bend[i]) * logShare;
    }
  }

  /** Columns of share and exponent of the fan, and what it adds to those of the slowest stage and its start. */
  function addFanColumns(piece: FitPiece, set: ColumnSet): void {
    const { begin, end } = spanOf(piece);
    const { fan, bend } = responses;
    if (fan === undefined) return;
    setScaled(gains, parameters.mountFactorOf(piece) * resistancesKPerW[slowest], rootWeights, begin, end);
    if (bends) for (let i = begin; i < end; i++) gains[i] *= 1 + bend[i];
    addProduct(set.stages[slowest], 1, gains, fan.sensitivity, begin, end);
    addProduct(set.starts[set.starts.length > 1 ? slowest : 0], 1, gains, fan.decay, begin, end);
    setProduct(set.fan[0], 1, gains, fan.shareSensitivity, begin, end);
    setProduct(set.fan[1], 1, gains, fan.exponentSensitivity, begin, end);
  }
}

/** Columns of one piece, by what their parameters are. */
type ColumnSet = {
  readonly [Name in Exclude<keyof PiecePlaces, 'mountSigns' | 'resistances'>]: readonly Float64Array[];
};

const NONLINEAR_KINDS = [
  'stages',
  'lag',
  'exponent',
  'fan',
  'mounts',
  'air',
  'starts',
] as const satisfies readonly (keyof ColumnSet)[];

function nonlinearPlacesOf(places: PiecePlaces): number[] {
  return NONLINEAR_KINDS.flatMap((kind) => places[kind]);
}

/** Hands the columns out in the order of `nonlinearPlacesOf`. */
function columnSetOf(places: PiecePlaces, columns: readonly Float64Array[]): ColumnSet {
  let next = 0;
  const take = (kind: keyof ColumnSet): readonly Float64Array[] => {
    const first = next;
    next += places[kind].length;
    return columns.slice(first, next);
  };
  return Object.fromEntries(NONLINEAR_KINDS.map((kind) => [kind, take(kind)])) as ColumnSet;
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

function addBent(
  column: Float64Array,
  factor: number,
  rootWeights: Float64Array,
  bend: Float64Array,
  x: Float64Array,
  begin: number,
  end: number,
): void {
  for (let i = begin; i < end; i++) column[i] += factor * rootWeights[i] * bend[i] * x[i];
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

function mirrorLowerTriangle(matrix: Float64Array, width: number): void {
  for (let a = 0; a < width; a++) for (let b = 0; b < a; b++) matrix[b * width + a] = matrix[a * width + b];
}
