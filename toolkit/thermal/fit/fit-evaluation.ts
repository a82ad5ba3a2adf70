import {
  addProduct,
  addScaled,
  addWeightedSum,
  dotProduct,
  setProduct,
  setScaled,
  setSum,
} from '../../numerics/columns.js';
import { nonnegativeLeastSquares } from '../../numerics/nonnegative-least-squares.js';
import type { SeparableProblem } from '../../numerics/separable-least-squares.js';
import { createWorkspace, type Workspace } from '../../numerics/workspace.js';
import { LOWEST_POWER_SHARE } from '../convection.js';
import { lagApartFrom } from '../lag-apart.js';
import { allocatePoleResponse, fillPoleResponse, type PoleResponse } from '../pole-response.js';
import type { FitPiece, FitRecord } from './fit-record.js';
import { type FitStructure, logMountFactors, type ParameterLayout } from './fit-structure.js';

/**
 * The separable least-squares problem of one candidate: for given nonlinear parameters the resistances rₖ ≥ 0
 * follow from a small linear problem, and what is left to minimise depends on the nonlinear ones alone
 * (variable projection [GolubPereyra1973], with Kaufman's simplification of the Jacobian [Kaufman1975]).
 *
 * Model, for the rise of the measured temperature over the air as the die sees it:
 *
 *   rise(t) = m · ( Σₖ rₖ xₖ(t) + R · ( g(xₙ(t)) − xₙ(t) ) ),   R = Σₖ rₖ,   g(x) = x · (x / P₀)^(−q)
 *
 * xₖ is the unit-gain response of pole k (through the sensor lag, if there is one) to the measured power, m the
 * mount's factor, P₀ the power at which R is stated. The second term puts the fall of the resistance with power
 * where it belongs physically: on the outermost, slowest stage. In steady state rise = P · R · (P / P₀)^(−q).
 *
 * All columns carry the root of the samples' weights; the cost is linear in samples.
 */
export interface FitEvaluation extends SeparableProblem {
  /** Modelled minus measured at the last `evaluate`, K, of all pieces in order; newly allocated. */
  residualsK(): Float64Array;
  /** The derivatives behind `accumulate`, without the priors; newly allocated. */
  columns(): readonly FitColumn[];
}

/** Weighted derivative of the model by one parameter, where it is not 0: over one piece. */
export interface FitColumn {
  /** Of the parameter, among [nonlinear, linear]. */
  readonly place: number;
  /** First sample of the piece. */
  readonly begin: number;
  readonly values: Float64Array;
}

export function createFitEvaluation(
  record: FitRecord,
  structure: FitStructure,
  layout: ParameterLayout,
  sampleWeights: Float64Array,
  workspace: Workspace = createWorkspace(),
): FitEvaluation {
  const { stageCount, atPowerW } = structure;
  const { sampleCount, pieces } = record;
  const slowest = stageCount - 1;
  const columnCount = layout.count + stageCount;
  const bends = structure.fitExponent || structure.powerExponent !== 0;
  const room = (): Float64Array => workspace.take(sampleCount);

  const rootWeights = room();
  const weightedRise = room();
  for (let i = 0; i < sampleCount; i++) rootWeights[i] = Math.sqrt(sampleWeights[i]);
  for (const { offset, riseK } of pieces) {
    for (let i = 0; i < riseK.length; i++) weightedRise[offset + i] = rootWeights[offset + i] * riseK[i];
  }

  /** What the modelled rise is held against: the measured rise, less the offset of an unknown air. */
  const target = pieces.some((piece) => piece.ambientUnknown) ? room() : weightedRise;

  // Over the whole record; pieces see their part of it.
  const stages = Array.from({ length: stageCount }, () => allocatePoleResponse(sampleCount, workspace));
  const lag = structure.sensorLag ? allocatePoleResponse(sampleCount, workspace) : undefined;
  const stageParts = stages.map(partsOf);
  const lagParts = lag === undefined ? undefined : partsOf(lag);
  /** Weighted ∂model/∂rₖ. */
  const linearColumns = stages.map(room);
  const weightedResiduals = room();
  /** xₙ, the convection's factor ψ = (xₙ / P₀)^(−q) less 1, and d(g(xₙ) − xₙ)/dxₙ; used where the resistance bends. */
  const slowestRise = bends ? room() : rootWeights;
  const bend = bends ? room() : rootWeights;
  const bendSlope = bends ? room() : rootWeights;
  /** The parameters that touch each piece, in the order of its columns, and those columns, weighted. */
  const places = pieces.map(placesOf);
  const nonlinearColumns = Array.from(
    { length: Math.max(...places.map((ofPiece) => ofPiece.length)) - stageCount },
    room,
  );
  const columnsOf = places.map((ofPiece) => [
    ...nonlinearColumns.slice(0, ofPiece.length - stageCount),
    ...linearColumns,
  ]);
  /** Weighted gain of one stage. */
  const gains = room();

  const current = new Float64Array(layout.count);
  const resistancesKPerW = new Float64Array(stageCount);
  const timeConstantsS = new Float64Array(stageCount);
  let lagS = 0;
  let totalKPerW = 0;
  let exponent = 0;
  const linearGram = new Float64Array(stageCount * stageCount);
  const linearProducts = new Float64Array(stageCount);
  const gram = new Float64Array(columnCount * columnCount);
  const gradient = new Float64Array(columnCount);

  return {
    nonlinearCount: layout.count,
    linearCount: stageCount,
    linearParameters: resistancesKPerW,
    lowerBounds: layout.lowerBounds,
    upperBounds: layout.upperBounds,

    evaluate(parameters) {
      readParameters(parameters);
      linearGram.fill(0);
      linearProducts.fill(0);
      for (let p = 0; p < pieces.length; p++) {
        const { begin, end } = respond(p);
        if (target !== weightedRise)
          setSum(target, 1, weightedRise, -airOffsetOf(pieces[p]), rootWeights, begin, end);
        for (let k = 0; k < stageCount; k++) {
          linearProducts[k] += dotProduct(linearColumns[k], target, begin, end);
          for (let l = 0; l <= k; l++) {
            linearGram[k * stageCount + l] += dotProduct(linearColumns[k], linearColumns[l], begin, end);
          }
        }
      }
      mirrorLowerTriangle(linearGram, stageCount);
      nonnegativeLeastSquares(linearGram, linearProducts, resistancesKPerW);
      totalKPerW = 0;
      setScaled(weightedResiduals, -1, target, 0, sampleCount);
      for (let k = 0; k < stageCount; k++) {
        totalKPerW += resistancesKPerW[k];
        addScaled(weightedResiduals, resistancesKPerW[k], linearColumns[k], 0, sampleCount);
      }
      let cost = dotProduct(weightedResiduals, weightedResiduals, 0, sampleCount);
      for (const prior of layout.priors) {
        cost += ((current[prior.index] - prior.mean) / prior.standardDeviation) ** 2;
      }
      return cost;
    },

    accumulate() {
      gram.fill(0);
      gradient.fill(0);
      for (let p = 0; p < pieces.length; p++) {
        const { begin, end } = spanOf(pieces[p]);
        fillNonlinearColumns(p);
        const columns = columnsOf[p];
        const ofPiece = places[p];
        for (let a = 0; a < columns.length; a++) {
          gradient[ofPiece[a]] += dotProduct(columns[a], weightedResiduals, begin, end);
          for (let b = 0; b <= a; b++) {
            const row = Math.max(ofPiece[a], ofPiece[b]);
            const column = Math.min(ofPiece[a], ofPiece[b]);
            gram[row * columnCount + column] += dotProduct(columns[a], columns[b], begin, end);
          }
        }
      }
      mirrorLowerTriangle(gram, columnCount);
      for (const prior of layout.priors) {
        const precision = 1 / prior.standardDeviation ** 2;
        gram[prior.index * (columnCount + 1)] += precision;
        gradient[prior.index] += precision * (current[prior.index] - prior.mean);
      }
      return { gram, gradient };
    },

    columns() {
      return pieces.flatMap((piece, p) => {
        const { begin, end } = spanOf(piece);
        fillNonlinearColumns(p);
        return columnsOf[p].map((column, c) => ({
          place: places[p][c],
          begin,
          values: column.slice(begin, end),
        }));
      });
    },

    residualsK() {
      const residuals = new Float64Array(sampleCount);
      pieces.forEach((piece, p) => {
        const { begin, end } = spanOf(piece);
        const factor = mountFactorOf(piece);
        for (let k = 0; k < stageCount; k++) {
          for (const [scale, response] of partialFractions(p, k)) {
            addScaled(residuals, factor * resistancesKPerW[k] * scale, response, begin, end);
          }
        }
        if (bends) addProduct(residuals, factor * totalKPerW, bend, slowestRise, begin, end);
        const offsetK = airOffsetOf(piece);
        for (let i = begin; i < end; i++) residuals[i] += offsetK - piece.riseK[i - begin];
      });
      return residuals;
    },
  };

  function partsOf(response: PoleResponse): PoleResponse[] {
    return pieces.map((piece) => {
      const { begin, end } = spanOf(piece);
      return {
        value: response.value.subarray(begin, end),
        sensitivity: response.sensitivity.subarray(begin, end),
        decay: response.decay.subarray(begin, end),
      };
    });
  }

  function readParameters(parameters: Float64Array): void {
    current.set(parameters);
    exponent = layout.exponentIndex < 0 ? structure.powerExponent : current[layout.exponentIndex];
    for (let k = 0; k < stageCount; k++) timeConstantsS[k] = Math.exp(current[k]);
    if (layout.lagIndex >= 0)
      lagS = lagApartFrom(Math.exp(current[layout.lagIndex]), timeConstantsS, stageCount);
  }

  function startOf(p: number, k: number): number {
    return layout.startIndices[p] + (pieces[p].startKind === 'free' ? k : 0);
  }

  function airOffsetOf(piece: FitPiece): number {
    return piece.ambientUnknown ? current[layout.ambientIndices[piece.runIndex]] : 0;
  }

  function mountFactorOf(piece: FitPiece): number {
    if (layout.mountIndex < 0) return 1;
    return Math.exp(logMountFactors(layout, record.mounts.length, current)[piece.mountIndex]);
  }

  /** A stage in series with the lag is a difference of two poles, with shares τₖ/(τₖ−τₛ) and −τₛ/(τₖ−τₛ). */
  function shareOf(k: number): number {
    return lag === undefined ? 1 : timeConstantsS[k] / (timeConstantsS[k] - lagS);
  }

  /** xₖ as scaled responses to be added: the stage's, and the lag's from rest and from the start. */
  function partialFractions(p: number, k: number): [scale: number, response: Float64Array][] {
    const share = shareOf(k);
    if (lag === undefined) return [[1, stages[k].value]];
    const start = current[startOf(p, k)];
    return [
      [share, stages[k].value],
      [1 - share, lag.value],
      [(1 - share) * start, lag.decay],
    ];
  }

  /** Responses, bend and linear columns m · w · (xₖ + (ψ − 1) xₙ) of one piece. */
  function respond(p: number): { readonly begin: number; readonly end: number } {
    const piece = pieces[p];
    const span = spanOf(piece);
    const { begin, end } = span;
    const factor = mountFactorOf(piece);
    if (lagParts !== undefined) fillPoleResponse(lagS, piece, 0, lagParts[p]);
    for (let k = 0; k < stageCount; k++) {
      const start = current[startOf(p, k)];
      fillPoleResponse(timeConstantsS[k], piece, start, stageParts[k][p]);
      const share = factor * shareOf(k);
      const column = linearColumns[k];
      setProduct(column, share, rootWeights, stages[k].value, begin, end);
      if (lag === undefined) continue;
      const rest = factor - share;
      addWeightedSum(column, rootWeights, rest, lag.value, rest * start, lag.decay, begin, end);
    }
    if (!bends) return span;
    slowestRise.fill(0, begin, end);
    for (const [scale, response] of partialFractions(p, slowest))
      addScaled(slowestRise, scale, response, begin, end);
    fillBend(bend, bendSlope, slowestRise, atPowerW, exponent, begin, end);
    for (const column of linearColumns) addBend(column, factor, rootWeights, bend, slowestRise, begin, end);
    return span;
  }

  /** The free mount factors a piece depends on: its own, or for the last mount all the others'. */
  function mountsTouching(piece: FitPiece): number[] {
    const freeCount = layout.mountIndex < 0 ? 0 : record.mounts.length - 1;
    if (piece.mountIndex < freeCount) return [piece.mountIndex];
    return Array.from({ length: freeCount }, (_, m) => m);
  }

  /** The parameters that touch a piece, in the order of its columns. */
  function placesOf(piece: FitPiece, p: number): number[] {
    const list = Array.from({ length: stageCount }, (_, k) => k);
    if (layout.lagIndex >= 0) list.push(layout.lagIndex);
    if (layout.exponentIndex >= 0) list.push(layout.exponentIndex);
    for (const m of mountsTouching(piece)) list.push(layout.mountIndex + m);
    if (piece.ambientUnknown) list.push(layout.ambientIndices[piece.runIndex]);
    for (let k = 0; k < (piece.startKind === 'free' ? stageCount : 1); k++) list.push(startOf(p, k));
    for (let k = 0; k < stageCount; k++) list.push(layout.count + k);
    return list;
  }

  /** Weighted columns ∂model/∂θ of one piece: stages, lag, exponent, mounts, air, starts, as `placesOf` lists them. */
  function fillNonlinearColumns(p: number): void {
    const piece = pieces[p];
    const { begin, end } = spanOf(piece);
    const factor = mountFactorOf(piece);
    const free = piece.startKind === 'free';
    let next = stageCount;
    const lagColumn = layout.lagIndex < 0 ? undefined : nonlinearColumns[next++].fill(0, begin, end);
    const exponentColumn = layout.exponentIndex < 0 ? undefined : nonlinearColumns[next++];
    // A factor's logarithm changes the model by the model itself; the last mount's is minus the sum of the others'.
    for (const m of mountsTouching(piece)) {
      const sign = m === piece.mountIndex ? 1 : -1;
      setSum(nonlinearColumns[next++], sign, weightedResiduals, sign, target, begin, end);
    }
    if (piece.ambientUnknown) setScaled(nonlinearColumns[next++], 1, rootWeights, begin, end);
    const startColumns = nonlinearColumns.slice(next, next + (free ? stageCount : 1));

    for (let k = 0; k < stageCount; k++) {
      const start = current[startOf(p, k)];
      setScaled(gains, factor * resistancesKPerW[k], rootWeights, begin, end);
      if (bends && k === slowest) addProduct(gains, factor * totalKPerW, bendSlope, rootWeights, begin, end);
      const share = shareOf(k);
      const column = nonlinearColumns[k];
      const startColumn = startColumns[free ? k : 0];
      setProduct(column, share, gains, stages[k].sensitivity, begin, end);
      const fillStart = free || k === 0 ? setProduct : addProduct;
      fillStart(startColumn, share, gains, stages[k].decay, begin, end);
      if (lag === undefined || lagColumn === undefined) continue;
      const apartS = timeConstantsS[k] - lagS;
      const crossing = (timeConstantsS[k] * lagS) / (apartS * apartS);
      addLagToColumns(
        column,
        lagColumn,
        startColumn,
        gains,
        1 - share,
        crossing,
        start,
        lagS,
        stages[k],
        lag,
        piece,
      );
    }
    if (exponentColumn !== undefined) {
      const scale = -factor * totalKPerW;
      for (let i = begin; i < end; i++) {
        const logShare = Math.log(Math.max(slowestRise[i] / atPowerW, LOWEST_POWER_SHARE));
        exponentColumn[i] = scale * rootWeights[i] * slowestRise[i] * (1 + bend[i]) * logShare;
      }
    }
  }
}

function spanOf(piece: FitPiece): { readonly begin: number; readonly end: number } {
  return { begin: piece.offset, end: piece.offset + piece.stepS.length };
}

/** ψ − 1 and d(g(x) − x)/dx for g(x) = x ψ, ψ = (x / P₀)^(−q), constant below a small share of P₀. */
function fillBend(
  bend: Float64Array,
  bendSlope: Float64Array,
  x: Float64Array,
  atPowerW: number,
  exponent: number,
  begin: number,
  end: number,
): void {
  for (let i = begin; i < end; i++) {
    const share = x[i] / atPowerW;
    const bent = share > LOWEST_POWER_SHARE;
    // exp and log together take half the time of a power.
    const factor = Math.exp(-exponent * Math.log(bent ? share : LOWEST_POWER_SHARE));
    bend[i] = factor - 1;
    bendSlope[i] = (bent ? (1 - exponent) * factor : factor) - 1;
  }
}

function addBend(
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
  column: Float64Array,
  lagColumn: Float64Array,
  startColumn: Float64Array,
  gains: Float64Array,
  lagShare: number,
  crossing: number,
  start: number,
  lagS: number,
  stage: PoleResponse,
  lag: PoleResponse,
  piece: FitPiece,
): void {
  const { elapsedS, offset } = piece;
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
