import { NumericalError } from '../../errors.js';
import type { Run } from '../../runs/run.js';
import { ASSUMED_EXPONENT } from '../assumed-exponent.js';
import type { CoolerModel } from '../cooler-model.js';
import { fanSpeedsOf } from './fan-covariate.js';
import type { FittedCandidate } from './fit-candidate.js';
import { type FittedCandidates, fitCandidates } from './fit-candidates.js';
import { fitFindings } from './fit-findings.js';
import { type CommonGround, isAirKnown, recordOfRuns, unknownAirError } from './fit-record.js';
import type { FitStructure } from './fit-structure.js';
import { loadLevelsOf, meanLoadPowerW } from './load-power.js';
import { modelOfCandidates } from './model-of-candidates.js';
import { requireEnoughSamples } from './require-fit-runs.js';

/** What is asked of a fit, defaults filled in. */
export interface FitSettings {
  readonly label?: string;
  readonly maxStageCount: number;
  readonly stageCount?: number;
  readonly sensorLag: boolean;
  readonly atPowerW?: number;
  readonly powerExponent?: number;
  readonly fitFanSpeed: boolean;
}

/** A fit of one cooler, with what a joint fit of several goes on from. */
export interface OneCoolerFit {
  readonly model: CoolerModel;
  readonly finished: FittedCandidates;
  structureOf(stageCount: number, sensorLag: boolean): FitStructure;
  readonly common: CommonGround;
  /** Standard deviation of an exponent that was assumed; 0 where it was fixed or fitted. */
  readonly assumedExponentError: number;
}

export const MOST_STAGES = 4;

/** Two load powers count as different from this ratio on. */
const DISTINCT_POWER_RATIO = 1.1;

/** Fits runs of one cooler in one place; see `fitCooler`. The runs were checked. */
export function fitOneCooler(
  list: readonly Run[],
  settings: FitSettings,
  caller: string,
  common: CommonGround = commonGroundOf(list, settings),
): OneCoolerFit {
  const { referenceFanSpeedRpm } = common;
  const undelayed = recordOfRuns(list, 0, common);
  requireEnoughSamples(undelayed, caller);

  const loadPowersW = list.map(meanLoadPowerW);
  const atPowerW =
    settings.atPowerW ?? Math.exp(loadPowersW.reduce((sum, power) => sum + Math.log(power), 0) / list.length);
  const loadLevelsW = list.flatMap(loadLevelsOf);
  const fitExponent =
    settings.powerExponent === undefined &&
    Math.max(...loadLevelsW) > DISTINCT_POWER_RATIO * Math.min(...loadLevelsW);
  const powerExponent = settings.powerExponent ?? ASSUMED_EXPONENT.mean;
  const structureOf = (stageCount: number, lag: boolean): FitStructure => ({
    stageCount,
    sensorLag: lag,
    fitExponent,
    powerExponent,
    atPowerW,
    fan: referenceFanSpeedRpm !== undefined,
  });

  const stageCounts =
    settings.stageCount === undefined ? upTo(settings.maxStageCount) : [settings.stageCount];
  const structures = stageCounts.flatMap((stageCount) =>
    (settings.sensorLag ? [false, true] : [false]).map((lag) => structureOf(stageCount, lag)),
  );
  const finished = fitCandidates(list, undelayed, structures, common);
  requireUsable(finished.candidates, list, caller);
  const { record, candidates, table, noise, spikeMask } = finished;

  // Where the exponent is assumed, two more fits say what that leaves open: one with the exponent a standard deviation
  // higher, and one with the exponent free. A resistance that falls as the run warms up looks like a further stage
  // where it is not allowed for, so the second has one stage more than was chosen.
  const { chosen } = table;
  const assumed = !fitExponent && settings.powerExponent === undefined;
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
    sampleWeights: finished.sampleWeights,
    noise,
    exponentSource: fitExponent ? 'fitted' : 'assumed',
    assumedExponentError,
    shifted,
    label: settings.label ?? list[0].conditions.cooler ?? list[0].label,
  });
  requireIdentifiedAir(model, list, caller);
  const findings = fitFindings({ record, model, candidates, chosen, bent, spikeMask });
  return { model: { ...model, findings }, finished, structureOf, common, assumedExponentError };
}

function upTo(count: number): number[] {
  return Array.from({ length: count }, (_, i) => i + 1);
}

/** Where the fan speed differs, and every run knows it, it is part of the fit. */
export function commonGroundOf(runs: readonly Run[], { fitFanSpeed }: FitSettings): CommonGround {
  if (!fitFanSpeed) return {};
  const { known, varies, referenceFanSpeedRpm } = fanSpeedsOf(runs);
  return known && varies ? { referenceFanSpeedRpm } : {};
}

function requireUsable(candidates: readonly FittedCandidate[], runs: readonly Run[], caller: string): void {
  if (candidates.some((candidate) => candidate.rejected === undefined)) return;
  const unknown = runs.find((run) => !isAirKnown(run));
  if (unknown !== undefined) {
    throw unknownAirError(unknown, caller, 'neither an air column nor conditions.ambientC');
  }
  const reasons = [...new Set(candidates.map((candidate) => candidate.rejected))];
  const stages = [...new Set(candidates.map((candidate) => candidate.structure.stageCount))];
  const labels = runs.map((run) => `"${run.label}"`).join(', ');
  throw new NumericalError(
    `${caller}: no model with ${stages.join(', ')} stages describes the runs ${labels} (${reasons.join('; ')}); look at the ` +
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
