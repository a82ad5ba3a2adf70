import { aicc, akaikeWeights } from '../../numerics/information-criterion.js';
import type { OrderCandidate } from '../cooler-model.js';
import type { FittedCandidate } from './fit-candidate.js';
import type { FitRecord } from './fit-record.js';
import { LEAST_NOISE_K, type ResidualNoise } from './residual-correlation.js';

/** The candidates weighed against each other on one effective sample size. */
export interface OrderTable {
  readonly orders: readonly OrderCandidate[];
  readonly chosen: FittedCandidate;
  readonly effectiveSampleCount: number;
  /** Akaike weights over all candidates that converged, the rejected ones included: opinions on the total resistance. */
  readonly opinions: readonly number[];
}

/** Weighs the candidates by their corrected Akaike criterion and chooses among those that are not rejected. */
export function weighCandidates(
  record: FitRecord,
  candidates: readonly FittedCandidate[],
  noise: ResidualNoise,
): OrderTable {
  const effectiveSampleCount = record.sampleCount / noise.samplesPerIndependentSample;
  const parameterCounts = candidates.map(({ layout, structure }) => layout.count + structure.stageCount);
  // What rounding of the log leaves, in the units of the weights: two candidates that both meet the data within it
  // differ by their parameters alone.
  const roundings = noise.runRmsK.map((rmsK) => (LEAST_NOISE_K / Math.max(rmsK, LEAST_NOISE_K)) ** 2);
  const rounding = roundings.reduce((sum, share) => sum + share, 0) / roundings.length;
  // Without a criterion a candidate could never be chosen, however much better it fits: where the residuals leave too
  // few independent samples for the largest one, all are judged on the fewest that give it a criterion, its penalty high.
  const criterionSampleCount = Math.max(effectiveSampleCount, Math.max(...parameterCounts) + 3);
  const scores = candidates.map((candidate, c) => {
    const parameterCount = parameterCounts[c];
    const weightedMean = (candidate.weightedSquares * noise.samplesPerIndependentSample) / record.sampleCount;
    return {
      parameterCount,
      aicc: aicc({
        sumOfSquares: criterionSampleCount * (weightedMean + rounding),
        sampleCount: criterionSampleCount,
        parameterCount,
      }),
    };
  });
  const criteria = candidates.map((candidate, c) =>
    candidate.minimum.termination.converged ? scores[c].aicc : undefined,
  );
  const standingCriteria = criteria.map((criterion, c) =>
    candidates[c].rejected === undefined ? criterion : undefined,
  );
  const weights = weightsOf(standingCriteria);
  // By the criterion, not by the weight: where a rejected candidate fits far better, all other weights round to 0.
  const standing = candidates.map((candidate, c) =>
    candidate.rejected === undefined ? (criteria[c] ?? Number.MAX_VALUE) : Number.POSITIVE_INFINITY,
  );
  const chosenIndex = standing.indexOf(Math.min(...standing));
  const orders = candidates.map((candidate, c) => {
    const squares = candidate.residualsK.reduce((sum, residual) => sum + residual * residual, 0);
    return {
      stageCount: candidate.structure.stageCount,
      sensorLag: candidate.structure.sensorLag,
      parameterCount: scores[c].parameterCount,
      residualRmsK: Math.sqrt(squares / record.sampleCount),
      ...(scores[c].aicc === undefined ? {} : { aicc: scores[c].aicc }),
      weight: weights[c],
      chosen: c === chosenIndex,
      ...(candidate.rejected === undefined ? {} : { rejected: candidate.rejected }),
    };
  });
  return { orders, chosen: candidates[chosenIndex], effectiveSampleCount, opinions: weightsOf(criteria) };
}

/** Akaike weights; all 0 where no candidate has a criterion. */
function weightsOf(criteria: readonly (number | undefined)[]): number[] {
  return criteria.some((criterion) => criterion !== undefined)
    ? akaikeWeights(criteria)
    : criteria.map(() => 0);
}
