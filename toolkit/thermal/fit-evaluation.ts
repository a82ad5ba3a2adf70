import { nonnegativeLeastSquares } from '../numerics/nonnegative-least-squares.js';
import type { SeparableProblem } from '../numerics/separable-least-squares.js';
import type { FitPiece, FitRecord } from './fit-record.js';
import { type FitStructure, logMountFactors, type ParameterLayout } from './fit-structure.js';
import { allocatePoleResponse, fillPoleResponse, type PoleResponse } from './pole-response.js';

/**
 * The separable least-squares problem of one candidate: for given nonlinear parameters the resistances rₖ ≥ 0
 * follow from a small linear problem, and what is left to minimise depends on the nonlinear ones alone
 * (variable projection [GolubPereyra1973], with Kaufman's simplification of the Jacobian [Kaufman1975]).
 *
 * Model, for the rise of the measured temperature over the intake air:
 *
 *   rise(t) = m · ( Σₖ rₖ xₖ(t) + R · ( g(xₙ(t)) − xₙ(t) ) ),   R = Σₖ rₖ,   g(x) = x · (x / P₀)^(−q)
 *
 * xₖ is the unit-gain response of pole k (through the sensor lag, if there is one) to the measured power, m the
 * mount's factor, P₀ the power at which R is stated. The second term puts the fall of the resistance with power
 * where it belongs physically: on the outermost, slowest stage. In steady state rise = P · R · (P / P₀)^(−q).
 *
 * Everything is accumulated as normal equations in one pass over the samples, so the cost is linear in samples
 * and nothing of the size samples × parameters is stored.
 */
export interface FitEvaluation extends SeparableProblem {
  /** Modelled minus measured, K, of all pieces in order, at the last `evaluate`. */
  readonly residualsK: Float64Array;
}

/** Below this share of the reference power the convection's power law is continued as a constant. */
const LOWEST_POWER_SHARE = 0.05;

/** Time constants closer than this, relatively, are pulled apart where lag and stage cross during the search. */
const CLOSEST = 1e-5;

export function createFitEvaluation(
  record: FitRecord,
  structure: FitStructure,
  layout: ParameterLayout,
  sampleWeights: Float64Array,
): FitEvaluation {
  const { stageCount, sensorLag, atPowerW } = structure;
  const columnCount = layout.count + stageCount;
  const { sampleCount } = record;
  const residualsK = new Float64Array(sampleCount);
  const resistancesKPerW = new Float64Array(stageCount);
  const linearGram = new Float64Array(stageCount * stageCount);
  const linearProducts = new Float64Array(stageCount);
  const gram = new Float64Array(columnCount * columnCount);
  const gradient = new Float64Array(columnCount);
  const current = new Float64Array(layout.count);

  const stages: PoleResponse[] = Array.from({ length: stageCount }, () => allocatePoleResponse(sampleCount));
  const lag = sensorLag ? allocatePoleResponse(sampleCount) : undefined;
  /** xₖ of the model, and d(g(xₙ))/dxₙ and xₙ's own convection factor (x / P₀)^(−q). */
  const unitRises = Array.from({ length: stageCount }, () => new Float64Array(sampleCount));
  const convectionFactor = new Float64Array(sampleCount).fill(1);
  const viewsOf = (response: PoleResponse): PoleResponse[] =>
    record.pieces.map(({ offset, stepS }) => ({
      fromRest: response.fromRest.subarray(offset, offset + stepS.length),
      sensitivity: response.sensitivity.subarray(offset, offset + stepS.length),
      decay: response.decay.subarray(offset, offset + stepS.length),
    }));
  const stageViews = stages.map(viewsOf);
  const lagViews = lag === undefined ? undefined : viewsOf(lag);

  const exponentOf = (parameters: Float64Array): number =>
    layout.exponentIndex < 0 ? structure.powerExponent : parameters[layout.exponentIndex];
  const mountFactor = (piece: FitPiece): number =>
    layout.mountIndex < 0
      ? 1
      : Math.exp(logMountFactors(layout, record.mounts.length, current)[piece.mountIndex]);
  const startIndex = (p: number, k: number): number =>
    layout.startIndices[p] + (record.pieces[p].startKind === 'free' ? k : 0);

  /** Time constants of stages and lag, the lag kept clear of the stages. */
  const timeConstants = new Float64Array(stageCount + 1);
  const readTimeConstants = (): void => {
    for (let k = 0; k < stageCount; k++) timeConstants[k] = Math.exp(current[k]);
    if (layout.lagIndex < 0) return;
    let lagS = Math.exp(current[layout.lagIndex]);
    for (let k = 0; k < stageCount; k++) {
      if (Math.abs(lagS / timeConstants[k] - 1) < CLOSEST) lagS = timeConstants[k] * (1 + CLOSEST);
    }
    timeConstants[stageCount] = lagS;
  };

  return {
    nonlinearCount: layout.count,
    linearCount: stageCount,
    linearParameters: resistancesKPerW,
    lowerBounds: layout.lowerBounds,
    upperBounds: layout.upperBounds,
    residualsK,
    evaluate(parameters: Float64Array): number {
      current.set(parameters);
      readTimeConstants();
      const exponent = exponentOf(current);
      linearGram.fill(0);
      linearProducts.fill(0);
      const slowest = unitRises[stageCount - 1];
      record.pieces.forEach((piece, p) => {
        for (let k = 0; k < stageCount; k++) fillPoleResponse(timeConstants[k], piece, stageViews[k][p]);
        if (lagViews !== undefined) fillPoleResponse(timeConstants[stageCount], piece, lagViews[p]);
        const factor = mountFactor(piece);
        const begin = piece.offset;
        const end = begin + piece.stepS.length;
        for (let k = 0; k < stageCount; k++) {
          const start = current[startIndex(p, k)];
          const { fromRest, decay } = stages[k];
          const share =
            lag === undefined ? 1 : timeConstants[k] / (timeConstants[k] - timeConstants[stageCount]);
          const x = unitRises[k];
          for (let i = begin; i < end; i++) {
            const own = fromRest[i] + start * decay[i];
            x[i] =
              lag === undefined ? own : share * own + (1 - share) * (lag.fromRest[i] + start * lag.decay[i]);
          }
        }
        if (exponent !== 0) {
          for (let i = begin; i < end; i++) {
            convectionFactor[i] = Math.max(slowest[i] / atPowerW, LOWEST_POWER_SHARE) ** -exponent;
          }
        }
        for (let i = begin; i < end; i++) {
          const bend = (convectionFactor[i] - 1) * slowest[i];
          const measured = piece.riseK[i - begin];
          const weight = sampleWeights[i];
          for (let k = 0; k < stageCount; k++) {
            const column = factor * (unitRises[k][i] + bend);
            linearProducts[k] += weight * column * measured;
            for (let l = 0; l <= k; l++) {
              linearGram[k * stageCount + l] += weight * column * factor * (unitRises[l][i] + bend);
            }
          }
        }
      });
      for (let k = 0; k < stageCount; k++) {
        for (let l = 0; l < k; l++) linearGram[l * stageCount + k] = linearGram[k * stageCount + l];
      }
      nonnegativeLeastSquares(linearGram, linearProducts, resistancesKPerW);

      let cost = 0;
      const total = sumOf(resistancesKPerW);
      record.pieces.forEach((piece) => {
        const begin = piece.offset;
        const end = begin + piece.stepS.length;
        const factor = mountFactor(piece);
        for (let i = begin; i < end; i++) {
          let modelled = total * (convectionFactor[i] - 1) * slowest[i];
          for (let k = 0; k < stageCount; k++) modelled += resistancesKPerW[k] * unitRises[k][i];
          const residual = factor * modelled - piece.riseK[i - begin];
          residualsK[i] = residual;
          cost += sampleWeights[i] * residual * residual;
        }
      });
      for (const prior of layout.priors) {
        cost += ((current[prior.index] - prior.mean) / prior.standardDeviation) ** 2;
      }
      return cost;
    },
    accumulate(): { gram: Float64Array; gradient: Float64Array } {
      gram.fill(0);
      gradient.fill(0);
      const exponent = exponentOf(current);
      const total = sumOf(resistancesKPerW);
      const slowest = unitRises[stageCount - 1];
      record.pieces.forEach((piece, p) => {
        const freeStart = piece.startKind === 'free';
        // The columns that are not zero in this piece: its place in the parameter vector, for each.
        const columns = Array.from({ length: stageCount }, (_, k) => k);
        const lagColumn = layout.lagIndex < 0 ? -1 : columns.push(layout.lagIndex) - 1;
        const exponentColumn = layout.exponentIndex < 0 ? -1 : columns.push(layout.exponentIndex) - 1;
        // The last mount's factor follows from the others', see `ParameterLayout.mountIndex`.
        const freeMounts = layout.mountIndex < 0 ? 0 : record.mounts.length - 1;
        const lastMount = piece.mountIndex === freeMounts;
        const mountColumn = columns.length;
        const mountColumnCount = freeMounts === 0 ? 0 : lastMount ? freeMounts : 1;
        for (let m = 0; m < mountColumnCount; m++) {
          columns.push(layout.mountIndex + (lastMount ? m : piece.mountIndex));
        }
        const startColumn = columns.length;
        for (let k = 0; k < (freeStart ? stageCount : 1); k++) columns.push(startIndex(p, k));
        const linearColumn = columns.length;
        for (let k = 0; k < stageCount; k++) columns.push(layout.count + k);
        const width = columns.length;
        const row = new Float64Array(width);
        const localGram = new Float64Array(width * width);
        const localGradient = new Float64Array(width);

        const factor = mountFactor(piece);
        const lagS = timeConstants[stageCount];
        const begin = piece.offset;
        const end = begin + piece.stepS.length;
        let elapsedS = 0;
        for (let i = begin; i < end; i++) {
          elapsedS += piece.stepS[i - begin];
          const x = slowest[i];
          const psi = convectionFactor[i];
          const bent = x / atPowerW > LOWEST_POWER_SHARE;
          const bendSlope = (bent ? (1 - exponent) * psi : psi) - 1;
          let modelled = total * (psi - 1) * x;
          if (lagColumn >= 0) row[lagColumn] = 0;
          if (!freeStart) row[startColumn] = 0;
          for (let k = 0; k < stageCount; k++) {
            const timeConstantS = timeConstants[k];
            const start = current[startIndex(p, k)];
            const gain = factor * (resistancesKPerW[k] + (k === stageCount - 1 ? total * bendSlope : 0));
            modelled += resistancesKPerW[k] * unitRises[k][i];
            row[linearColumn + k] = factor * (unitRises[k][i] + (psi - 1) * x);
            const { fromRest, sensitivity, decay } = stages[k];
            const slope = sensitivity[i] + (start * decay[i] * elapsedS) / timeConstantS;
            let startSlope = decay[i];
            if (lag === undefined) {
              row[k] = gain * slope;
            } else {
              const apart = timeConstantS - lagS;
              const share = timeConstantS / apart;
              const crossing = (timeConstantS * lagS) / (apart * apart);
              const own = fromRest[i] + start * decay[i];
              const lagged = lag.fromRest[i] + start * lag.decay[i];
              const lagSlope = lag.sensitivity[i] + (start * lag.decay[i] * elapsedS) / lagS;
              row[k] = gain * (share * slope - crossing * (own - lagged));
              row[lagColumn] += gain * ((1 - share) * lagSlope + crossing * (own - lagged));
              startSlope = share * decay[i] + (1 - share) * lag.decay[i];
            }
            if (freeStart) row[startColumn + k] = gain * startSlope;
            else row[startColumn] += gain * startSlope;
          }
          if (exponentColumn >= 0) {
            row[exponentColumn] =
              -factor * total * x * psi * Math.log(Math.max(x / atPowerW, LOWEST_POWER_SHARE));
          }
          for (let m = 0; m < mountColumnCount; m++) {
            row[mountColumn + m] = (lastMount ? -factor : factor) * modelled;
          }
          const residual = residualsK[i];
          for (let a = 0; a < width; a++) {
            const weighted = sampleWeights[i] * row[a];
            localGradient[a] += weighted * residual;
            for (let b = 0; b <= a; b++) localGram[a * width + b] += weighted * row[b];
          }
        }
        for (let a = 0; a < width; a++) {
          gradient[columns[a]] += localGradient[a];
          for (let b = 0; b <= a; b++) {
            gram[columns[a] * columnCount + columns[b]] += localGram[a * width + b];
            if (a !== b) gram[columns[b] * columnCount + columns[a]] += localGram[a * width + b];
          }
        }
      });
      for (const prior of layout.priors) {
        const precision = 1 / prior.standardDeviation ** 2;
        gram[prior.index * (columnCount + 1)] += precision;
        gradient[prior.index] += precision * (current[prior.index] - prior.mean);
      }
      return { gram, gradient };
    },
  };
}

function sumOf(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value;
  return sum;
}
