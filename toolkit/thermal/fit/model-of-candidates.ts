import { studentTQuantile } from '../../numerics/distributions.js';
import type { Estimate } from '../../numerics/estimate.js';
import { estimated, positiveEstimate, unavailable } from '../../numerics/estimates.js';
import { quantileOf } from '../../numerics/order-statistic.js';
import type { CoolerModel } from '../cooler-model.js';
import { ladderFromPoles } from '../ladder.js';
import { fanCurveOf } from './fan-curve-of-fit.js';
import type { FittedCandidate } from './fit-candidate.js';
import { type FitRecord, NOMINAL_AIR_C } from './fit-record.js';
import { logMountFactors } from './fit-structure.js';
import { testedLoadW } from './load-power.js';
import type { OrderTable } from './order-table.js';
import type { ResidualNoise } from './residual-correlation.js';
import { LEAST_DEGREES_OF_FREEDOM, statedResistance } from './stated-resistance.js';
import { unmodelledShift } from './unmodelled-shift.js';

/** Residuals of this last part of each run tell how far peaks stand above the mean, s. */
const END_WINDOW_S = 120;

/** Weighs the candidates, chooses one, and states it as a model with its uncertainty; findings are added later. */
export function modelOfCandidates(input: {
  readonly record: FitRecord;
  readonly candidates: readonly FittedCandidate[];
  readonly table: OrderTable;
  /** Inverse variances of the record's samples, as in the fit. */
  readonly sampleWeights: Float64Array;
  readonly noise: ResidualNoise;
  readonly exponentSource: 'fitted' | 'assumed';
  /** Standard deviation of an exponent that was assumed; 0 where it was fixed or fitted. */
  readonly assumedExponentError: number;
  /** The chosen candidate fitted again with the exponent one such standard deviation higher, where it was assumed. */
  readonly shifted: FittedCandidate | undefined;
  readonly label: string;
  /** In a joint fit of several coolers: what its whole says of noise, and the spread between orders beyond the table. */
  readonly joint?: {
    readonly residualScale: number;
    readonly degreesOfFreedom: number;
    readonly orderVariance: number;
  };
}): CoolerModel {
  const { record, candidates, table, noise, shifted } = input;
  const { orders, chosen, effectiveSampleCount } = table;
  const { layout, structure } = chosen;
  const { stageCount } = structure;

  const parameterCount = layout.count + stageCount;
  const {
    residualScale,
    degreesOfFreedom: leftOver,
    orderVariance,
  } = input.joint ?? {
    residualScale: chosen.weightedSquares / Math.max(1, effectiveSampleCount - parameterCount),
    degreesOfFreedom: effectiveSampleCount - parameterCount,
    orderVariance: 0,
  };
  const unmodelled = unmodelledShift(record, chosen, input.sampleWeights);
  const { covariance: ofNoise, names } = covarianceOf(chosen, residualScale, shifted);
  const covariance = ofNoise.map((row, a) =>
    row.map((value, b) => value + UNMODELLED_SHARE ** 2 * unmodelled[a] * unmodelled[b]),
  );
  const fitDegreesOfFreedom = Math.max(LEAST_DEGREES_OF_FREEDOM, leftOver);
  const coverage = studentTQuantile(0.975, fitDegreesOfFreedom);
  const variance = (index: number): number => covariance[index][index];

  const resistanceLaw = statedResistance({
    record,
    candidates,
    table,
    covariance,
    fitDegreesOfFreedom,
    orderVariance,
    shifted,
    exponentSource: input.exponentSource,
    assumedExponentError: input.assumedExponentError,
  });
  const {
    thermalResistanceKPerW: total,
    resistanceStandardErrorKPerW: standardErrorKPerW,
    degreesOfFreedom,
  } = resistanceLaw;

  const ofPositive = (value: number, standardError: number): Estimate =>
    positiveEstimate(value, standardError, coverage);
  const ofLogarithm = (value: number, index: number): Estimate =>
    ofPositive(value, value * Math.sqrt(ofNoise[index][index]));
  const separable = record.pieces.some((piece) => piece.startKind !== 'inseparable');
  const stages = chosen.timeConstantsS.map((timeConstantS, k) =>
    separable
      ? {
          timeConstantS: ofLogarithm(timeConstantS, k),
          resistanceKPerW: ofPositive(
            chosen.resistancesKPerW[k],
            Math.sqrt(ofNoise[layout.count + k][layout.count + k]),
          ),
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
    ...fanCurveOf(record, chosen, covariance, { standardErrorKPerW, degreesOfFreedom }),
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
    ambientC: ambientOf(record, chosen, variance, fitDegreesOfFreedom),
    noise: {
      standardDeviationK: orders[candidates.indexOf(chosen)].residualRmsK,
      samplesPerIndependentSample: noise.samplesPerIndependentSample,
      effectiveSampleCount,
      peakAboveMeanK: peakAboveMeanK(record, chosen),
    },
    orders,
    findings: [],
    covariance: { parameters: names, matrix: ofNoise },
    testedRange: testedRangeOf(record),
    termination: chosen.minimum.termination,
    evaluationCount: candidates.reduce((sum, candidate) => sum + candidate.minimum.evaluationCount, 0),
  };
}

/** Mean fan speed, where every run knows it; with a curve the speed that the model is stated at. */
function fanSpeedOf(record: FitRecord): Pick<CoolerModel, 'fanSpeedRpm'> {
  if (record.referenceFanSpeedRpm !== undefined) return { fanSpeedRpm: record.referenceFanSpeedRpm };
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

/** Standard uncertainty of what effects that the model leaves out would move, as a share of it; tuned on simulated rigs. */
const UNMODELLED_SHARE = 0.85;

/**
 * Covariance of all fitted parameters, scaled to the residuals of the candidate. An assumed exponent bends the course
 * of the runs, and with it stages and total: what a fit with the exponent one standard deviation higher moves is added.
 * What the effects that the model leaves out would move is not in it, nor in the stages: refits do not show it.
 */
function covarianceOf(
  candidate: FittedCandidate,
  residualScale: number,
  shifted: FittedCandidate | undefined,
): { covariance: number[][]; names: string[] } {
  const { layout, structure } = candidate;
  const values = parametersOf(candidate);
  const moved = shifted === undefined ? values : parametersOf(shifted);
  const shifts = values.map((value, i) => moved[i] - value);
  const covariance = candidate.inverseGram
    .to2DArray()
    .map((row, a) => row.map((value, b) => value * residualScale + shifts[a] * shifts[b]));
  const names = [
    ...layout.names,
    ...Array.from({ length: structure.stageCount }, (_, k) => `resistanceKPerW[${k + 1}]`),
  ];
  return { covariance, names };
}

function parametersOf(candidate: FittedCandidate): number[] {
  return [...candidate.minimum.parameters, ...candidate.minimum.linearParameters];
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
  const loads = record.runs.map(testedLoadW);
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
