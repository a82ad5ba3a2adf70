import type { Estimate } from '../numerics/estimate.js';

/** A number that may be uncertain: exact, uniform between two bounds, or normal. */
export type UncertainInput =
  | number
  | { readonly low: number; readonly high: number }
  | { readonly mean: number; readonly standardDeviation: number };

/** Where the machine will live and what it must hold. */
export interface CapScenario {
  /** Highest die temperature allowed, degrees Celsius. */
  readonly limitC: number;
  /** Whether the limit holds for the mean or for the peaks of noise and governor ripple. Default `mean`. */
  readonly limitAppliesTo?: 'mean' | 'peak';
  /** Air temperature of the room, degrees Celsius. */
  readonly ambientC: UncertainInput;
  /** What the enclosure adds to the intake air; without `atPowerW` fixed, with it proportional to power. None: open bench. */
  readonly enclosure?: { readonly riseK: UncertainInput; readonly atPowerW?: number };
  /** Chance with which the limit must hold. Default 0.95. */
  readonly confidence?: number;
  /** Step in which the cap can be set, W. Default 1. */
  readonly stepW?: number;
  /** Lowest cap that is of use, W. Default: one step. */
  readonly minCapW?: number;
  /** Highest cap to consider, W. Default: the default cap where it is given, else the highest power logged. */
  readonly maxCapW?: number;
  /** The maker's default cap, W: what the cost is measured against. */
  readonly defaultCapW?: number;
  /**
   * Number of quasi-random draws. Default 4096, or the next power of two that leaves 20 draws beyond the
   * confidence asked for.
   */
  readonly drawCount?: number;
  /** Seed of the draws' random shift; the same seed gives the same answer to the last digit. Default 1. */
  readonly seed?: number;
}

/** A scenario checked, with every default filled in. */
export type SettledScenario = CapScenario &
  Required<
    Pick<
      CapScenario,
      'limitC' | 'limitAppliesTo' | 'ambientC' | 'confidence' | 'stepW' | 'drawCount' | 'seed'
    >
  >;

/** The recommended cap and everything needed to defend it. Plain data: survives JSON. */
export interface CapChoice {
  readonly kind: 'cap-choice';
  readonly cooler: string;
  readonly processor?: string;
  readonly powerCapW: number;
  /** One or two sentences a person can act on. */
  readonly summary: string;
  /** The largest cap that holds the limit, before the highest cap and the settable step cut it, W. */
  readonly unroundedCapW: number;
  /** At the cap. Interval95 covers room, enclosure and resistance together. */
  readonly steadyTemperatureC: Estimate;
  /** At the cap; covers the curve and the spread of the temperature. */
  readonly frequencyMHz: Estimate;
  /**
   * What keeps the cap from being higher; `tested-range`: the highest power logged, where neither `maxCapW` nor
   * `defaultCapW` is given.
   */
  readonly bindingConstraint: 'temperature' | 'max-cap' | 'default-cap' | 'tested-range';
  /** What one more unit is worth. */
  readonly sensitivities: {
    readonly capPerLimitWPerK: number;
    readonly capPerAmbientWPerK: number;
    readonly temperaturePerPowerKPerW: number;
    /** Along the cooler's own line: the temperature follows the power. */
    readonly frequencyPerPowerMHzPerW: Estimate;
  };
  /** Cost against the default cap on the same cooler, itself held at the limit if it would pass it. */
  readonly cost?: {
    readonly defaultCapW: number;
    /** Power the default cap can sustain on this cooler at the limit, W (median). */
    readonly sustainedPowerW: number;
    readonly heldAtLimit: boolean;
    /** Chance that the default cap passes the limit here. */
    readonly chanceOfPassingLimit: number;
    /** At the default cap, or at what it can sustain. */
    readonly frequencyMHz: Estimate;
    /** What the recommended cap gives up against that; curve, room and resistance are common to both. */
    readonly frequencyLossMHz: Estimate;
    /** Lost share of frequency; of throughput too where work follows frequency. */
    readonly lossFraction: Estimate;
  };
  /** Caps at and around the chosen one with the chance of passing the limit. */
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
  }[];
  readonly scenario: SettledScenario;
  /** The cap lies outside the powers that were logged, of the cooler or of the curve. */
  readonly extrapolated: boolean;
  /** What to know before setting the cap, the most serious first. */
  readonly cautions: readonly string[];
}
