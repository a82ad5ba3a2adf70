import { ArgumentError, NumericalError, requireNumber } from '../errors.js';
import { quantileOf } from '../numerics/order-statistic.js';
import type { Finding } from '../runs/finding.js';
import type { Run } from '../runs/run.js';
import { ASSUMED_EXPONENT } from './assumed-exponent.js';
import { coarsenRecord } from './coarse-record.js';
import type { CoolerModel } from './cooler-model.js';
import { type FittedCandidate, fitCandidate } from './fit-candidate.js';
import { fitFindings } from './fit-findings.js';
import { type FitRecord, isAirKnown, recordOfRuns, unknownAirError } from './fit-record.js';
import { modelOfCandidates } from './model-of-candidates.js';
import { LEAST_NOISE_K, type ResidualNoise, residualNoise } from './residual-correlation.js';
import { spikeMask } from './spikes.js';
import { coarseSpectrum } from './starting-poles.js';

/** Options of `fitCooler`. */
export interface FitCoolerOptions {
  /** Name of the model; default: the cooler's name from the conditions, else the first run's label. */
  readonly label?: string;
  /** Most stages tried, 1 to 4. Default 3. */
  readonly maxStageCount?: number;
  /** The number of stages, where it shall not be chosen. */
  readonly stageCount?: number;
  /** Whether candidates with a sensor lag are tried. Default true. */
  readonly sensorLag?: boolean;
  /** Power at which the resistance is stated, W. Default: geometric mean of the runs' load powers. */
  readonly atPowerW?: number;
  /**
   * Exponent q of R ∝ P^(−q). Default: fitted where the runs hold two powers that differ by 10 % or more, else
   * assumed.
   */
  readonly powerExponent?: number;
}

/**
 * Defaults of `FitCoolerOptions`.
 *
 * @example
 * FIT_COOLER_DEFAULTS; // => ({ maxStageCount: 3, sensorLag: true })
 */
export const FIT_COOLER_DEFAULTS: { readonly maxStageCount: number; readonly sensorLag: boolean } = {
  maxStageCount: 3,
  sensorLag: true,
};

/** Two load powers count as different from this ratio on. */
const DISTINCT_POWER_RATIO = 1.1;

/**
 * Fits a lumped model of a cooler to one or more load runs of it.
 *
 * rise(t) = Σₖ rₖ xₖ(t), with xₖ the response of a pole of time constant τₖ to the measured power on the actual
 * sample times, in series with a sensor lag where that explains the data better. Stages are shared by all runs;
 * each run has its own start and its own noise. Time constants by separable least squares with rₖ ≥ 0
 * [GolubPereyra1973]; the number of stages by corrected Akaike weights on one effective sample size
 * [BurnhamAnderson2002]; standard errors inflated for the correlation of the residuals, and the resistance's by
 * the spread between candidates. R falls with power as P^(−q), see `ResistanceLaw`.
 *
 * Assumes one-dimensional heat flow, constant properties, and air that reaches the cooler at the temperature given.
 *
 * A run that does not know its intake air has it fitted as one more unknown; where its power changes too little for
 * that, it is refused.
 *
 * @param runs - one run or several of one cooler in one enclosure
 * @param options - see `FitCoolerOptions`
 * @throws ArgumentError if there is no run, runs of different coolers or enclosures are mixed, the air temperature
 * is unknown and not identifiable, or a run is too short
 * @throws NumericalError if no candidate describes the data
 * @example
 * // One stage, 0.5 K/W and 60 s, seen exactly:
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 80)), temperatureC: timeS.map((t) => 22 + 40 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22, cooler: 'flat 58 mm' } },
 * );
 * requireValue(fitCooler(run, { powerExponent: 0 }).thermalResistanceKPerW); // => 0.5 within 1e-6
 */
export function fitCooler(runs: Run | readonly Run[], options: FitCoolerOptions = {}): CoolerModel {
  const caller = 'fitCooler';
  const list: readonly Run[] = 'timeS' in runs ? [runs] : runs;
  const { maxStageCount, sensorLag } = { ...FIT_COOLER_DEFAULTS, ...options };
  requireStageCount(maxStageCount, caller, 'options.maxStageCount');
  if (options.stageCount !== undefined) requireStageCount(options.stageCount, caller, 'options.stageCount');
  if (options.powerExponent !== undefined) {
    requireNumber(
      options.powerExponent,
      { caller, argument: 'options.powerExponent' },
      { atLeast: -0.2, atMost: 0.4 },
    );
  }
  if (options.atPowerW !== undefined) {
    requireNumber(options.atPowerW, { caller, argument: 'options.atPowerW' }, { above: 0 });
  }
  requireOneSubject(list, caller);
  const undelayed = recordOfRuns(list, 0);
  requireEnoughSamples(undelayed, caller);

  const loadPowersW = list.map(meanLoadPowerW);
  const atPowerW =
    options.atPowerW ?? Math.exp(loadPowersW.reduce((sum, power) => sum + Math.log(power), 0) / list.length);
  const fitExponent =
    options.powerExponent === undefined &&
    Math.max(...loadPowersW) > DISTINCT_POWER_RATIO * Math.min(...loadPowersW);
  const powerExponent = options.powerExponent ?? ASSUMED_EXPONENT.mean;
  const structureOf = (stageCount: number, lag: boolean) => ({
    stageCount,
    sensorLag: lag,
    fitExponent,
    powerExponent,
    atPowerW,
  });

  // Drafts of all candidates on a coarse record, with equal weights and the air undelayed. The richest of them tells
  // how slowly the cooler passes changes of the air on and, on the full record, which samples are spikes, the noise
  // of each run and how correlated it is. With that knowledge all candidates are finished on the full record.
  const stageCounts = options.stageCount === undefined ? upTo(maxStageCount) : [options.stageCount];
  const coarse = coarsenRecord(undelayed);
  const spectrum = coarseSpectrum(coarse, atPowerW);
  const drafts: FittedCandidate[] = [];
  for (const stageCount of stageCounts) {
    for (const lag of sensorLag ? [false, true] : [false]) {
      drafts.push(
        fitCandidate(coarse.record, structureOf(stageCount, lag), coarse.sampleWeights, spectrum, drafts),
      );
    }
  }
  const record = recordOfRuns(list, slowestTimeConstantS(drafts));
  const richest = drafts.findLast((draft) => !draft.structure.sensorLag) as FittedCandidate;
  const equalWeights = new Float64Array(record.sampleCount).fill(1);
  const { residualsK } = fitCandidate(record, richest.structure, equalWeights, spectrum, drafts);
  const mask = spikeMask(record, residualsK);
  const noise = residualNoise(record, residualsK, mask);
  const sampleWeights = weightsOf(record, noise, mask);
  const candidates = drafts.map((draft) =>
    fitCandidate(record, draft.structure, sampleWeights, spectrum, drafts),
  );
  requireUsable(candidates, list);
  const model = modelOfCandidates({
    record,
    candidates,
    noise,
    exponentSource: fitExponent ? 'fitted' : 'assumed',
    exponentFixed: options.powerExponent !== undefined,
    label: options.label ?? list[0].conditions.cooler ?? list[0].label,
  });
  requireIdentifiedAir(model, list, caller);
  const chosen = candidates[model.orders.findIndex((order) => order.chosen)];
  // A resistance that falls as the run warms up looks like a further stage where it is not allowed for, so it is
  // looked for with one stage more than was chosen.
  const bent =
    fitExponent || options.powerExponent !== undefined
      ? undefined
      : fitCandidate(
          record,
          { ...structureOf(Math.min(4, chosen.structure.stageCount + 1), false), fitExponent: true },
          sampleWeights,
          spectrum,
          [chosen],
        );
  const findings: readonly Finding[] = fitFindings({
    record,
    model,
    candidates,
    chosen,
    bent,
    spikeMask: mask,
  });
  return { ...model, findings };
}

/** The slowest time constant any usable draft found, s; 0 where there is none. */
function slowestTimeConstantS(drafts: readonly FittedCandidate[]): number {
  const usable = drafts.filter((draft) => draft.rejected === undefined);
  return Math.max(0, ...usable.map(({ timeConstantsS }) => timeConstantsS[timeConstantsS.length - 1]));
}

function upTo(count: number): number[] {
  return Array.from({ length: count }, (_, i) => i + 1);
}

/** Inverse variance of each sample, its share of the correlation included; 0 for spikes. */
export function weightsOf(record: FitRecord, noise: ResidualNoise, mask: Float64Array): Float64Array {
  const weights = mask.slice();
  for (const { runIndex, offset, stepS } of record.pieces) {
    const rmsK = Math.max(noise.runRmsK[runIndex], LEAST_NOISE_K);
    const weight = 1 / (rmsK ** 2 * noise.samplesPerIndependentSample);
    for (let i = offset; i < offset + stepS.length; i++) weights[i] *= weight;
  }
  return weights;
}

/** Mean package power while the processor is under load: above half of the run's highest sustained power, W. */
function meanLoadPowerW(run: Run): number {
  const highest = quantileOf(run.powerW, 0.95);
  let sum = 0;
  let count = 0;
  for (const power of run.powerW) {
    if (power < highest / 2) continue;
    sum += power;
    count++;
  }
  return sum / Math.max(1, count);
}

function requireUsable(candidates: readonly FittedCandidate[], runs: readonly Run[]): void {
  if (candidates.some((candidate) => candidate.rejected === undefined)) return;
  const reasons = [...new Set(candidates.map((candidate) => candidate.rejected))];
  const stages = [...new Set(candidates.map((candidate) => candidate.structure.stageCount))];
  const labels = runs.map((run) => `"${run.label}"`).join(', ');
  throw new NumericalError(
    `fitCooler: no model with ${stages.join(', ')} stages describes the runs ${labels} (${reasons.join('; ')}); look at the ` +
      'pictures of the runs: is the power column the package power, does it change, and does the temperature follow it?',
  );
}

/** An intake air that was fitted must be known at least this well, K, before anything is built on it. */
const MOST_AIR_STANDARD_ERROR_K = 2;

function requireIdentifiedAir(model: CoolerModel, runs: readonly Run[], caller: string): void {
  const unknown = runs.find((run) => !isAirKnown(run));
  if (unknown === undefined || model.ambientC.kind !== 'estimated') return;
  if (model.ambientC.standardError <= MOST_AIR_STANDARD_ERROR_K) return;
  throw unknownAirError(unknown, caller, 'neither an air column nor conditions.ambientC');
}

function requireStageCount(value: number, caller: string, argument: string): void {
  if (Number.isInteger(value) && value >= 1 && value <= 4) return;
  throw new ArgumentError({ caller, argument, expected: 'a whole number from 1 to 4', received: value });
}

function requireOneSubject(runs: readonly Run[], caller: string): void {
  if (runs.length === 0) {
    throw new ArgumentError({ caller, argument: 'runs', expected: 'one run or more', received: runs });
  }
  for (const key of ['cooler', 'enclosure', 'processor'] as const) {
    const names = [...new Set(runs.map((run) => run.conditions[key]).filter((name) => name !== undefined))];
    if (names.length < 2) continue;
    throw new ArgumentError({
      caller,
      argument: 'runs',
      expected: `runs with one ${key}`,
      received: names.join(', '),
      remedy: `fit each group of groupRuns(runs, '${key}') on its own`,
    });
  }
  for (const run of runs) {
    if (meanLoadPowerW(run) > 0) continue;
    throw new ArgumentError({
      caller,
      argument: 'runs',
      expected: 'runs with a package power above 0 W',
      received: `run "${run.label}" without any load`,
      remedy: 'check the power column and its unit',
    });
  }
}

/** Fewer samples than this without a gap carry no transient. */
const LEAST_SAMPLES = 20;

function requireEnoughSamples(record: FitRecord, caller: string): void {
  record.runs.forEach((run, runIndex) => {
    const longest = Math.max(
      0,
      ...record.pieces.filter((piece) => piece.runIndex === runIndex).map((piece) => piece.stepS.length),
    );
    if (longest >= LEAST_SAMPLES) return;
    throw new ArgumentError({
      caller,
      argument: 'runs',
      expected: `runs with at least ${LEAST_SAMPLES} samples without a gap`,
      received: `run "${run.label}" with ${longest}`,
      remedy:
        'leave it out; log at about 1 Hz for 10 minutes or more, or use coolerFromSteadyPoints for averages',
    });
  });
}
