import type { Estimate } from '../../numerics/estimate.js';
import type { SettledScenario } from '../scenario/cap-scenario.js';
import type { CapBound } from '../setting/binding-constraint.js';

/** What one cap comes to. */
export interface FrontierPoint {
  readonly powerCapW: number;
  /** Steady temperature; the 95 % interval covers room, enclosure and resistance. */
  readonly temperatureC: Estimate;
  readonly chanceOfPassingLimit: number;
  /** Whether it satisfies everything that bounds a cap from above, with the confidence asked for. */
  readonly allowed: boolean;
  /** What forbids it. */
  readonly forbiddenBy?: CapBound['constraint'];
  readonly frequencyMHz: Estimate;
  readonly throughputPerS: Estimate;
  readonly workPerWh: Estimate;
  readonly jobRatePerH?: Estimate;
  readonly energyPerJobJ?: Estimate;
  readonly supplyPowerW?: number;
  /** With a fan to be set: the slowest speed at which this cap holds the limit, else the fastest considered. */
  readonly fanSpeedRpm?: number;
  readonly soundLevelDb?: number;
  /** Another cap does at least as much work with less power: no reason to set this one. */
  readonly dominated: boolean;
  readonly extrapolated: boolean;
}

/** The knee of a frontier: where one more watt begins to buy clearly less. */
export interface FrontierKnee {
  readonly powerCapW: number;
  /** What was held against the cap. */
  readonly of: 'throughput' | 'frequency';
  /** Height above the chord, both axes scaled to 0 … 1. */
  readonly heightFraction: number;
  /** Caps that are nearly as high: the knee is no sharper than that, W. */
  readonly flatRangeW: readonly [lowW: number, highW: number];
  /** How it is defined, in one sentence. */
  readonly definition: string;
}

/** Caps against everything they cost and bring. Plain data: survives JSON. */
export interface CapFrontier {
  readonly kind: 'cap-frontier';
  readonly cooler: string;
  readonly processor?: string;
  /** The lowest cap first. */
  readonly points: readonly FrontierPoint[];
  /** Highest of these caps that is allowed, W; absent where none is. */
  readonly highestAllowedW?: number;
  /** Absent where no curve tells the work, or it rises as good as straight. */
  readonly knee?: FrontierKnee;
  /** Cap with the most work per watt-hour among those allowed, W, where throughput is known. */
  readonly mostEfficientW?: number;
  readonly summary: string;
  readonly cautions: readonly string[];
  readonly scenario: SettledScenario;
}
