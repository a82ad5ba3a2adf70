import { ArgumentError } from '../../errors.js';
import { orderStatistic, quantileOf } from '../../numerics/order-statistic.js';
import type { Run } from '../../runs/run.js';
import { airAtDie } from '../air-at-die.js';
import type { BlockedSamples, DrivenSamples } from '../pole-response.js';
import { type StartKind, startKindOf } from './start-kind.js';

/** One stretch of a run without gaps: what a thermal fit sees of it. */
export interface FitPiece extends DrivenSamples {
  readonly runIndex: number;
  /** Index of the mount among the mounts of the record. */
  readonly mountIndex: number;
  /** Index of the piece's first sample in its run. */
  readonly firstIndex: number;
  /** Index of the piece's first sample among those of all pieces, one after the other. */
  readonly offset: number;
  readonly startKind: StartKind;
  /** Time since the piece's first sample, s; length m. */
  readonly elapsedS: Float64Array;
  /** Measured temperature minus intake air, K, or minus `NOMINAL_AIR_C` where the air is unknown; length m. */
  readonly riseK: Float64Array;
  /** Whether the intake air of the run is one more unknown. */
  readonly ambientUnknown: boolean;
  /**
   * Logarithm of the fan speed during the step that ends at the sample, over the record's reference speed; length m.
   * Missing where the record has no reference speed.
   */
  readonly logFanRatio?: Float64Array;
  /** How many samples each point stands for, where it is a mean of several; length m. */
  readonly samplesPerPoint?: Float64Array;
  /** The samples behind such points. */
  readonly within?: BlockedSamples;
}

/** Runs prepared for a thermal fit. */
export interface FitRecord {
  readonly runs: readonly Run[];
  readonly mounts: readonly string[];
  readonly pieces: readonly FitPiece[];
  readonly sampleCount: number;
  readonly medianStepS: number;
  /** Length of the longest piece, s. */
  readonly longestPieceS: number;
  /** How slowly the cooler passes a change of the air on to the die, s. */
  readonly airTimeConstantS: number;
  /** Mean intake air over the record, degrees Celsius. */
  readonly meanAmbientC: number;
  readonly gapCount: number;
  /** Fan speed at which the resistance is stated, where it differs within or between the runs, revolutions per minute. */
  readonly referenceFanSpeedRpm?: number;
  /** Samples in each of the block means that stand for the samples of the runs; missing where the samples stand for themselves. */
  readonly blockLength?: number;
}

/** What several records of one fit have in common. */
export interface CommonGround {
  /** Names of the mounts; default: those of the runs. */
  readonly mounts?: readonly string[];
  /** See `FitRecord.referenceFanSpeedRpm`; default: the fan speed plays no part. */
  readonly referenceFanSpeedRpm?: number;
}

/** A step longer than this many median steps, and than `MIN_GAP_S`, is a gap: nothing is known of the power in it. */
const GAP_STEPS = 5;
const MIN_GAP_S = 5;

/**
 * Splits runs at their gaps and subtracts the air as the die sees it.
 *
 * @param airTimeConstantS - how slowly the cooler passes a change of the air on to the die, s; see `airAtDie`
 */
export function recordOfRuns(
  runs: readonly Run[],
  airTimeConstantS: number,
  { mounts = mountsOf(runs), referenceFanSpeedRpm }: CommonGround = {},
): FitRecord {
  const pieces: FitPiece[] = [];
  let ambientSum = 0;
  let sampleCount = 0;
  runs.forEach((run, runIndex) => {
    const ambientUnknown = !isAirKnown(run);
    const ambientC = ambientUnknown
      ? new Float64Array(run.timeS.length).fill(NOMINAL_AIR_C)
      : airAtDie(run.timeS, intakeAirOf(run, 'recordOfRuns'), airTimeConstantS);
    const highestPowerW = quantileOf(run.powerW, 0.95);
    const edges = gapEdges(run.timeS);
    for (let e = 0; e + 1 < edges.length; e++) {
      const [first, end] = [edges[e], edges[e + 1]];
      if (end - first < 2) continue;
      const piece = {
        startKind: 'free' as StartKind,
        ambientUnknown,
        runIndex,
        mountIndex: mounts.indexOf(run.conditions.mount ?? ''),
        firstIndex: first,
        offset: sampleCount,
        stepS: new Float64Array(end - first),
        elapsedS: new Float64Array(end - first),
        drivePowerW: new Float64Array(end - first),
        riseK: new Float64Array(end - first),
        ...(referenceFanSpeedRpm === undefined ? {} : { logFanRatio: new Float64Array(end - first) }),
      };
      const fanSpeedRpm = referenceFanSpeedRpm === undefined ? undefined : fanSpeedOf(run);
      // An interval mean belongs to the step before its stamp; an instant value is held until the next sample.
      const held = run.powerSample === 'interval-mean' ? 0 : 1;
      for (let i = 0, j = first; j < end; i++, j++) {
        piece.stepS[i] = i === 0 ? 0 : run.timeS[j] - run.timeS[j - 1];
        piece.elapsedS[i] = run.timeS[j] - run.timeS[first];
        piece.drivePowerW[i] = run.powerW[i === 0 ? j : j - held];
        piece.riseK[i] = run.temperatureC[j] - ambientC[j];
        ambientSum += ambientC[j];
      }
      if (fanSpeedRpm !== undefined && referenceFanSpeedRpm !== undefined) {
        piece.logFanRatio?.forEach((_, i, ratios) => {
          ratios[i] = Math.log(fanSpeedRpm(i === 0 ? first : first + i - held) / referenceFanSpeedRpm);
        });
      }
      if (e === 0) {
        piece.startKind = startKindOf(piece.elapsedS, piece.drivePowerW, piece.riseK, highestPowerW);
      }
      pieces.push(piece);
      sampleCount += end - first;
    }
  });
  return {
    runs,
    mounts,
    pieces,
    sampleCount,
    medianStepS: Math.min(...runs.map((run) => medianStepOf(run.timeS))),
    longestPieceS: Math.max(...pieces.map(({ elapsedS }) => elapsedS[elapsedS.length - 1])),
    airTimeConstantS,
    meanAmbientC: ambientSum / sampleCount,
    gapCount: pieces.length - runs.length,
    ...(referenceFanSpeedRpm === undefined ? {} : { referenceFanSpeedRpm }),
  };
}

/** Names of the mounts of some runs, each once. */
export function mountsOf(runs: readonly Run[]): readonly string[] {
  return [...new Set(runs.map((run) => run.conditions.mount ?? ''))];
}

/** Fan speed at each sample of a run that knows it, revolutions per minute. */
function fanSpeedOf({ fanSpeedRpm, conditions }: Run): (index: number) => number {
  if (fanSpeedRpm !== undefined) return (index) => fanSpeedRpm[index];
  return () => conditions.fanSpeedRpm ?? Number.NaN;
}

/** How many samples each point of the record stands for: 1, or more where the points are means of blocks. */
export function pointWeightsOf({ pieces, sampleCount }: FitRecord): Float64Array {
  const weights = new Float64Array(sampleCount).fill(1);
  for (const { samplesPerPoint, offset } of pieces)
    if (samplesPerPoint !== undefined) weights.set(samplesPerPoint, offset);
  return weights;
}

/** An unknown intake air is fitted as an offset from this, degrees Celsius: a usual room. */
export const NOMINAL_AIR_C: number = 22;

/** Whether a run knows its intake air, as a column or as a constant. */
export function isAirKnown(run: Run): boolean {
  return run.ambientC !== undefined || run.conditions.ambientC !== undefined;
}

/** Intake air of each sample, degrees Celsius: the measured channel or the constant that was given. */
export function intakeAirOf(run: Run, caller: string): Float64Array {
  if (run.ambientC !== undefined) return run.ambientC;
  const given = run.conditions.ambientC;
  if (given !== undefined) return new Float64Array(run.timeS.length).fill(given);
  throw unknownAirError(run, caller, 'neither an air column nor conditions.ambientC');
}

/** The error for a run whose intake air is needed, not known and not identifiable. */
export function unknownAirError(run: Run, caller: string, found: string): ArgumentError {
  return new ArgumentError({
    caller,
    argument: 'runs',
    expected: 'runs with a known air temperature at the intake of the cooler',
    received: `run "${run.label}" with ${found}`,
    remedy:
      'an unknown room and the thermal resistance are told apart only by large changes of power: measure the air at the ' +
      'intake and give it as conditions: { ambientC: … } or in the conditions file beside the log',
  });
}

/** Indices at which a run is cut: its start, the first sample after each gap, its end. */
export function gapEdges(timeS: Float64Array): number[] {
  const limitS = Math.max(MIN_GAP_S, GAP_STEPS * medianStepOf(timeS));
  const edges = [0];
  for (let i = 1; i < timeS.length; i++) {
    if (timeS[i] - timeS[i - 1] > limitS) edges.push(i);
  }
  return [...edges, timeS.length];
}

function medianStepOf(timeS: Float64Array): number {
  const steps = new Float64Array(Math.max(1, timeS.length - 1));
  for (let i = 1; i < timeS.length; i++) steps[i - 1] = timeS[i] - timeS[i - 1];
  return orderStatistic(steps, steps.length >> 1);
}
