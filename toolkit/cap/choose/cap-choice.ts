import type { Estimate } from '../../numerics/estimate.js';
import type { CapObjective, SettledScenario } from '../scenario/cap-scenario.js';
import type { BindingConstraint } from '../setting/binding-constraint.js';

export type { CapScenario, SettledScenario, UncertainInput } from '../scenario/cap-scenario.js';

/**
 * What one more unit of something is worth at the recommended setting: the cap follows what binds it, fan speed and voltage
 * offset stay as they are.
 */
export interface WorthOfOneMore {
  readonly of: 'limit' | 'room-air' | 'cap' | 'supply-budget' | 'fan-speed' | 'voltage-offset';
  /** Of the one more: a kelvin warmer, a watt more, a turn per minute faster, a millivolt deeper. */
  readonly unit: 'K' | 'W' | 'rpm' | 'mV';
  /**
   * What it adds to the cap before the step cuts it, W: to the largest allowed, or to the lowest that reaches the least
   * throughput where that binds; 0 where something else does.
   */
  readonly capChangeW: number;
  /** What it adds to the objective, as a share of it; positive is better. Absent where no curve tells. */
  readonly objectiveChangeFraction?: number;
}

/** The higher cap for short stretches that goes with the sustained one. */
export interface ShortTermCap {
  readonly powerCapW: number;
  /** How long it may be held before the sustained cap takes over, s. */
  readonly windowS: number;
  /** Earlier power in whose steady state the stretch may start, at most; W. */
  readonly startPowerW: number;
  /** Before the highest cap and the step cut it, W. */
  readonly unroundedCapW: number;
  readonly bindingConstraint: 'temperature' | 'supply' | 'max-cap' | 'default-cap' | 'tested-range';
  /** At the end of the stretch. */
  readonly temperatureC: Estimate;
  readonly frequencyMHz: Estimate;
  readonly extrapolated: boolean;
}

/** The recommended setting and everything needed to defend it. Plain data: survives JSON. */
export interface CapChoice {
  readonly kind: 'cap-choice';
  readonly cooler: string;
  readonly processor?: string;
  readonly powerCapW: number;
  /** A few sentences a person can act on. */
  readonly summary: string;
  /**
   * The largest cap that holds the limit, before the highest cap and the settable step cut it, W; where none passes it,
   * because the load draws too little, the highest cap considered.
   */
  readonly unroundedCapW: number;
  /** At the cap: of the one load, the hottest of several, or a cycle's highest point. Covers room, enclosure and resistance. */
  readonly steadyTemperatureC: Estimate;
  /** At the cap; covers the curve and the spread of the temperature. Means over the loads by their time. */
  readonly frequencyMHz: Estimate;
  readonly throughputPerS: Estimate;
  /** With `workPerJobCount`. */
  readonly jobRatePerH?: Estimate;
  readonly energyPerJobJ?: Estimate;
  readonly workPerWh: Estimate;
  /** What was made the most of, as it stands at the cap. */
  readonly objective: { readonly name: CapObjective; readonly unit: string; readonly reached: Estimate };
  /** Mean power of the package, W: the cap, or less where loads draw less. */
  readonly packagePowerW: number;
  /** At the supply's input, where a supply is described, W. */
  readonly supplyPowerW?: number;
  /** The fan's speed, where it was to be chosen. */
  readonly fan?: {
    readonly speedRpm: number;
    readonly soundLevelDb?: number;
    /** Slowest settable speed at which the same cap still holds the limit, rpm. */
    readonly slowestAtSameCapRpm: number;
    readonly bindingConstraint: 'sound-level' | 'highest-speed' | 'objective';
  };
  /** The core voltage's offset, where it was to be chosen, mV. */
  readonly voltageOffsetMv?: number;
  /** Each load at the cap, where there are several. */
  readonly loads?: readonly {
    readonly label: string;
    readonly shareFraction: number;
    /** Mean of the draws; in a cycle, mean over the phase as well. */
    readonly temperatureC: number;
    readonly powerW: number;
    /** It draws less than the cap allows. */
    readonly belowCap: boolean;
  }[];
  /** What keeps the cap where it is; see `BindingConstraint`. */
  readonly bindingConstraint: BindingConstraint;
  /** What one more unit is worth. */
  readonly sensitivities: {
    readonly capPerLimitWPerK: number;
    readonly capPerAmbientWPerK: number;
    readonly temperaturePerPowerKPerW: number;
    /** Along the cooler's own line: the temperature follows the power. */
    readonly frequencyPerPowerMHzPerW: Estimate;
  };
  readonly worth: readonly WorthOfOneMore[];
  /**
   * Cost against the default cap on the same cooler at the same fan speed and voltage offset, itself held at the limit if
   * it would pass it; of several loads, of the hottest.
   */
  readonly cost?: {
    readonly defaultCapW: number;
    /** Power the default cap can sustain on this cooler at the limit, W (median). */
    readonly sustainedPowerW: number;
    readonly heldAtLimit: boolean;
    /** Chance that the default cap exceeds the limit here. */
    readonly chanceOfPassingLimit: number;
    /** At the default cap, or at what it can sustain. */
    readonly frequencyMHz: Estimate;
    /** What the recommended cap gives up against that; curve, room and resistance are common to both. */
    readonly frequencyLossMHz: Estimate;
    /** Lost share of frequency. */
    readonly lossFraction: Estimate;
    /** The same of throughput, where the curve knows it. */
    readonly throughputPerS: Estimate;
    readonly throughputLossFraction: Estimate;
  };
  /** The higher cap for short stretches, where it was asked for. */
  readonly shortTerm?: ShortTermCap;
  /** Caps at and around the chosen one with the chance of exceeding the limit. */
  readonly neighbours: readonly { readonly powerCapW: number; readonly chanceOfPassingLimit: number }[];
  /** Steady temperature against cap, for the picture. */
  readonly temperatureAgainstCap: readonly {
    readonly powerCapW: number;
    /** Mean of the draws, degrees Celsius. */
    readonly temperatureC: number;
    /** 95 % band: 2.5 % of the draws lie below `lowC` and 2.5 % above `highC`. */
    readonly lowC: number;
    readonly highC: number;
    /** What holds with the confidence asked for: it meets the limit at `unroundedCapW`. */
    readonly atConfidenceC: number;
    readonly frequencyMHz?: number;
    /** The objective there, in its unit. */
    readonly objective?: number;
  }[];
  readonly scenario: SettledScenario;
  /** The cap lies outside the powers that were logged, of the cooler or of the curve. */
  readonly extrapolated: boolean;
  /** What to know before setting the cap, the most serious first. */
  readonly cautions: readonly string[];
}
