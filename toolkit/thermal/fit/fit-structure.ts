import { FAN_EXPONENT_PRIOR } from '../fan-law.js';
import type { FitRecord } from './fit-record.js';

/** Which unknowns a candidate has. */
export interface FitStructure {
  readonly stageCount: number;
  readonly sensorLag: boolean;
  /** Whether the power exponent of the resistance is fitted; otherwise it stays at `powerExponent`. */
  readonly fitExponent: boolean;
  readonly powerExponent: number;
  /** Power at which the resistance is stated, W. */
  readonly atPowerW: number;
  /** Whether the fan speed acts on the slowest stage; needs a record with a reference speed. Default false. */
  readonly fan?: boolean;
  /** Whether a resistance behind the cooler's, that of an enclosure, takes no part in the bend. Default false. */
  readonly enclosure?: boolean;
}

/** Number of linear parameters of a structure: its stages' resistances, and that of the enclosure that does not bend. */
export function linearCountOf({ stageCount, enclosure }: FitStructure): number {
  return stageCount + (enclosure === true ? 1 : 0);
}

/** A prior belief about one parameter: what keeps it sensible where the data say little. */
export interface Prior {
  readonly index: number;
  readonly mean: number;
  readonly standardDeviation: number;
}

/** Where each nonlinear parameter stands in the parameter vector, what bounds it, and what is believed of it. */
export interface ParameterLayout {
  readonly names: readonly string[];
  readonly count: number;
  /** Index of log sensor lag, or −1. */
  readonly lagIndex: number;
  /** Index of the power exponent, or −1. */
  readonly exponentIndex: number;
  /** Index of the share of the slowest stage's resistance that the fan rules, then of the fan's exponent; or −1. */
  readonly fanIndex: number;
  /**
   * Index of the first mount's log factor, or −1 where there is one mount. The last mount has no parameter of its
   * own: the log factors of all mounts sum to 0, so that the resistance is that of their middle.
   */
  readonly mountIndex: number;
  /** Index of the offset of each run's intake air from `NOMINAL_AIR_C`, or −1 where the air is known. */
  readonly ambientIndices: readonly number[];
  /** Index of each piece's first start parameter. */
  readonly startIndices: readonly number[];
  readonly lowerBounds: Float64Array;
  readonly upperBounds: Float64Array;
  readonly priors: readonly Prior[];
}

/**
 * Prior of the power exponent where several powers were logged: convection between "does not depend on the
 * temperature difference" (0) and turbulent natural convection (p = 1/3, exponent 1/4) [Bergman2011, ch. 9].
 */
export const FITTED_EXPONENT_PRIOR: { readonly mean: number; readonly standardDeviation: number } = {
  mean: 0.05,
  standardDeviation: 0.08,
};

/** Bounds of the share of the slowest stage's resistance that the fan rules. */
const FAN_SHARE_BOUNDS = [0, 1] as const;
const FAN_EXPONENT_BOUNDS = [0.05, 2] as const;
/** Where the search for the share begins. */
export const FAN_SHARE_START: number = 0.6;

/** Prior spread of the log resistance between mounts of one cooler: a few per cent. */
const MOUNT_LOG_SPREAD = 0.04;

/** An unknown room may be anything: this prior only keeps the search on the ground. */
const UNKNOWN_AIR_PRIOR: Omit<Prior, 'index'> = { mean: 0, standardDeviation: 20 };

/** Lays out the nonlinear parameters of one candidate for one record. */
export function layoutParameters(record: FitRecord, structure: FitStructure): ParameterLayout {
  const names: string[] = [];
  const lower: number[] = [];
  const upper: number[] = [];
  const priors: Prior[] = [];
  const add = (name: string, low: number, high: number, prior?: Omit<Prior, 'index'>): number => {
    if (prior !== undefined) priors.push({ index: names.length, ...prior });
    names.push(name);
    lower.push(low);
    upper.push(high);
    return names.length - 1;
  };
  const fastest = Math.log(0.3 * record.medianStepS);
  const slowest = Math.log(3 * record.longestPieceS);
  for (let k = 0; k < structure.stageCount; k++) add(`logTimeConstantS[${k + 1}]`, fastest, slowest);
  const lagIndex = structure.sensorLag
    ? add('logSensorLagS', fastest, Math.log(Math.max(record.medianStepS, record.longestPieceS / 10)))
    : -1;
  const exponentIndex = structure.fitExponent ? add('powerExponent', -0.2, 0.4, FITTED_EXPONENT_PRIOR) : -1;
  let fanIndex = -1;
  if (structure.fan === true) {
    fanIndex = add('fanShare', ...FAN_SHARE_BOUNDS);
    add('fanExponent', ...FAN_EXPONENT_BOUNDS, FAN_EXPONENT_PRIOR);
  }
  let mountIndex = -1;
  if (record.mounts.length > 1) {
    const prior = { mean: 0, standardDeviation: MOUNT_LOG_SPREAD };
    mountIndex = names.length;
    for (const mount of record.mounts.slice(0, -1))
      add(`logMountFactor[${mount || 'unnamed'}]`, -0.5, 0.5, prior);
  }
  const ambientIndices = record.runs.map((run, runIndex) =>
    record.pieces.some((piece) => piece.runIndex === runIndex && piece.ambientUnknown)
      ? add(
          `ambientOffsetK[${run.label}]`,
          Number.NEGATIVE_INFINITY,
          Number.POSITIVE_INFINITY,
          UNKNOWN_AIR_PRIOR,
        )
      : -1,
  );
  const startIndices = record.pieces.map((piece) => {
    const { label } = record.runs[piece.runIndex];
    const first = names.length;
    const power = piece.drivePowerW[0];
    if (piece.startKind !== 'free') {
      // With the air unknown too, what the log shows of the idle power is needed: else start and air trade places.
      const idle = piece.ambientUnknown
        ? { mean: power, standardDeviation: 0.25 * Math.abs(power) + 3 }
        : undefined;
      add(`startPowerW[${label}]`, Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY, idle);
      return first;
    }
    const prior = { mean: power, standardDeviation: 0.5 * power + 10 };
    for (let k = 0; k < structure.stageCount; k++) {
      add(
        `startPowerW[${label}, ${piece.firstIndex}, ${k + 1}]`,
        Number.NEGATIVE_INFINITY,
        Number.POSITIVE_INFINITY,
        prior,
      );
    }
    return first;
  });
  return {
    names,
    count: names.length,
    lagIndex,
    exponentIndex,
    fanIndex,
    mountIndex,
    ambientIndices,
    startIndices,
    lowerBounds: Float64Array.from(lower),
    upperBounds: Float64Array.from(upper),
    priors,
  };
}

/** Log factor of each mount on the temperature rise; they sum to 0. */
export function logMountFactors(
  layout: ParameterLayout,
  mountCount: number,
  parameters: Float64Array,
): number[] {
  if (layout.mountIndex < 0) return [0];
  const free = Array.from(parameters.subarray(layout.mountIndex, layout.mountIndex + mountCount - 1));
  return [...free, -free.reduce((sum, factor) => sum + factor, 0)];
}

/** What prior beliefs add to a sum of squares. */
export function costOfPriors(priors: readonly Prior[], parameters: Float64Array): number {
  let cost = 0;
  for (const { index, mean, standardDeviation } of priors)
    cost += ((parameters[index] - mean) / standardDeviation) ** 2;
  return cost;
}

/** Adds prior beliefs to normal equations of a width. */
export function addPriors(
  priors: readonly Prior[],
  parameters: Float64Array,
  { gram, gradient }: { readonly gram: Float64Array; readonly gradient: Float64Array },
  width: number,
): void {
  for (const { index, mean, standardDeviation } of priors) {
    const precision = 1 / standardDeviation ** 2;
    gram[index * (width + 1)] += precision;
    gradient[index] += precision * (parameters[index] - mean);
  }
}
