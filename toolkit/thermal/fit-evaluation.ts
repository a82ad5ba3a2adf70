import { allocateColumnBlock } from '../numerics/column-block.js';
import { nonnegativeLeastSquares } from '../numerics/nonnegative-least-squares.js';
import type { SeparableProblem } from '../numerics/separable-least-squares.js';
import { LOWEST_POWER_SHARE } from './convection.js';
import type { FitPiece, FitRecord } from './fit-record.js';
import { type FitStructure, logMountFactors, type ParameterLayout } from './fit-structure.js';
import { lagApartFrom } from './lag-apart.js';
import { allocatePoleResponse, fillPoleResponse, type PoleResponse } from './pole-response.js';

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
 * The samples pass through a block of columns into normal equations, so the cost is linear in samples.
 */
export interface FitEvaluation extends SeparableProblem {
  /** Modelled minus measured, K, of all pieces in order, at the last `evaluate`. */
  readonly residualsK: Float64Array;
}

export function createFitEvaluation(
  record: FitRecord,
  structure: FitStructure,
  layout: ParameterLayout,
  sampleWeights: Float64Array,
): FitEvaluation {
  const { stageCount, sensorLag, atPowerW } = structure;
  const { sampleCount, pieces } = record;
  const slowest = stageCount - 1;
  const columnCount = layout.count + stageCount;
  const rootWeights = new Float64Array(sampleCount);
  for (let i = 0; i < sampleCount; i++) rootWeights[i] = Math.sqrt(sampleWeights[i]);
  const weightedRiseK = new Float64Array(sampleCount);
  for (const { offset, riseK } of pieces) {
    for (let i = 0; i < riseK.length; i++) weightedRiseK[offset + i] = rootWeights[offset + i] * riseK[i];
  }
  const residualsK = new Float64Array(sampleCount);
  const resistancesKPerW = new Float64Array(stageCount);
  const current = new Float64Array(layout.count);
  let totalKPerW = 0;
  let exponent = 0;

  // Responses of stages and lag, and what follows from them, over the whole record; pieces see their part of it.
  const stages = Array.from({ length: stageCount }, () => allocatePoleResponse(sampleCount));
  const lag = sensorLag ? allocatePoleResponse(sampleCount) : undefined;
  const unitRises = stages.map(() => new Float64Array(sampleCount));
  const convection = new Float64Array(sampleCount).fill(1);
  const partOf = (response: PoleResponse): PoleResponse[] =>
    pieces.map(({ offset, stepS }) => ({
      fromRest: response.fromRest.subarray(offset, offset + stepS.length),
      sensitivity: response.sensitivity.subarray(offset, offset + stepS.length),
      decay: response.decay.subarray(offset, offset + stepS.length),
    }));
  const stageParts = stages.map(partOf);
  const lagParts = lag === undefined ? undefined : partOf(lag);

  const block = allocateColumnBlock(columnCount + 1, Math.max(...pieces.map(({ stepS }) => stepS.length)));
  const target = block.columns[columnCount];
  const linearGram = new Float64Array(stageCount * stageCount);
  const linearProducts = new Float64Array(stageCount);
  const gram = new Float64Array(columnCount * columnCount);
  const gradient = new Float64Array(columnCount);

  const startOf = (p: number, k: number): number =>
    layout.startIndices[p] + (pieces[p].startKind === 'free' ? k : 0);
  const mountFactorOf = (piece: FitPiece): number =>
    Math.exp(
      logMountFactors(layout, record.mounts.length, current)[layout.mountIndex < 0 ? 0 : piece.mountIndex],
    );

  /** Time constants of the stages and, last, of the lag, kept clear of the stages. */
  const timeConstantsS = new Float64Array(stageCount + 1);
  const readTimeConstants = (): void => {
    for (let k = 0; k < stageCount; k++) timeConstantsS[k] = Math.exp(current[k]);
    if (layout.lagIndex < 0) return;
    timeConstantsS[stageCount] = lagApartFrom(Math.exp(current[layout.lagIndex]), timeConstantsS, stageCount);
  };

  /** xₖ and the convection's factor (xₙ / P₀)^(−q) of one piece. */
  const respond = (piece: FitPiece, p: number): void => {
    const begin = piece.offset;
    const end = begin + piece.stepS.length;
    const lagS = timeConstantsS[stageCount];
    if (lagParts !== undefined) fillPoleResponse(lagS, piece, lagParts[p]);
    for (let k = 0; k < stageCount; k++) {
      fillPoleResponse(timeConstantsS[k], piece, stageParts[k][p]);
      const { fromRest, decay } = stages[k];
      const start = current[startOf(p, k)];
      const x = unitRises[k];
      // A stage in series with the lag, by partial fractions: shares τₖ/(τₖ−τₛ) and −τₛ/(τₖ−τₛ).
      const share = lag === undefined ? 1 : timeConstantsS[k] / (timeConstantsS[k] - lagS);
      setSum(x, share, fromRest, share * start, decay, begin, end);
      if (lag !== undefined) {
        addScaled(x, 1 - share, lag.fromRest, begin, end);
        addScaled(x, (1 - share) * start, lag.decay, begin, end);
      }
    }
    if (exponent === 0) return;
    const x = unitRises[slowest];
    for (let i = begin; i < end; i++)
      convection[i] = Math.max(x[i] / atPowerW, LOWEST_POWER_SHARE) ** -exponent;
  };

  /** Weighted columns ∂model/∂rₖ = m · (xₖ + (ψ − 1) xₙ), from column `first` on. */
  const fillLinearColumns = (factor: number, from: number, rowCount: number, first: number): void => {
    for (let k = 0; k < stageCount; k++) {
      const column = block.columns[first + k];
      setScaledProduct(column, factor, rootWeights, unitRises[k], from, rowCount);
      if (exponent !== 0) {
        addWeightedBend(column, factor, rootWeights, convection, unitRises[slowest], from, rowCount);
      }
    }
  };

  return {
    nonlinearCount: layout.count,
    linearCount: stageCount,
    linearParameters: resistancesKPerW,
    lowerBounds: layout.lowerBounds,
    upperBounds: layout.upperBounds,
    residualsK,

    evaluate(parameters) {
      current.set(parameters);
      readTimeConstants();
      exponent = layout.exponentIndex < 0 ? structure.powerExponent : current[layout.exponentIndex];
      linearGram.fill(0);
      linearProducts.fill(0);
      pieces.forEach((piece, p) => {
        respond(piece, p);
        const factor = mountFactorOf(piece);
        forEachBlock(piece, block.capacity, (from, rowCount) => {
          fillLinearColumns(factor, from, rowCount, 0);
          target.set(weightedRiseK.subarray(from, from + rowCount));
          block.addGram(linearGram, stageCount, rowCount);
          block.addProducts(linearProducts, stageCount, rowCount, target);
        });
      });
      mirrorLowerTriangle(linearGram, stageCount);
      nonnegativeLeastSquares(linearGram, linearProducts, resistancesKPerW);
      totalKPerW = resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);

      let cost = 0;
      for (const piece of pieces) {
        const factor = mountFactorOf(piece);
        const begin = piece.offset;
        const end = begin + piece.stepS.length;
        residualsK.fill(0, begin, end);
        for (let k = 0; k < stageCount; k++)
          addScaled(residualsK, factor * resistancesKPerW[k], unitRises[k], begin, end);
        if (exponent !== 0)
          addBend(residualsK, factor * totalKPerW, convection, unitRises[slowest], begin, end);
        cost += subtractAndSquare(residualsK, piece.riseK, sampleWeights, begin, end);
      }
      for (const prior of layout.priors) {
        cost += ((current[prior.index] - prior.mean) / prior.standardDeviation) ** 2;
      }
      return cost;
    },

    accumulate() {
      gram.fill(0);
      gradient.fill(0);
      pieces.forEach((piece, p) => {
        const places = placesOf(piece, p);
        const width = places.length;
        const pieceGram = new Float64Array(width * width);
        const pieceGradient = new Float64Array(width);
        const factor = mountFactorOf(piece);
        forEachBlock(piece, block.capacity, (from, rowCount) => {
          fillNonlinearColumns(piece, p, factor, from, rowCount);
          fillLinearColumns(factor, from, rowCount, width - stageCount);
          setScaledProduct(target, 1, rootWeights, residualsK, from, rowCount);
          block.addGram(pieceGram, width, rowCount);
          block.addProducts(pieceGradient, width, rowCount, target);
        });
        for (let a = 0; a < width; a++) {
          gradient[places[a]] += pieceGradient[a];
          for (let b = 0; b <= a; b++) {
            const row = Math.max(places[a], places[b]);
            const column = Math.min(places[a], places[b]);
            gram[row * columnCount + column] += pieceGram[a * width + b];
          }
        }
      });
      mirrorLowerTriangle(gram, columnCount);
      for (const prior of layout.priors) {
        const precision = 1 / prior.standardDeviation ** 2;
        gram[prior.index * (columnCount + 1)] += precision;
        gradient[prior.index] += precision * (current[prior.index] - prior.mean);
      }
      return { gram, gradient };
    },
  };

  /** The parameters that touch a piece, in the order of its columns: stages, lag, exponent, mounts, starts, resistances. */
  function placesOf(piece: FitPiece, p: number): number[] {
    const places = Array.from({ length: stageCount }, (_, k) => k);
    if (layout.lagIndex >= 0) places.push(layout.lagIndex);
    if (layout.exponentIndex >= 0) places.push(layout.exponentIndex);
    for (const m of mountsTouching(piece)) places.push(layout.mountIndex + m);
    const startCount = piece.startKind === 'free' ? stageCount : 1;
    for (let k = 0; k < startCount; k++) places.push(startOf(p, k));
    for (let k = 0; k < stageCount; k++) places.push(layout.count + k);
    return places;
  }

  /** The free mount factors a piece depends on: its own, or for the last mount all the others'. */
  function mountsTouching(piece: FitPiece): number[] {
    const freeCount = layout.mountIndex < 0 ? 0 : record.mounts.length - 1;
    if (piece.mountIndex < freeCount) return [piece.mountIndex];
    return Array.from({ length: freeCount }, (_, m) => m);
  }

  /** Weighted columns ∂model/∂θ in the order of `placesOf`, without the resistances. */
  function fillNonlinearColumns(
    piece: FitPiece,
    p: number,
    factor: number,
    from: number,
    rowCount: number,
  ): void {
    const { columns } = block;
    const elapsedAt = from - piece.offset;
    const { elapsedS } = piece;
    const xn = unitRises[slowest];
    let next = stageCount;
    const lagColumn = layout.lagIndex < 0 ? undefined : columns[next++].fill(0, 0, rowCount);
    const exponentColumn = layout.exponentIndex < 0 ? undefined : columns[next++];
    const mounts = mountsTouching(piece);
    const mountColumns = mounts.map(() => columns[next++]);
    const free = piece.startKind === 'free';
    if (!free) columns[next].fill(0, 0, rowCount);

    for (let k = 0; k < stageCount; k++) {
      const timeConstantS = timeConstantsS[k];
      const start = current[startOf(p, k)];
      const { fromRest, sensitivity, decay } = stages[k];
      const column = columns[k];
      const startColumn = columns[free ? next + k : next];
      if (free) startColumn.fill(0, 0, rowCount);
      const gain = factor * resistancesKPerW[k];
      const bend = k === slowest && exponent !== 0 ? factor * totalKPerW : 0;
      if (lag === undefined && bend === 0) {
        fillStageColumn(
          column,
          startColumn,
          gain,
          start / timeConstantS,
          stages[k],
          elapsedS,
          elapsedAt,
          rootWeights,
          from,
          rowCount,
        );
        continue;
      }
      if (lag === undefined) {
        const startPerS = start / timeConstantS;
        for (let i = 0, j = from; i < rowCount; i++, j++) {
          const weight = rootWeights[j] * (gain + bend * bendSlope(j));
          column[i] = weight * (sensitivity[j] + startPerS * decay[j] * elapsedS[elapsedAt + i]);
          startColumn[i] += weight * decay[j];
        }
        continue;
      }
      const lagS = timeConstantsS[stageCount];
      const apartS = timeConstantS - lagS;
      const share = timeConstantS / apartS;
      const crossing = (timeConstantS * lagS) / (apartS * apartS);
      for (let i = 0, j = from; i < rowCount; i++, j++) {
        const weight = rootWeights[j] * (bend === 0 ? gain : gain + bend * bendSlope(j));
        const startTime = start * elapsedS[elapsedAt + i];
        const apart = crossing * (fromRest[j] + start * decay[j] - lag.fromRest[j] - start * lag.decay[j]);
        column[i] = weight * (share * (sensitivity[j] + (startTime * decay[j]) / timeConstantS) - apart);
        lagColumn![i] +=
          weight * ((1 - share) * (lag.sensitivity[j] + (startTime * lag.decay[j]) / lagS) + apart);
        startColumn[i] += weight * (share * decay[j] + (1 - share) * lag.decay[j]);
      }
    }
    if (exponentColumn !== undefined) {
      for (let i = 0, j = from; i < rowCount; i++, j++) {
        const logShare = Math.log(Math.max(xn[j] / atPowerW, LOWEST_POWER_SHARE));
        exponentColumn[i] = -factor * rootWeights[j] * totalKPerW * xn[j] * convection[j] * logShare;
      }
    }
    // A factor's logarithm changes the model by the model itself; the last mount's is minus the sum of the others'.
    const sign = mounts.length === 1 && mounts[0] === piece.mountIndex ? 1 : -1;
    for (const column of mountColumns) {
      for (let i = 0, j = from; i < rowCount; i++, j++) {
        column[i] = sign * rootWeights[j] * (residualsK[j] + piece.riseK[elapsedAt + i]);
      }
    }
  }

  /** d(g(x) − x)/dx at sample j. */
  function bendSlope(j: number): number {
    const bent = unitRises[slowest][j] / atPowerW > LOWEST_POWER_SHARE;
    return (bent ? (1 - exponent) * convection[j] : convection[j]) - 1;
  }
}

// Inner loops stand apart from the closure: the engine compiles them once, for typed arrays alone.

function setSum(
  out: Float64Array,
  scaleA: number,
  a: Float64Array,
  scaleB: number,
  b: Float64Array,
  begin: number,
  end: number,
): void {
  for (let i = begin; i < end; i++) out[i] = scaleA * a[i] + scaleB * b[i];
}

function addScaled(out: Float64Array, scale: number, a: Float64Array, begin: number, end: number): void {
  for (let i = begin; i < end; i++) out[i] += scale * a[i];
}

/** Adds what the convection's power law bends off the straight line: scale · (ψ − 1) · x. */
function addBend(
  out: Float64Array,
  scale: number,
  convection: Float64Array,
  x: Float64Array,
  begin: number,
  end: number,
): void {
  for (let i = begin; i < end; i++) out[i] += scale * (convection[i] - 1) * x[i];
}

/** Turns modelled into modelled minus measured; returns the weighted sum of squares. */
function subtractAndSquare(
  residuals: Float64Array,
  measured: Float64Array,
  weights: Float64Array,
  begin: number,
  end: number,
): number {
  let sum = 0;
  for (let i = begin; i < end; i++) {
    const residual = residuals[i] - measured[i - begin];
    residuals[i] = residual;
    sum += weights[i] * residual * residual;
  }
  return sum;
}

function setScaledProduct(
  out: Float64Array,
  scale: number,
  a: Float64Array,
  b: Float64Array,
  from: number,
  rowCount: number,
): void {
  for (let i = 0, j = from; i < rowCount; i++, j++) out[i] = scale * a[j] * b[j];
}

function addWeightedBend(
  out: Float64Array,
  scale: number,
  rootWeights: Float64Array,
  convection: Float64Array,
  x: Float64Array,
  from: number,
  rowCount: number,
): void {
  for (let i = 0, j = from; i < rowCount; i++, j++) {
    out[i] += scale * rootWeights[j] * (convection[j] - 1) * x[j];
  }
}

function fillStageColumn(
  out: Float64Array,
  startOut: Float64Array,
  gain: number,
  startPerS: number,
  response: PoleResponse,
  elapsedS: Float64Array,
  elapsedAt: number,
  rootWeights: Float64Array,
  from: number,
  rowCount: number,
): void {
  const { sensitivity, decay } = response;
  for (let i = 0, j = from; i < rowCount; i++, j++) {
    const weight = gain * rootWeights[j];
    out[i] = weight * (sensitivity[j] + startPerS * decay[j] * elapsedS[elapsedAt + i]);
    startOut[i] += weight * decay[j];
  }
}

function forEachBlock(
  piece: FitPiece,
  capacity: number,
  visit: (from: number, rowCount: number) => void,
): void {
  for (let done = 0; done < piece.stepS.length; done += capacity) {
    visit(piece.offset + done, Math.min(capacity, piece.stepS.length - done));
  }
}

function mirrorLowerTriangle(matrix: Float64Array, width: number): void {
  for (let a = 0; a < width; a++) for (let b = 0; b < a; b++) matrix[b * width + a] = matrix[a * width + b];
}
