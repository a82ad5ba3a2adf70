import { studentTQuantile } from '../numerics/distributions.js';
import type { Estimate } from '../numerics/estimate.js';
import { estimated, unavailable } from '../numerics/estimates.js';
import { aicc, akaikeWeights } from '../numerics/information-criterion.js';
import { quantileOf } from '../numerics/order-statistic.js';
import { ASSUMED_EXPONENT } from './assumed-exponent.js';
import type { CoolerModel, OrderCandidate, ResistanceLaw } from './cooler-model.js';
import type { FittedCandidate } from './fit-candidate.js';
import { type FitRecord, NOMINAL_AIR_C } from './fit-record.js';
import { logMountFactors } from './fit-structure.js';
import { ladderFromPoles } from './ladder.js';
import { LEAST_NOISE_K, type ResidualNoise } from './residual-correlation.js';

/** Fewest degrees of freedom an interval is built on: below this Student's t says more about itself than the data. */
const LEAST_DEGREES_OF_FREEDOM = 3;

/** Residuals of this last part of each run tell how far peaks stand above the mean, s. */
const END_WINDOW_S = 120;

/** Weighs the candidates, chooses one, and states it as a model with its uncertainty; findings are added later. */
export function modelOfCandidates(input: {
  readonly record: FitRecord;
  readonly candidates: readonly FittedCandidate[];
  readonly noise: ResidualNoise;
  readonly exponentSource: 'fitted' | 'assumed';
  readonly exponentFixed: boolean;
  readonly label: string;
}): CoolerModel {
  const { record, candidates, noise } = input;
  const effectiveSampleCount = record.sampleCount / noise.samplesPerIndependentSample;
  const orders = orderTable(record, candidates, noise, effectiveSampleCount);
  const chosenIndex = orders.findIndex((order) => order.chosen);
  const chosen = candidates[chosenIndex];
  const { layout, structure } = chosen;
  const { stageCount } = structure;

  const { covariance, names } = covarianceOf(
    chosen,
    effectiveSampleCount,
    orders[chosenIndex].parameterCount,
  );
  const degreesOfFreedom = Math.max(LEAST_DEGREES_OF_FREEDOM, effectiveSampleCount - names.length);
  const coverage = studentTQuantile(0.975, degreesOfFreedom);
  const variance = (index: number): number => covariance[index][index];

  const resistanceIndices = Array.from({ length: stageCount }, (_, k) => layout.count + k);
  const total = chosen.resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
  let totalVariance = 0;
  for (const a of resistanceIndices) for (const b of resistanceIndices) totalVariance += covariance[a][b];
  // The structure is not known either: the spread of the candidates' totals around the chosen one, by weight.
  candidates.forEach((candidate, c) => {
    const other = candidate.resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
    totalVariance += orders[c].weight * (other - total) ** 2;
  });
  totalVariance += total ** 2 * mountVariance(chosen, record);
  totalVariance += referenceVarianceK2(record) / structure.atPowerW ** 2;
  const standardErrorKPerW = Math.sqrt(totalVariance);

  const { exponentIndex } = layout;
  const exponentStandardError = input.exponentFixed
    ? 0
    : exponentIndex < 0
      ? ASSUMED_EXPONENT.standardDeviation
      : Math.sqrt(variance(exponentIndex));
  const exponentCovariance =
    exponentIndex < 0
      ? 0
      : resistanceIndices.reduce((sum, index) => sum + covariance[index][exponentIndex], 0);
  const resistanceLaw: ResistanceLaw = {
    thermalResistanceKPerW: total,
    atPowerW: structure.atPowerW,
    powerExponent: chosen.powerExponent,
    exponentSource: input.exponentSource,
    resistanceStandardErrorKPerW: standardErrorKPerW,
    exponentStandardError,
    correlation:
      exponentIndex < 0
        ? 0
        : clamp(exponentCovariance / (standardErrorKPerW * exponentStandardError), -0.999, 0.999),
    degreesOfFreedom,
  };

  /** A positive quantity fitted by its logarithm: the interval is symmetric in the logarithm. */
  const ofLogarithm = (value: number, index: number): Estimate => {
    const logStandardError = Math.sqrt(variance(index));
    if (!(logStandardError < 1)) return unavailable('not-identifiable');
    const factor = Math.exp(coverage * logStandardError);
    return {
      kind: 'estimated',
      value,
      standardError: value * logStandardError,
      interval95: [value / factor, value * factor],
    };
  };
  const separable = record.pieces.some((piece) => piece.startKind !== 'inseparable');
  const stages = chosen.timeConstantsS.map((timeConstantS, k) =>
    separable
      ? {
          timeConstantS: ofLogarithm(timeConstantS, k),
          resistanceKPerW: estimated(chosen.resistancesKPerW[k], Math.sqrt(variance(layout.count + k)), {
            degreesOfFreedom,
          }),
        }
      : {
          timeConstantS: unavailable('not-identifiable'),
          resistanceKPerW: unavailable('not-identifiable'),
        },
  );

  const { conditions } = record.runs[0];
  return {
    kind: 'cooler-model',
    label: input.label,
    ...(conditions.cooler === undefined ? {} : { cooler: conditions.cooler }),
    ...(conditions.processor === undefined ? {} : { processor: conditions.processor }),
    ...(conditions.enclosure === undefined ? {} : { enclosure: conditions.enclosure }),
    ...fanSpeedOf(record),
    runLabels: record.runs.map((run) => run.label),
    starts: startsOf(record, chosen),
    method: 'transient',
    thermalResistanceKPerW: estimated(total, standardErrorKPerW, { degreesOfFreedom }),
    resistanceLaw,
    stages,
    ...(separable ? polesAndLadder(record, chosen) : { ladder: [] }),
    ...(separable && chosen.sensorLagS !== undefined
      ? { sensorLagS: ofLogarithm(chosen.sensorLagS, layout.lagIndex) }
      : {}),
    ambientC: ambientOf(record, chosen, variance, degreesOfFreedom),
    noise: {
      standardDeviationK: orders[chosenIndex].residualRmsK,
      samplesPerIndependentSample: noise.samplesPerIndependentSample,
      effectiveSampleCount,
      peakAboveMeanK: peakAboveMeanK(record, chosen),
    },
    orders,
    findings: [],
    covariance: { parameters: names, matrix: covariance },
    testedRange: testedRangeOf(record),
    termination: chosen.minimum.termination,
    evaluationCount: candidates.reduce((sum, candidate) => sum + candidate.minimum.evaluationCount, 0),
  };
}

/** Mean fan speed, where every run knows it. */
function fanSpeedOf(record: FitRecord): Pick<CoolerModel, 'fanSpeedRpm'> {
  const speeds = record.runs.map((run) =>
    run.fanSpeedRpm === undefined ? run.conditions.fanSpeedRpm : quantileOf(run.fanSpeedRpm, 0.5),
  );
  if (speeds.some((speed) => speed === undefined || !(speed > 0))) return {};
  return { fanSpeedRpm: speeds.reduce<number>((sum, speed) => sum + (speed ?? 0), 0) / speeds.length };
}

/** What simulations use, and what people read. */
function polesAndLadder(record: FitRecord, chosen: FittedCandidate): Pick<CoolerModel, 'poles' | 'ladder'> {
  const { timeConstantsS, resistancesKPerW, sensorLagS } = chosen;
  return {
    poles: {
      timeConstantsS,
      resistancesKPerW,
      ...(sensorLagS === undefined ? {} : { sensorLagS }),
      airTimeConstantS: record.airTimeConstantS,
    },
    ladder: ladderFromPoles(
      timeConstantsS.map((timeConstantS, k) => ({ timeConstantS, resistanceKPerW: resistancesKPerW[k] })),
    ),
  };
}

/** Mean air of the runs; where it was fitted, with the largest of the offsets' standard errors. */
function ambientOf(
  record: FitRecord,
  chosen: FittedCandidate,
  variance: (index: number) => number,
  degreesOfFreedom: number,
): Estimate {
  const fitted = chosen.layout.ambientIndices.filter((index) => index >= 0);
  if (fitted.length === 0) return unavailable('fixed', record.meanAmbientC);
  const offsetSum = record.pieces.reduce(
    (sum, piece) => sum + airOffsetOf(piece, chosen) * piece.stepS.length,
    0,
  );
  return estimated(
    record.meanAmbientC + offsetSum / record.sampleCount,
    Math.sqrt(Math.max(...fitted.map(variance))),
    { degreesOfFreedom },
  );
}

function airOffsetOf(piece: FitRecord['pieces'][number], chosen: FittedCandidate): number {
  return piece.ambientUnknown ? chosen.minimum.parameters[chosen.layout.ambientIndices[piece.runIndex]] : 0;
}

function orderTable(
  record: FitRecord,
  candidates: readonly FittedCandidate[],
  noise: ResidualNoise,
  effectiveSampleCount: number,
): OrderCandidate[] {
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
  const weights = criteria.some((criterion) => criterion !== undefined)
    ? akaikeWeights(criteria)
    : criteria.map(() => 0);
  // By the criterion, not by the weight: where a rejected candidate fits far better, all other weights round to 0.
  const standing = candidates.map((candidate, c) =>
    candidate.rejected === undefined ? (criteria[c] ?? Number.MAX_VALUE) : Number.POSITIVE_INFINITY,
  );
  const chosenIndex = standing.indexOf(Math.min(...standing));
  return candidates.map((candidate, c) => {
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
}

/** Covariance of all fitted parameters, scaled to the residuals of the candidate. */
function covarianceOf(
  candidate: FittedCandidate,
  effectiveSampleCount: number,
  parameterCount: number,
): { covariance: number[][]; names: string[] } {
  const { layout, structure } = candidate;
  const residualScale = candidate.weightedSquares / Math.max(1, effectiveSampleCount - parameterCount);
  const covariance = candidate.inverseGram
    .to2DArray()
    .map((row) => row.map((value) => value * residualScale));
  const names = [
    ...layout.names,
    ...Array.from({ length: structure.stageCount }, (_, k) => `resistanceKPerW[${k + 1}]`),
  ];
  return { covariance, names };
}

/** Variance of the log resistance between mounts, from the mounts logged; 0 where there is one. */
function mountVariance(candidate: FittedCandidate, record: FitRecord): number {
  const factors = logMountFactors(candidate.layout, record.mounts.length, candidate.minimum.parameters);
  if (factors.length < 2) return 0;
  return factors.reduce((sum, factor) => sum + factor * factor, 0) / (factors.length - 1);
}

/**
 * What stays open of the temperature everything is referred to, common to all runs, K: the offset of an air
 * thermometer read to a tenth, and heat that leaves through the board by a path too slow to show in the record.
 */
const COMMON_REFERENCE_UNCERTAINTY_K = 0.08;
/** Share of the air's own variation during a run that its delay and place leave open. */
const AIR_VARIATION_SHARE = 0.2;
/** Standard uncertainty of the air where one number stands for a whole run, K: rooms drift by about a kelvin. */
const GIVEN_AIR_UNCERTAINTY_K = 0.3;

/**
 * Variance of the temperature everything is referred to, K². Residuals cannot show it: an offset of the air is
 * absorbed by the resistances.
 */
function referenceVarianceK2(record: FitRecord): number {
  const own = record.runs.map((run) =>
    run.ambientC !== undefined
      ? AIR_VARIATION_SHARE ** 2 * varianceOf(run.ambientC)
      : GIVEN_AIR_UNCERTAINTY_K ** 2,
  );
  return (
    COMMON_REFERENCE_UNCERTAINTY_K ** 2 + own.reduce((sum, variance) => sum + variance, 0) / own.length ** 2
  );
}

function varianceOf(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value;
  const mean = sum / values.length;
  let squares = 0;
  for (const value of values) squares += (value - mean) ** 2;
  return squares / values.length;
}

/** 95th percentile of measured minus modelled near the end of the runs, K, never below 0. */
function peakAboveMeanK(record: FitRecord, candidate: FittedCandidate): number {
  const ends: number[] = [];
  for (const { offset, stepS } of record.pieces) {
    let remaining = END_WINDOW_S;
    for (let i = stepS.length - 1; i >= 0 && remaining > 0; i--) {
      ends.push(-candidate.residualsK[offset + i]);
      remaining -= stepS[i];
    }
  }
  return Math.max(0, quantileOf(ends, 0.95));
}

function testedRangeOf(record: FitRecord): CoolerModel['testedRange'] {
  // Load powers: a bit above the middle of each run; spikes and idle are not "tested".
  const loads = record.runs.map((run) => quantileOf(run.powerW, 0.6));
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const run of record.runs) {
    for (const temperature of run.temperatureC) {
      if (temperature < low) low = temperature;
      if (temperature > high) high = temperature;
    }
  }
  return {
    powerW: [Math.min(...loads), Math.max(...loads)],
    temperatureC: [low, high],
    durationS: record.longestPieceS,
  };
}

/** The start of each stretch as fitted, in the order of the stages. */
function startsOf(record: FitRecord, chosen: FittedCandidate): CoolerModel['starts'] {
  const { layout, minimum } = chosen;
  const logFactors = logMountFactors(layout, record.mounts.length, minimum.parameters);
  return record.pieces.map((piece, p) => {
    const first = layout.startIndices[p];
    return {
      runLabel: record.runs[piece.runIndex].label,
      firstIndex: piece.firstIndex,
      startPowerW:
        piece.startKind === 'free'
          ? Array.from(minimum.parameters.subarray(first, first + chosen.structure.stageCount))
          : [minimum.parameters[first]],
      ...(piece.ambientUnknown ? { ambientC: NOMINAL_AIR_C + airOffsetOf(piece, chosen) } : {}),
      mountFactor: Math.exp(logFactors[layout.mountIndex < 0 ? 0 : piece.mountIndex]),
    };
  });
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}
