import type { PowerCurve } from '../../power/power-curve.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import type { MeasuredEnclosure } from '../../thermal/enclosure-between.js';
import type { FanCurve } from '../../thermal/fan-curve.js';

/** A number that may be uncertain: exact, uniform between two bounds, or normal. */
export type UncertainInput =
  | number
  | { readonly low: number; readonly high: number }
  | { readonly mean: number; readonly standardDeviation: number };

/** What an enclosure adds to the intake air; without `atPowerW` fixed, with it proportional to power. */
export interface EnclosureOfScenario {
  readonly riseK: UncertainInput;
  readonly atPowerW?: number;
}

/**
 * What the setting shall make the most of.
 *
 * `frequency` and `throughput` are means over time; `jobs-per-hour` and `energy-per-job` need `workPerJobCount`; the
 * energy is that drawn from the supply where `supply` says what else it feeds, else that of the package.
 */
export type CapObjective =
  | 'frequency'
  | 'throughput'
  | 'jobs-per-hour'
  | 'energy-per-job'
  | 'work-per-watt-hour';

/**
 * What feeds the machine: it draws (package power + rest of the machine + fan) / efficiency at its input.
 *
 * With a budget alone, that is a wattage at the package.
 */
export interface SupplyOfScenario {
  /** Most that may be drawn at the supply's input, W. */
  readonly budgetW?: number;
  /** What board, memory, drives and the rest draw at the supply's output while the processor is loaded, W. Default 0. */
  readonly restOfMachineW?: number;
  /** Output over input power, above 0 and at most 1. Default 1. */
  readonly efficiencyFraction?: number;
}

/** A level measured at one fan speed; others follow by the fan laws. */
export interface SoundAtFanSpeed {
  readonly soundLevelDb: number;
  readonly fanSpeedRpm: number;
}

/** The fan as something to be set beside the cap. */
export interface FanOfScenario {
  /** Resistance against fan speed, from `fitFanCurve`. Default: what the cooler's own fit knows of it. */
  readonly curve?: FanCurve;
  /** Lowest and highest speed to consider, rpm. Default: what the curve was fitted from. */
  readonly lowestRpm?: number;
  readonly highestRpm?: number;
  /** Step in which the speed can be set, rpm. Default 50. */
  readonly stepRpm?: number;
  /** Needed for `maxSoundLevelDb`, and to say how loud the answer is. */
  readonly sound?: SoundAtFanSpeed;
  /** The fan's own power at one speed, of the supply's output; goes with the cube of speed. Default: not counted. */
  readonly power?: { readonly powerW: number; readonly fanSpeedRpm: number };
}

/** The core voltage's offset as something to be set beside the cap, within what was shown to run stably. */
export interface VoltageOffsetOfScenario {
  /** Deepest offset that was shown to run stably, mV, 0 or below. */
  readonly lowestMv: number;
  /** Default 0. */
  readonly highestMv?: number;
  /** Step in which the offset can be set, mV. Default 5. */
  readonly stepMv?: number;
}

/** One of several loads that one cap has to serve. */
export interface WorkloadOfScenario {
  readonly label: string;
  /** Fitted from runs of this load; another load heats another part of the die. Default: the cooler of the call. */
  readonly cooler?: CoolerModel;
  /** The power curve of this load. Default: the curve of the call. */
  readonly curve?: PowerCurve;
  /** What it draws where no cap holds it back, W. Default: as much as the cap allows. */
  readonly demandW?: number;
  /** Share of the time it runs, in the objective. Default: equal shares. */
  readonly shareFraction?: number;
}

/** One stretch of a cycle that repeats. */
export interface DutyPhase {
  readonly label?: string;
  readonly durationS: number;
  /** What it draws where no cap holds it back, W: an idle stretch, say. Default: as much as the cap allows. */
  readonly demandW?: number;
}

/** A cap for short stretches beside the sustained one. */
export interface ShortTermOfScenario {
  /** How long the higher cap may be held before the sustained one takes over, s. */
  readonly windowS: number;
  /** Earlier power in whose steady state the stretch starts, W. Default 0: everything at the temperature of the air. */
  readonly startPowerW?: number;
  /** Highest short-term cap to consider, W. Default: as for the sustained cap. */
  readonly maxCapW?: number;
}

/** Where the machine will live, what it must hold and what it shall do best. */
export interface CapScenario {
  /** Highest die temperature allowed, degrees Celsius. */
  readonly limitC: number;
  /** Whether the limit holds for the mean or for the peaks of noise and governor ripple. Default `mean`. */
  readonly limitAppliesTo?: 'mean' | 'peak';
  /** Air temperature of the room, degrees Celsius. */
  readonly ambientC: UncertainInput;
  /** What the enclosure adds to the intake air, stated or measured by `enclosureBetween`. None: open bench. */
  readonly enclosure?: EnclosureOfScenario | MeasuredEnclosure;
  /** Chance with which the limit, and a least throughput, must hold. Default 0.95. */
  readonly confidence?: number;
  /** Step in which the cap can be set, W. Default 1. */
  readonly stepW?: number;
  /** Lowest cap that is of use, W. Default: one step. */
  readonly minCapW?: number;
  /** Highest cap to consider, W. Default: the default cap where it is given, else the highest power logged. */
  readonly maxCapW?: number;
  /** The maker's default cap, W: what the cost is measured against. */
  readonly defaultCapW?: number;
  /** Default: throughput where the curve knows it, else frequency. */
  readonly objective?: CapObjective;
  /** Work that makes one job, in the units of the logged throughput. */
  readonly workPerJobCount?: number;
  /** Least throughput, per second, to be reached with the confidence asked for. */
  readonly minThroughputPerS?: number;
  /** Most noise, dB, where the fan's level is known at one speed (`fan.sound`). */
  readonly maxSoundLevelDb?: number;
  readonly supply?: SupplyOfScenario;
  readonly fan?: FanOfScenario;
  readonly voltageOffset?: VoltageOffsetOfScenario;
  /** Highest frequency the processor runs at, MHz: where it is reached, the cap does not bind and leakage sets the power. */
  readonly topFrequencyMHz?: number;
  /** Several loads under one cap: the hottest binds. */
  readonly workloads?: readonly WorkloadOfScenario[];
  /** A cycle of loads under one cap: its highest temperature binds. Needs a cooler with stages. */
  readonly dutyCycle?: readonly DutyPhase[];
  readonly shortTerm?: ShortTermOfScenario;
  /**
   * Number of quasi-random draws. Default 4096, or the next power of two that leaves 20 draws beyond the
   * confidence asked for.
   */
  readonly drawCount?: number;
  /** Seed of the draws' random shift; the same seed gives the same answer to the last digit. Default 1. */
  readonly seed?: number;
}

/** What every settled scenario says, given or by default. */
type SettledName = 'limitAppliesTo' | 'confidence' | 'stepW' | 'objective' | 'drawCount' | 'seed';
/** What a settled scenario says in another form than the one given. */
type RewrittenName = 'enclosure' | 'supply' | 'fan' | 'voltageOffset' | 'workloads' | 'shortTerm';

/** A scenario checked, with every default filled in, and its models named instead of carried. Plain data. */
export interface SettledScenario
  extends Omit<CapScenario, SettledName | RewrittenName>,
    Required<Pick<CapScenario, SettledName>> {
  readonly enclosure?: EnclosureOfScenario;
  readonly supply?: SettledSupply;
  readonly fan?: SettledFan;
  readonly voltageOffset?: Required<VoltageOffsetOfScenario>;
  readonly workloads?: readonly SettledWorkload[];
  readonly shortTerm?: ShortTermOfScenario & { readonly startPowerW: number };
}

/** A supply with its defaults filled in. */
export interface SettledSupply {
  readonly budgetW?: number;
  readonly restOfMachineW: number;
  readonly efficiencyFraction: number;
}

/** The fan without its curve. */
export interface SettledFan {
  readonly lowestRpm: number;
  /** Highest speed within the bounds and the sound level allowed. */
  readonly highestRpm: number;
  readonly stepRpm: number;
  readonly sound?: SoundAtFanSpeed;
  readonly power?: { readonly powerW: number; readonly fanSpeedRpm: number };
}

/** A load without its models. */
export interface SettledWorkload {
  readonly label: string;
  readonly demandW?: number;
  readonly shareFraction: number;
}
