import type { TemperatureDraws } from './temperature-draws.js';
import type { Demand } from './temperature-mixes.js';

/** One load under the cap, at one fan speed. */
export interface Load {
  readonly label: string;
  /** Share of the time. */
  readonly shareFraction: number;
  readonly temperatures: TemperatureDraws;
  /** What it draws where no cap holds it back, W in all draws, or a demand of each; absent: as much as the cap allows. */
  readonly demand?: number | Demand;
}
