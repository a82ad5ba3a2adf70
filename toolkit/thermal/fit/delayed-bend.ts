import { createWorkspace } from '../../numerics/workspace.js';
import { LOWEST_POWER_SHARE } from '../convection.js';
import { allocatePoleResponse } from '../pole-response.js';
import type { FittedCandidate } from './fit-candidate.js';
import { createFitParameters } from './fit-parameters.js';
import type { FitPiece, FitRecord } from './fit-record.js';
import { linearCountOf } from './fit-structure.js';
import { createRecordEvaluation } from './record-evaluation.js';
import { fillPieceResponse, spanOf } from './record-responses.js';

/** One evaluation is done at a time, and what is kept of it is copied. */
const workspace = createWorkspace();

/**
 * Where the parameters of a fit would move, to first order, if its bend of convection took the time it takes.
 *
 * The fit's model bends at once with what the slowest stage has followed of the power. A resistance that falls as the fins
 * warm lets less heat through until they have: C dT/dt = P − T / R(T), so that the bend b follows as slowly as the stage
 * itself, τₙ db/dt = g(xₙ) − xₙ − b with g(x) = x ψ(x). With h the difference that this makes to the modelled rise and J the
 * model's derivatives, one Gauss-Newton step moves the parameters by −(JᵀWJ)⁻¹ JᵀW h. Once all has settled both bends agree,
 * so what is moved is what the record shows only unsettled: most where a run is short beside the slowest stage.
 *
 * A fitted exponent q moves too, and h with it, which is proportional to q: the moves that follow each other sum to
 * δ / (1 − δ_q / q).
 *
 * @returns by parameter, [nonlinear, resistances], as in the candidate's covariance
 */
export function shiftByDelayedBend(
  record: FitRecord,
  candidate: FittedCandidate,
  sampleWeights: Float64Array,
): Float64Array {
  const { structure, layout, minimum, inverseGram } = candidate;
  const width = layout.count + linearCountOf(structure);
  const shift = new Float64Array(width);
  if (candidate.powerExponent === 0) return shift;
  const effectK = delayedLessImmediate(record, candidate);
  // Held against the model's own rise less the effect, the residuals are the effect, and the gradient JᵀW h.
  const pieces = record.pieces.map((piece) => {
    const { begin } = spanOf(piece);
    return {
      ...piece,
      riseK: piece.riseK.map((rise, i) => rise + candidate.residualsK[begin + i] - effectK[begin + i]),
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
  for (let a = 0; a < width; a++)
    for (let b = 0; b < width; b++) shift[a] -= inverseGram.get(a, b) * gradient[b];
  workspace.release();
  const growth =
    layout.exponentIndex < 0 ? 1 : growthOf(shift[layout.exponentIndex] / candidate.powerExponent);
  return shift.map((move) => growth * move);
}

/** Of a move that brings this share of itself about; the record says little where that is much. */
function growthOf(share: number): number {
  return 1 / (1 - Math.min(MOST_FEEDBACK, Math.max(-MOST_FEEDBACK, share)));
}

const MOST_FEEDBACK = 0.6;

/** h, K, over all pieces of the record in order. */
function delayedLessImmediate(record: FitRecord, candidate: FittedCandidate): Float64Array {
  const { structure, layout, minimum, timeConstantsS, resistancesKPerW, powerExponent } = candidate;
  const parameters = createFitParameters(record, structure, layout);
  parameters.read(minimum.parameters);
  const slowest = structure.stageCount - 1;
  const timeConstantS = timeConstantsS[slowest];
  const bentKPerW =
    resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0) - enclosureOf(candidate);
  const effectK = new Float64Array(record.sampleCount);
  record.pieces.forEach((piece, p) => {
    const x = responseOf(piece, timeConstantS, parameters.startOf(p, slowest));
    const scale = parameters.mountFactorOf(piece) * bentKPerW;
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
      effectK[piece.offset + i] = scale * (delayed - immediate);
    }
  });
  return effectK;
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
