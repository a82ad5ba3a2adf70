import type { Estimate } from '../../numerics/estimate.js';
import type { Finding } from '../../runs/finding.js';

/** What the run so far says of its end. */
export interface SteadyForecast {
  readonly kind: 'forecast';
  /** `known`: within the wanted half-width; `more-time`: it will be after `moreTimeS`; `out-of-reach`: not within an hour. */
  readonly verdict: 'known' | 'more-time' | 'out-of-reach';
  /** One sentence with numbers and units. */
  readonly summary: string;
  /** Where the temperature will settle at `powerW` in air of `ambientC`, degrees Celsius. */
  readonly steadyTemperatureC: Estimate;
  /** (steady temperature − air) / power. */
  readonly thermalResistanceKPerW: Estimate;
  /** Mean power of the load as it is held now: over the second half of its last part. */
  readonly powerW: number;
  /** Air at the intake: mean of the last minute. */
  readonly ambientC: number;
  /** What averaging the last two minutes would give, its interval as if it were steady. */
  readonly lastTwoMinutesC: Estimate;
  /** Share of the rise above the air that is still to come; below 0 where the temperature falls towards its steady value. */
  readonly missingRiseFraction: Estimate;
  readonly slowestTimeConstantS: Estimate;
  /** How long the load has lasted. */
  readonly loadS: number;
  /** The half-width that was asked for. */
  readonly wantedHalfWidthK: number;
  /** How much longer the load must last for the wanted half-width: 0 where it is there, absent where an hour would not do. */
  readonly moreTimeS?: number;
  readonly findings: readonly Finding[];
}

/** Why there is no forecast yet. */
export interface TooEarlyForecast {
  readonly kind: 'too-early';
  /** One sentence with numbers and units. */
  readonly reason: string;
  /** How long the load has lasted. */
  readonly loadS: number;
  /** How much longer it must last for a forecast, where that can be said. */
  readonly moreTimeS?: number;
  readonly findings: readonly Finding[];
}

/** A forecast, or why it is too early for one: the question is asked again and again while a run is logged. */
export type Forecast = SteadyForecast | TooEarlyForecast;
