import type { Estimate } from '../../numerics/estimate.js';
import type { SettledScenario } from '../scenario/cap-scenario.js';
import type { BindingConstraint } from '../setting/binding-constraint.js';
import type { CapSetting } from '../setting/prepared-cap.js';

/** A place a cooler has to do its work in. */
export interface ShortlistPlace {
  /** Of the enclosure and of the room, as given. */
  readonly enclosure: string;
  readonly room: string;
}

/** What one cooler can do in one place. */
export type ShortlistEntry = ShortlistPlace & { readonly cooler: string } & (
    | {
        readonly kind: 'cap';
        readonly powerCapW: number;
        readonly setting: CapSetting;
        readonly bindingConstraint: BindingConstraint;
        /** At the cap. */
        readonly steadyTemperatureC: Estimate;
        readonly frequencyMHz: Estimate;
        readonly throughputPerS: Estimate;
        /** Chance that the limit holds at the lowest cap of use. */
        readonly chanceOfSufficing: number;
        readonly extrapolated: boolean;
        /** The cap lies below half or above twice the powers logged. */
        readonly provisional: boolean;
      }
    | {
        readonly kind: 'no-cap';
        /** Lowest cap of use, and what the best cap falls short of it, W; absent where no power is left at all. */
        readonly lowestCapW: number;
        readonly shortByW?: number;
        /** By how much the temperature at the lowest cap passes the limit at the confidence asked for, K; 0 where it does not. */
        readonly excessK: number;
        readonly chanceOfSufficing: number;
        /** Which constraint fails, and the nearest ways out. */
        readonly reason: string;
      }
    | { readonly kind: 'not-known'; readonly reason: string }
  );

/** What one cooler comes to over all places. */
export interface CoolerVerdict {
  readonly cooler: string;
  /** `everywhere`: a cap from the lowest of use up in every place; `somewhere`: in some; `not-known`: some cannot be told. */
  readonly suffices: 'everywhere' | 'somewhere' | 'nowhere' | 'not-known';
  /** Lowest and highest cap over the places where there is one, W. */
  readonly lowestCapW?: number;
  readonly highestCapW?: number;
  readonly placeCount: number;
  readonly sufficientCount: number;
}

/** Which coolers suffice. Plain data: survives JSON. */
export interface CoolerShortlist {
  readonly kind: 'cooler-shortlist';
  /** The best cooler first: by the number of places it suffices in, its lowest cap, then its highest. */
  readonly coolers: readonly CoolerVerdict[];
  /** All coolers in all places, coolers in that order, places as given. */
  readonly entries: readonly ShortlistEntry[];
  readonly places: readonly ShortlistPlace[];
  readonly summary: string;
  readonly cautions: readonly string[];
  /** Of the first place. */
  readonly scenario: SettledScenario;
}
