import { inverse, Matrix } from 'ml-matrix';
import { studentTQuantile } from '../numerics/distributions.js';
import type { Estimate } from '../numerics/estimate.js';
import { estimated, unavailable } from '../numerics/estimates.js';
import { aicc, akaikeWeights } from '../numerics/information-criterion.js';
import { ASSUMED_EXPONENT } from './assumed-exponent.js';
import type { CoolerModel, OrderCandidate, ResistanceLaw } from './cooler-model.js';
import type { FittedCandidate } from './fit-candidate.js';
import type { FitRecord } from './fit-record.js';
import { ladderFromPoles } from './ladder.js';
import type { ResidualNoise } from './residual-correlation.js';

/** Fewest degrees of freedom an interval is built on: below this Student's t says more about itself than the data. */
const LEAST_DEGREES_OF_FREEDOM = 3;

/** Residuals of this last part of each run tell how far peaks stand above the mean, s. */
const END_WINDOW_S = 120;

/** Weighs the candidates, chooses one, and states it as a model with its uncertainty; findings are added later. */
export function modelOfCandidates(input: {
  readonly record: FitRecord;
  readonly candidates: readonly FittedCandidate[];
  readonly weights: readonly number[];
  readonly noise: ResidualNoise;
  readonly exponentSource: 'fitted' | 'assumed';
  readonly exponentFixed: boolean;
  readonly label: string;
}): CoolerModel {
  const { record, candidates, weights, noise } = input;
  const effectiveSampleCount = record.sampleCount / noise.samplesPerIndependentSample;
  const orders = orderTable(record, candidates, weights, noise, effectiveSampleCount);
  const chosenIndex = orders.findIndex((order) => order.chosen);
  const chosen = candidates[chosenIndex];
  const { layout, structure } = chosen;
  const { stageCount } = structure;

  const { covariance, names } = covarianceOf(chosen, effectiveSampleCount, orders[chosenIndex], weights, record);
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
  const standardErrorKPerW = Math.sqrt(totalVariance);

  const { exponentIndex } = layout;
  const exponentStandardError = input.exponentFixed
    ? 0
    : exponentIndex < 0
      ? ASSUMED_EXPONENT.standardDeviation
      : Math.sqrt(variance(exponentIndex));
  const exponentCovariance =
    exponentIndex < 0 ? 0 : resistanceIndices.reduce((sum, index) => sum + covariance[index][exponentIndex], 0);
  const resistanceLaw: ResistanceLaw = {
    thermalResistanceKPerW: total,
    atPowerW: structure.atPowerW,
    powerExponent: chosen.powerExponent,
    exponentSource: input.exponentSource,
    resistanceStandardErrorKPerW: standardErrorKPerW,
    exponentStandardError,
    correlation:
      exponentIndex < 0 ? 0 : clamp(exponentCovariance / (standardErrorKPerW * exponentStandardError), -0.999, 0.999),
    degreesOfFreedom,
  };

  /** A positive quantity fitted by its logarithm: the interval is symmetric in the logarithm. */
  const ofLogarithm = (value: number, index: number): Estimate => {
    const logStandardError = Math.sqrt(variance(index));
    if (!(logStandardError < MOST_LOG_STANDARD_ERROR)) return unavailable('not-identifiable');
    const factor = Math.exp(coverage * logStandardError);
    return {
      kind: 'estimated',
      value,
      standardError: value * logStandardError,
      interval95: [value / factor, value * factor],
    };
  };
  // The search leaves the stages in any order; the model lists them fastest first.
  const places = chosen.timeConstantsS.map((timeConstantS) => indexOfNearest(chosen, timeConstantS));
  const stages = chosen.timeConstantsS.map((timeConstantS, k) => ({
    timeConstantS: ofLogarithm(timeConstantS, places[k]),
    resistanceKPerW: estimated(chosen.resistancesKPerW[k], Math.sqrt(variance(layout.count + places[k])), {
      degreesOfFreedom,
    }),
  }));

  const { conditions } = record.runs[0];
  return {
    kind: 'cooler-model',
    label: input.label,
    ...(conditions.cooler === undefined ? {} : { cooler: conditions.cooler }),
    ...(conditions.processor === undefined ? {} : { processor: conditions.processor }),
    ...(conditions.enclosure === undefined ? {} : { enclosure: conditions.enclosure }),
    runLabels: record.runs.map((run) => run.label),
    starts: startsOf(record, chosen),
    method: 'transient',
    thermalResistanceKPerW: estimated(total, standardErrorKPerW, { degreesOfFreedom }),
    resistanceLaw,
    stages,
    ladder: ladderFromPoles(
      chosen.timeConstantsS.map((timeConstantS, k) => ({ timeConstantS, resistanceKPerW: chosen.resistancesKPerW[k] })),
    ),
    ...(chosen.sensorLagS === undefined ? {} : { sensorLagS: ofLogarithm(chosen.sensorLagS, layout.lagIndex) }),
    poles: {
      timeConstantsS: chosen.timeConstantsS,
      resistancesKPerW: chosen.resistancesKPerW,
      ...(chosen.sensorLagS === undefined ? {} : { sensorLagS: chosen.sensorLagS }),
    },
    ambientC: unavailable('fixed', record.meanAmbientC),
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

/** A time constant known no better than to a factor of e is not identified. */
const MOST_LOG_STANDARD_ERROR = 1;

function orderTable(
  record: FitRecord,
  candidates: readonly FittedCandidate[],
  weights: readonly number[],
  noise: ResidualNoise,
  effectiveSampleCount: number,
): OrderCandidate[] {
  const scores = candidates.map((candidate) => {
    const parameterCount = candidate.layout.count + candidate.structure.stageCount + 1;
    const weightedMean = (weightedSquares(record, candidate, weights) * noise.samplesPerIndependentSample) / record.sampleCount;
    return { parameterCount, aicc: aicc(effectiveSampleCount * weightedMean, effectiveSampleCount, parameterCount) };
  });
  const usable = candidates.map((candidate, c) => candidate.rejected === undefined && scores[c].aicc !== undefined);
  const akaike = akaikeWeights(candidates.map((_, c) => (usable[c] ? scores[c].aicc : undefined)));
  // Where the record is too short for the criterion, the simplest candidate that fits is taken.
  const best = akaike.indexOf(Math.max(...akaike));
  const chosenIndex = akaike[best] > 0 ? best : candidates.findIndex((candidate) => candidate.rejected === undefined);
  return candidates.map((candidate, c) => {
    const squares = candidate.residualsK.reduce((sum, piece) => sum + piece.reduce((s, r) => s + r * r, 0), 0);
    return {
      stageCount: candidate.structure.stageCount,
      sensorLag: candidate.structure.sensorLag,
      parameterCount: scores[c].parameterCount,
      residualRmsK: Math.sqrt(squares / record.sampleCount),
      ...(scores[c].aicc === undefined ? {} : { aicc: scores[c].aicc }),
      weight: c === chosenIndex && !(akaike[best] > 0) ? 1 : akaike[c],
      chosen: c === chosenIndex,
      ...(candidate.rejected === undefined ? {} : { rejected: candidate.rejected }),
    };
  });
}

function weightedSquares(record: FitRecord, candidate: FittedCandidate, weights: readonly number[]): number {
  return record.pieces.reduce(
    (sum, piece, p) =>
      sum + weights[piece.runIndex] * candidate.residualsK[p].reduce((s, residual) => s + residual * residual, 0),
    0,
  );
}

/** Inverse of the Gram matrix, scaled to the residuals; rows of what does not vary stay zero. */
function covarianceOf(
  candidate: FittedCandidate,
  effectiveSampleCount: number,
  order: OrderCandidate,
  weights: readonly number[],
  record: FitRecord,
): { covariance: number[][]; names: string[] } {
  const { layout, minimum, structure } = candidate;
  const width = layout.count + structure.stageCount;
  const gram = new Matrix(
    Array.from({ length: width }, (_, a) => Array.from(minimum.gram.subarray(a * width, (a + 1) * width))),
  );
  const scale = Array.from({ length: width }, (_, a) => 1 / Math.sqrt(Math.max(gram.get(a, a), Number.MIN_VALUE)));
  for (let a = 0; a < width; a++) {
    for (let b = 0; b < width; b++) gram.set(a, b, gram.get(a, b) * scale[a] * scale[b]);
  }
  const inverted = inverse(gram, true);
  const degrees = Math.max(1, effectiveSampleCount - order.parameterCount);
  const residualScale = weightedSquares(record, candidate, weights) / degrees;
  const covariance = Array.from({ length: width }, (_, a) =>
    Array.from({ length: width }, (_, b) => inverted.get(a, b) * scale[a] * scale[b] * residualScale),
  );
  const names = [
    ...layout.names,
    ...Array.from({ length: structure.stageCount }, (_, k) => `resistanceKPerW[${k + 1}]`),
  ];
  return { covariance, names };
}

/** Variance of the log resistance between mounts, from the mounts logged; 0 where there is one. */
function mountVariance(candidate: FittedCandidate, record: FitRecord): number {
  const { mountIndex } = candidate.layout;
  if (mountIndex < 0) return 0;
  const factors = candidate.minimum.parameters.subarray(mountIndex, mountIndex + record.mounts.length);
  return factors.reduce((sum, factor) => sum + factor * factor, 0) / (record.mounts.length - 1);
}

/** 95th percentile of measured minus modelled near the end of the runs, K, never below 0. */
function peakAboveMeanK(record: FitRecord, candidate: FittedCandidate): number {
  const ends: number[] = [];
  record.pieces.forEach((piece, p) => {
    let remaining = END_WINDOW_S;
    for (let i = piece.stepS.length - 1; i >= 0 && remaining > 0; i--) {
      ends.push(-candidate.residualsK[p][i]);
      remaining -= piece.stepS[i];
    }
  });
  ends.sort((a, b) => a - b);
  return Math.max(0, ends[Math.floor(0.95 * (ends.length - 1))]);
}

function testedRangeOf(record: FitRecord): CoolerModel['testedRange'] {
  const powers = record.runs.map((run) => Float64Array.from(run.powerW).sort());
  const temperatures = record.runs.map((run) => Float64Array.from(run.temperatureC).sort());
  // Load powers: the middle of the upper half of each run; spikes and idle are not "tested".
  const loads = powers.map((sorted) => sorted[Math.floor(0.6 * (sorted.length - 1))]);
  return {
    powerW: [Math.min(...loads), Math.max(...loads)],
    temperatureC: [
      Math.min(...temperatures.map((sorted) => sorted[0])),
      Math.max(...temperatures.map((sorted) => sorted[sorted.length - 1])),
    ],
    durationS: record.longestPieceS,
  };
}

/** The start of each stretch as fitted, in the order of the stages. */
function startsOf(record: FitRecord, chosen: FittedCandidate): CoolerModel['starts'] {
  const { layout, minimum } = chosen;
  return record.pieces.map((piece, p) => {
    const first = layout.startIndices[p];
    return {
      runLabel: record.runs[piece.runIndex].label,
      firstIndex: piece.firstIndex,
      startPowerW:
        piece.startKind === 'free'
          ? chosen.timeConstantsS.map((timeConstantS) => minimum.parameters[first + indexOfNearest(chosen, timeConstantS)])
          : [minimum.parameters[first]],
      mountFactor: layout.mountIndex < 0 ? 1 : Math.exp(minimum.parameters[layout.mountIndex + piece.mountIndex]),
    };
  });
}

function indexOfNearest(candidate: FittedCandidate, timeConstantS: number): number {
  const logs = candidate.minimum.parameters.subarray(0, candidate.structure.stageCount);
  return logs.findIndex((log) => Math.exp(log) === timeConstantS);
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}
