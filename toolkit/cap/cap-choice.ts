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
  readonly minCapW?: number;
  readonly maxCapW?: number;
  /** The maker's default cap, W: what the cost is measured against. */
  readonly defaultCapW?: number;
  /** Number of draws. Default 4096. */
  readonly drawCount?: number;
  readonly seed?: number;
}

/** The recommended cap and everything needed to defend it. Plain data: survives JSON. */
export interface CapChoice {
  readonly kind: 'cap-choice';
  readonly cooler: string;
  readonly processor?: string;
  readonly powerCapW: number;
  /** One or two sentences a person can act on. */
  readonly summary: string;
  /** Before rounding down to the settable step, W. */
  readonly unroundedCapW: number;
  /** Interval95 covers room, enclosure and resistance together. */
  readonly steadyTemperatureC: Estimate;
  readonly frequencyMHz: Estimate;
  readonly bindingConstraint: 'temperature' | 'max-cap' | 'default-cap';
  /** What one more unit is worth. */
  readonly sensitivities: {
    readonly capPerLimitWPerK: number;
    readonly capPerAmbientWPerK: number;
    readonly temperaturePerPowerKPerW: number;
    readonly frequencyPerPowerMHzPerW: Estimate;
  };
  /** Cost against the default cap on the same cooler, itself held at the limit if it would pass it. */
  readonly cost?: {
    readonly defaultCapW: number;
    /** Power the default cap can sustain on this cooler at the limit, W (median). */
    readonly sustainedPowerW: number;
    readonly heldAtLimit: boolean;
    readonly frequencyMHz: Estimate;
    readonly frequencyLossMHz: Estimate;
    /** Lost share of frequency; of throughput too where work follows frequency. */
    readonly lossFraction: Estimate;
  };
  /** Caps at and around the chosen one with the chance of passing the limit. */
  readonly neighbours: readonly { readonly powerCapW: number; readonly chanceOfPassingLimit: number }[];
  /** Temperature against cap with its band, for the picture. */
  readonly temperatureAgainstCap: readonly {
    readonly powerCapW: number;
    readonly temperatureC: number;
    readonly lowC: number;
    readonly highC: number;
    readonly frequencyMHz?: number;
  }[];
  readonly scenario: Required<
    Pick<
      CapScenario,
      'limitC' | 'limitAppliesTo' | 'ambientC' | 'confidence' | 'stepW' | 'drawCount' | 'seed'
    >
  > &
    Omit<
      CapScenario,
      'limitC' | 'limitAppliesTo' | 'ambientC' | 'confidence' | 'stepW' | 'drawCount' | 'seed'
    >;
  readonly extrapolated: boolean;
  readonly cautions: readonly string[];
}
