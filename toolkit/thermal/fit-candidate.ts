import { minimizeSeparable, type SeparableMinimum } from '../numerics/separable-least-squares.js';
import { createFitEvaluation } from './fit-evaluation.js';
import type { FitRecord } from './fit-record.js';
import { type FitStructure, layoutParameters, type ParameterLayout } from './fit-structure.js';
import { type CoarseSpectrum, clusterTimeConstants } from './starting-poles.js';

/** One candidate structure, fitted. */
export interface FittedCandidate {
  readonly structure: FitStructure;
  readonly layout: ParameterLayout;
  readonly minimum: SeparableMinimum;
  /** Fastest first. */
  readonly timeConstantsS: readonly number[];
  readonly resistancesKPerW: readonly number[];
  readonly sensorLagS?: number;
  readonly powerExponent: number;
  /** Modelled minus measured, K, of each piece of the record. */
  readonly residualsK: readonly Float64Array[];
  /** Why it cannot be used, if so. */
  readonly rejected?: string;
}

/** Neighbouring time constants closer than this ratio describe one stage, not two. */
const LEAST_POLE_RATIO = 1.6;

/** A stage with less than this share of the total resistance is not there. */
const LEAST_RESISTANCE_SHARE = 1e-3;

/**
 * Fits one candidate structure.
 *
 * Starts from the clusters of the coarse spectrum and from each simpler or earlier candidate with one time
 * constant added; the start with the lowest sum of squares is the one searched from.
 */
export function fitCandidate(
  record: FitRecord,
  structure: FitStructure,
  weights: readonly number[],
  spectrum: CoarseSpectrum,
  earlier: readonly FittedCandidate[],
): FittedCandidate {
  const layout = layoutParameters(record, structure);
  const evaluation = createFitEvaluation(record, structure, layout, weights);
  const starts = startingPoints(record, structure, layout, spectrum, earlier);
  let best = starts[0];
  let bestCost = Number.POSITIVE_INFINITY;
  if (starts.length > 1) {
    for (const start of starts) {
      const cost = evaluation.evaluate(start);
      if (cost < bestCost) {
        best = start;
        bestCost = cost;
      }
    }
  }
  const minimum = minimizeSeparable(evaluation, best);

  const order = Array.from({ length: structure.stageCount }, (_, k) => k).sort(
    (a, b) => minimum.parameters[a] - minimum.parameters[b],
  );
  const timeConstantsS = order.map((k) => Math.exp(minimum.parameters[k]));
  const resistancesKPerW = order.map((k) => minimum.linearParameters[k]);
  const residualsK: Float64Array[] = [];
  let offset = 0;
  for (const piece of record.pieces) {
    residualsK.push(evaluation.residualsK.slice(offset, offset + piece.stepS.length));
    offset += piece.stepS.length;
  }
  const sensorLagS = layout.lagIndex < 0 ? undefined : Math.exp(minimum.parameters[layout.lagIndex]);
  const rejected = reasonToReject(minimum, layout, timeConstantsS, resistancesKPerW, order);
  return {
    structure,
    layout,
    minimum,
    timeConstantsS,
    resistancesKPerW,
    powerExponent:
      layout.exponentIndex < 0 ? structure.powerExponent : minimum.parameters[layout.exponentIndex],
    residualsK,
    ...(sensorLagS === undefined ? {} : { sensorLagS }),
    ...(rejected === undefined ? {} : { rejected }),
  };
}

function startingPoints(
  record: FitRecord,
  structure: FitStructure,
  layout: ParameterLayout,
  spectrum: CoarseSpectrum,
  earlier: readonly FittedCandidate[],
): Float64Array[] {
  const { stageCount, sensorLag } = structure;
  const same = earlier.find(
    (candidate) =>
      candidate.structure.stageCount === stageCount && candidate.structure.sensorLag === sensorLag,
  );
  if (same !== undefined) return [same.minimum.parameters];

  const sets = [clusterTimeConstants(spectrum, stageCount)];
  for (const candidate of earlier) {
    const { timeConstantsS } = candidate;
    if (timeConstantsS.length === stageCount) sets.push([...timeConstantsS]);
    if (timeConstantsS.length === stageCount - 1) {
      const last = timeConstantsS[timeConstantsS.length - 1];
      sets.push([timeConstantsS[0] / 5, ...timeConstantsS], [...timeConstantsS, last * 4]);
      for (let k = 0; k + 1 < timeConstantsS.length; k++) {
        sets.push(timeConstantsS.toSpliced(k + 1, 0, Math.sqrt(timeConstantsS[k] * timeConstantsS[k + 1])));
      }
    }
  }
  const lags = sensorLag ? [1, 3, 9].map((steps) => steps * record.medianStepS) : [undefined];
  const latest = earlier[earlier.length - 1];
  return sets.flatMap((timeConstantsS) =>
    lags.map((lagS) => {
      const start = new Float64Array(layout.count);
      start.set(timeConstantsS.map(Math.log));
      if (lagS !== undefined) start[layout.lagIndex] = Math.log(lagS);
      for (const prior of layout.priors) start[prior.index] = prior.mean;
      layout.startIndices.forEach((first, p) => {
        const free = record.pieces[p].startKind === 'free';
        const power =
          latest === undefined || free
            ? spectrum.startPowersW[p]
            : latest.minimum.parameters[latest.layout.startIndices[p]];
        start.fill(power, first, first + (free ? stageCount : 1));
      });
      return start;
    }),
  );
}

function reasonToReject(
  minimum: SeparableMinimum,
  layout: ParameterLayout,
  timeConstantsS: readonly number[],
  resistancesKPerW: readonly number[],
  order: readonly number[],
): string | undefined {
  if (!minimum.termination.converged) return `not converged: ${minimum.termination.message}`;
  const total = resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
  if (resistancesKPerW.some((resistance) => resistance < LEAST_RESISTANCE_SHARE * total)) {
    return 'a stage has no resistance';
  }
  for (let k = 1; k < timeConstantsS.length; k++) {
    if (timeConstantsS[k] < LEAST_POLE_RATIO * timeConstantsS[k - 1]) return 'two time constants coincide';
  }
  const atBound = (index: number): boolean =>
    minimum.parameters[index] <= layout.lowerBounds[index] || minimum.parameters[index] >= layout.upperBounds[index];
  if (order.some(atBound)) return 'a time constant is outside what the run can show';
  if (layout.lagIndex >= 0 && atBound(layout.lagIndex)) return 'the sensor lag is outside what the run can show';
  return undefined;
}
