import type { Run } from '../../runs/run.js';
import { commonGroundOf, type FitSettings, fitOneCooler, type OneCoolerFit } from '../fit/fit-one-cooler.js';
import { mountsOf } from '../fit/fit-record.js';

/** Runs of one cooler, by place. */
export interface CoolerRuns {
  readonly cooler: string;
  /** On the bench; or all of them, where none is. */
  readonly bench: readonly Run[];
  readonly inEnclosures: readonly { readonly enclosure: string; readonly runs: readonly Run[] }[];
}

/** One cooler of a joint fit, fitted on its own: on the bench, and in each enclosure. */
export interface CoolerParts {
  readonly cooler: string;
  readonly bench: OneCoolerFit;
  readonly inEnclosures: readonly { readonly enclosure: string; readonly fit: OneCoolerFit }[];
}

/** Fits a cooler in each of its places. */
export function fitParts(
  { cooler, bench, inEnclosures }: CoolerRuns,
  settings: FitSettings,
  caller: string,
): CoolerParts {
  // Bench and enclosure are of one cooler: its mounts and its fan are the same in both.
  const runs = [...bench, ...inEnclosures.flatMap((place) => place.runs)];
  const common = { ...commonGroundOf(runs, settings), mounts: mountsOf(runs) };
  const own = { ...settings, label: cooler };
  return {
    cooler,
    bench: fitOneCooler(bench, own, caller, common),
    inEnclosures: inEnclosures.map((place) => ({
      enclosure: place.enclosure,
      fit: fitOneCooler(place.runs, own, caller, common),
    })),
  };
}

/** The fits of all coolers in all places, in the order of the members of a joint fit. */
export function fitsOf(parts: readonly CoolerParts[]): OneCoolerFit[] {
  return parts.flatMap(({ bench, inEnclosures }) => [bench, ...inEnclosures.map(({ fit }) => fit)]);
}
