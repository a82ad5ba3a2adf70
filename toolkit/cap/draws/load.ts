import type { TemperatureDraws } from './temperature-draws.js';

/** One load under the cap, at one fan speed. */
export interface Load {
  readonly label: string;
  /** Share of the time. */
  readonly shareFraction: number;
  readonly temperatures: TemperatureDraws;
  /** What it draws where no cap holds it back, W, in each draw or in all; absent: as much as the cap allows. */
  readonly demandW?: number | Float64Array;
  /** The least and the greatest of these, W, where they are given in each draw. */
  readonly demandRangeW?: readonly [least: number, greatest: number];
}
