import {
  ArgumentError,
  type KnownNames,
  NumericalError,
  requireKnownNames,
  requireNumber,
} from '../../errors.js';
import { quantileOf } from '../../numerics/order-statistic.js';
import { requireRuns } from '../../runs/require-run.js';
import type { Run } from '../../runs/run.js';
import { ASSUMED_EXPONENT } from '../assumed-exponent.js';
import type { CoolerModel } from '../cooler-model.js';
import type { FittedCandidate } from './fit-candidate.js';
import { fitCandidates } from './fit-candidates.js';
import { fitFindings } from './fit-findings.js';
import { type FitRecord, isAirKnown, recordOfRuns, unknownAirError } from './fit-record.js';
import { modelOfCandidates } from './model-of-candidates.js';

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

const OPTION_NAMES: KnownNames<FitCoolerOptions> = {
  label: true,
  maxStageCount: true,
  stageCount: true,
  sensorLag: true,
  atPowerW: true,
  powerExponent: true,
};

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

const MOST_STAGES = 4;

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
  const list = requireRuns(runs, caller);
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
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
  requireFiniteSamples(list, caller);
  requireOneSubject(list, caller);
  requireDifferentRuns(list, caller);
  const undelayed = recordOfRuns(list, 0);
  requireEnoughSamples(undelayed, caller);

  const loadPowersW = list.map(meanLoadPowerW);
  const atPowerW =
    options.atPowerW ?? Math.exp(loadPowersW.reduce((sum, power) => sum + Math.log(power), 0) / list.length);
  const loadLevelsW = list.flatMap(loadLevelsOf);
  const fitExponent =
    options.powerExponent === undefined &&
    Math.max(...loadLevelsW) > DISTINCT_POWER_RATIO * Math.min(...loadLevelsW);
  const powerExponent = options.powerExponent ?? ASSUMED_EXPONENT.mean;
  const structureOf = (stageCount: number, lag: boolean) => ({
    stageCount,
    sensorLag: lag,
    fitExponent,
    powerExponent,
    atPowerW,
  });

  const stageCounts = options.stageCount === undefined ? upTo(maxStageCount) : [options.stageCount];
  const structures = stageCounts.flatMap((stageCount) =>
    (sensorLag ? [false, true] : [false]).map((lag) => structureOf(stageCount, lag)),
  );
  const finished = fitCandidates(list, undelayed, structures);
  requireUsable(finished.candidates, list);
  const { record, candidates, table, noise, spikeMask } = finished;

  // Where the exponent is assumed, two more fits say what that leaves open: one with the exponent a standard deviation
  // higher, and one with the exponent free. A resistance that falls as the run warms up looks like a further stage
  // where it is not allowed for, so the second has one stage more than was chosen.
  const { chosen } = table;
  const assumed = !fitExponent && options.powerExponent === undefined;
  const assumedExponentError = assumed ? ASSUMED_EXPONENT.standardDeviation : 0;
  const shifted = assumed
    ? finished.refit({ ...chosen.structure, powerExponent: powerExponent + assumedExponentError })
    : undefined;
  const bent = assumed
    ? finished.refit({
        ...structureOf(Math.min(MOST_STAGES, chosen.structure.stageCount + 1), false),
        fitExponent: true,
      })
    : undefined;
  const model = modelOfCandidates({
    record,
    candidates,
    table,
    noise,
    exponentSource: fitExponent ? 'fitted' : 'assumed',
    assumedExponentError,
    shifted,
    label: options.label ?? list[0].conditions.cooler ?? list[0].label,
  });
  requireIdentifiedAir(model, list, caller);
  return { ...model, findings: fitFindings({ record, model, candidates, chosen, bent, spikeMask }) };
}

function upTo(count: number): number[] {
  return Array.from({ length: count }, (_, i) => i + 1);
}

/** Low and high level of the power while under load, W: a run of two load steps holds two powers. */
function loadLevelsOf(run: Run): number[] {
  const highest = quantileOf(run.powerW, 0.95);
  const loaded = run.powerW.filter((power) => power >= highest / 2);
  return loaded.length === 0 ? [] : [quantileOf(loaded, 0.1), quantileOf(loaded, 0.9)];
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
  const unknown = runs.find((run) => !isAirKnown(run));
  if (unknown !== undefined) {
    throw unknownAirError(unknown, 'fitCooler', 'neither an air column nor conditions.ambientC');
  }
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
  const spread = model.ambientC.standardError.toPrecision(2);
  throw unknownAirError(
    unknown,
    caller,
    `neither an air column nor conditions.ambientC, and whose course tells it only to ± ${spread} K (one standard error)`,
  );
}

function requireStageCount(value: number, caller: string, argument: string): void {
  if (Number.isInteger(value) && value >= 1 && value <= 4) return;
  throw new ArgumentError({ caller, argument, expected: 'a whole number from 1 to 4', received: value });
}

/** Runs from `makeRun` and the log reader are finite; one put together by hand may not be. */
function requireFiniteSamples(runs: readonly Run[], caller: string): void {
  runs.forEach((run, j) => {
    for (const column of ['timeS', 'temperatureC', 'powerW'] as const) {
      const bad = run[column].findIndex((value) => !Number.isFinite(value));
      if (bad < 0) continue;
      throw new ArgumentError({
        caller,
        argument: `runs[${j}].${column}[${bad}]`,
        expected: 'a finite number',
        received: run[column][bad],
        remedy: `make run "${run.label}" with makeRun or parseRun, which report and leave out such samples`,
      });
    }
  });
}

/** The same log twice would count as twice the evidence. */
function requireDifferentRuns(runs: readonly Run[], caller: string): void {
  runs.forEach((run, j) => {
    const twin = runs
      .slice(0, j)
      .find(
        (earlier) =>
          earlier.timeS.length === run.timeS.length &&
          run.temperatureC.every((value, i) => value === earlier.temperatureC[i]) &&
          run.powerW.every((value, i) => value === earlier.powerW[i]),
      );
    if (twin === undefined) return;
    throw new ArgumentError({
      caller,
      argument: `runs[${j}]`,
      expected: 'a run of its own',
      received: `the samples of "${twin.label}" again`,
      remedy: 'give each run once',
    });
  });
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
