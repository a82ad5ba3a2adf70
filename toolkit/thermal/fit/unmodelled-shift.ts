import { createWorkspace } from '../../numerics/workspace.js';
import { LOWEST_POWER_SHARE } from '../convection.js';
import { allocatePoleResponse } from '../pole-response.js';
import type { FittedCandidate } from './fit-candidate.js';
import { createFitParameters } from './fit-parameters.js';
import type { FitPiece, FitRecord } from './fit-record.js';
import { linearCountOf } from './fit-structure.js';
import { createRecordEvaluation } from './record-evaluation.js';
import { fillPieceResponse, spanOf } from './record-responses.js';

/**
 * Board, socket and case follow for a quarter of an hour and let a little less heat pass beside the cooler as they warm: a
 * stage of this time constant with this share of the resistance; tuned on simulated rigs.
 */
const BOARD_STAGE = { timeConstantS: 900, resistanceShare: 0.0038 } as const;

/** A move that brings more than this share of itself about is taken as if it brought this share about. */
const MOST_FEEDBACK = 0.6;

/** One evaluation is done at a time, and what is kept of it is copied. */
const workspace = createWorkspace();

/**
 * Where the parameters of a fit would move, to first order, if its model held two slow effects that it leaves out.
 *
 * The bend of convection acts at once in the model. A resistance that falls as the fins warm lets less heat through until
 * they have: C dT/dt = P − T / R(T), so that the bend b follows as slowly as the slowest stage itself, τₙ db/dt = g(xₙ) −
 * xₙ − b with g(x) = x ψ(x). And the board warms too (`BOARD_STAGE`). With h the difference that an effect makes to the
 * modelled rise and J the model's derivatives, one Gauss-Newton step moves the parameters by δ = −(JᵀWJ)⁻¹ JᵀW h. It moves
 * what the record shows only unsettled: most where a run is short beside the slowest stage.
 *
 * A fitted exponent q moves with its bend, to which h is proportional: the moves that follow each other sum to
 * δ / (1 − δ_q / q).
 *
 * @returns by parameter, [nonlinear, resistances], as in the candidate's covariance; the resistance of the board's stage is
 * taken into that of the slowest
 */
export function unmodelledShift(
  record: FitRecord,
  candidate: FittedCandidate,
  sampleWeights: Float64Array,
): Float64Array {
  const { structure, layout, powerExponent } = candidate;
  const { bendK, boardK, boardKPerW } = effectsOf(record, candidate);
  const shift = shiftBy(boardK, record, candidate, sampleWeights);
  shift[layout.count + structure.stageCount - 1] += boardKPerW;
  if (powerExponent === 0) return shift;
  const byBend = shiftBy(bendK, record, candidate, sampleWeights);
  const feedback = layout.exponentIndex < 0 ? 0 : byBend[layout.exponentIndex] / powerExponent;
  const growth = 1 / (1 - Math.min(MOST_FEEDBACK, Math.max(-MOST_FEEDBACK, feedback)));
  return shift.map((move, i) => move + growth * byBend[i]);
}

/** −(JᵀWJ)⁻¹ JᵀW h. */
function shiftBy(
  effectK: Float64Array,
  record: FitRecord,
  { structure, layout, minimum, inverseGram, residualsK }: FittedCandidate,
  sampleWeights: Float64Array,
): Float64Array {
  // Held against the model's own rise less the effect, the residuals are the effect, and the gradient is JᵀW h.
  const pieces = record.pieces.map((piece) => {
    const { begin } = spanOf(piece);
    return {
      ...piece,
      riseK: piece.riseK.map((rise, i) => rise + residualsK[begin + i] - effectK[begin + i]),
    };
  });
  const evaluation = createRecordEvaluation(
    { ...record, pieces },
    structure,
    layout,
    sampleWeights,
    workspace,
  );
  evaluation.respond(minimum.parameters);
  evaluation.settle(minimum.linearParameters);
  const { gradient } = evaluation.accumulate();
  const shift = new Float64Array(layout.count + linearCountOf(structure));
  for (let a = 0; a < shift.length; a++)
    for (let b = 0; b < shift.length; b++) shift[a] -= inverseGram.get(a, b) * gradient[b];
  workspace.release();
  return shift;
}

/** What the two effects would add to the modelled rise, K, over all pieces of the record in order. */
function effectsOf(
  record: FitRecord,
  candidate: FittedCandidate,
): { readonly bendK: Float64Array; readonly boardK: Float64Array; readonly boardKPerW: number } {
  const { structure, layout, minimum, timeConstantsS, resistancesKPerW, powerExponent } = candidate;
  const parameters = createFitParameters(record, structure, layout);
  parameters.read(minimum.parameters);
  const slowest = structure.stageCount - 1;
  const timeConstantS = timeConstantsS[slowest];
  const bentKPerW =
    resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0) - enclosureOf(candidate);
  const boardKPerW = BOARD_STAGE.resistanceShare * bentKPerW;
  const bendK = new Float64Array(record.sampleCount);
  const boardK = new Float64Array(record.sampleCount);
  record.pieces.forEach((piece, p) => {
    const startW = parameters.startOf(p, slowest);
    const factor = parameters.mountFactorOf(piece);
    const x = responseOf(piece, timeConstantS, startW);
    const ofBoard = responseOf(piece, BOARD_STAGE.timeConstantS, startW);
    let before = 0;
    let delayed = 0;
    for (let i = 0; i < x.length; i++) {
      const share = Math.max(x[i] / structure.atPowerW, LOWEST_POWER_SHARE);
      const immediate = x[i] * (Math.exp(-powerExponent * Math.log(share)) - 1);
      if (i === 0) delayed = immediate;
      else {
        // Between two samples the drive is their mean.
        const between = (before + immediate) / 2;
        delayed = between + Math.exp(-piece.stepS[i] / timeConstantS) * (delayed - between);
      }
      before = immediate;
      bendK[piece.offset + i] = factor * bentKPerW * (delayed - immediate);
      boardK[piece.offset + i] = factor * boardKPerW * ofBoard[i];
    }
  });
  return { bendK, boardK, boardKPerW };
}

/** What an enclosure adds to the stages' resistances, and does not bend. */
function enclosureOf({ structure, minimum }: FittedCandidate): number {
  return structure.enclosure === true ? minimum.linearParameters[structure.stageCount] : 0;
}

function responseOf(piece: FitPiece, timeConstantS: number, startW: number): Float64Array {
  const response = allocatePoleResponse(piece.stepS.length);
  fillPieceResponse(piece, timeConstantS, startW, response);
  return response.value;
}
