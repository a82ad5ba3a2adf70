import type { Run } from '../../runs/run.js';
import { coarsenRecord, finishableRecord } from './coarse-record.js';
import { type FittedCandidate, fitCandidate } from './fit-candidate.js';
import { type CommonGround, type FitRecord, pointWeightsOf, recordOfRuns } from './fit-record.js';
import type { FitStructure } from './fit-structure.js';
import { type OrderTable, weighCandidates } from './order-table.js';
import { LEAST_NOISE_K, type ResidualNoise, residualNoise } from './residual-correlation.js';
import { spikeMask } from './spikes.js';
import { type CoarseSpectrum, coarseSpectrum } from './starting-poles.js';

/** All candidates fitted to the full record, with what their weights rest on. */
export interface FittedCandidates {
  readonly record: FitRecord;
  readonly sampleWeights: Float64Array;
  readonly spectrum: CoarseSpectrum;
  readonly noise: ResidualNoise;
  /** 0 for samples that got no weight, 1 for the others. */
  readonly spikeMask: Float64Array;
  readonly candidates: readonly FittedCandidate[];
  readonly table: OrderTable;
  /** Fits one more structure to the same record with the same weights, from the chosen candidate. */
  refit(structure: FitStructure): FittedCandidate;
}

/** What the full record of a fit is made with. */
export interface FinishedOn extends CommonGround {
  /** Longer records are finished on block means; default: a million samples. */
  readonly mostSamples?: number;
}

/** A draft describes the data as well as the best one if its sum of squares is within this share of it. */
const AS_GOOD_SHARE = 0.02;

/** The air's delay is put right where the fit's slowest time constant differs from the draft's by this ratio. */
const DELAY_RATIO = 1.1;

/**
 * Fits all candidate structures.
 *
 * First as drafts on a coarse record, with equal weights and the air undelayed. The simplest of the drafts that
 * describe the data tells how slowly the cooler passes changes of the air on and, on the full record, which samples
 * are spikes, the noise of each run and how correlated it is. With that knowledge all candidates are finished on the
 * full record; once more where the air moves and its delay turns out different.
 */
export function fitCandidates(
  runs: readonly Run[],
  undelayed: FitRecord,
  structures: readonly FitStructure[],
  common: FinishedOn = {},
): FittedCandidates {
  const coarse = coarsenRecord(undelayed);
  const spectrum = coarseSpectrum(coarse, structures[0].atPowerW);
  const drafts: FittedCandidate[] = [];
  for (const structure of structures) {
    drafts.push(fitCandidate(coarse.record, structure, coarse.sampleWeights, spectrum, drafts));
  }
  const usable = drafts.filter((draft) => draft.rejected === undefined);
  const delayS = usable.length === 0 ? 0 : slowestOf(describing(usable));
  const finished = finishCandidates(runs, drafts, spectrum, delayS, common);
  const { chosen } = finished.table;
  const airMoves = runs.some((run) => run.ambientC !== undefined);
  const ratio = slowestOf(chosen) / Math.max(delayS, Number.MIN_VALUE);
  if (chosen.rejected !== undefined || !airMoves || (ratio < DELAY_RATIO && ratio > 1 / DELAY_RATIO))
    return finished;
  return finishCandidates(runs, finished.candidates, spectrum, slowestOf(chosen), common);
}

function finishCandidates(
  runs: readonly Run[],
  drafts: readonly FittedCandidate[],
  spectrum: CoarseSpectrum,
  airTimeConstantS: number,
  common: FinishedOn,
): FittedCandidates {
  const record = finishableRecord(recordOfRuns(runs, airTimeConstantS, common), common.mostSamples);
  const { residualsK } = fitCandidate(
    record,
    describing(drafts).structure,
    pointWeightsOf(record),
    spectrum,
    drafts,
  );
  const mask = spikeMask(record, residualsK);
  const noise = residualNoise(record, residualsK, mask);
  const sampleWeights = weightsOf(record, noise, mask);
  const candidates = drafts.map((draft) =>
    fitCandidate(record, draft.structure, sampleWeights, spectrum, drafts),
  );
  const table = weighCandidates(record, candidates, noise);
  return {
    record,
    sampleWeights,
    spectrum,
    noise,
    spikeMask: mask,
    candidates,
    table,
    refit: (structure) => fitCandidate(record, structure, sampleWeights, spectrum, [table.chosen]),
  };
}

/** The first, hence simplest, of the candidates whose sum of squares is as good as the best one's. */
function describing(candidates: readonly FittedCandidate[]): FittedCandidate {
  const least = Math.min(...candidates.map((candidate) => candidate.weightedSquares));
  const found = candidates.find((candidate) => candidate.weightedSquares <= least * (1 + AS_GOOD_SHARE));
  return found ?? candidates[candidates.length - 1];
}

function slowestOf({ timeConstantsS }: FittedCandidate): number {
  return timeConstantsS[timeConstantsS.length - 1];
}

/** Inverse variance of each sample, its share of the correlation included; 0 for spikes. */
export function weightsOf(record: FitRecord, noise: ResidualNoise, mask: Float64Array): Float64Array {
  const { blockLength = 1 } = record;
  const weights = pointWeightsOf(record);
  for (const { runIndex, offset, stepS } of record.pieces) {
    const rmsK = Math.max(noise.runRmsK[runIndex], LEAST_NOISE_K);
    const weight = 1 / (rmsK ** 2 * noise.samplesPerIndependentSample);
    for (let i = offset; i < offset + stepS.length; i++) weights[i] *= (weight * mask[i]) / blockLength;
  }
  return weights;
}
