import type { Processor } from './processor.js';

/** How the frequency governor reacts. */
export interface GovernorSettings {
  /** Time between two decisions. */
  readonly reactionTimeS: number;
  /** Time constant of the power average it looks at. */
  readonly averagingTimeS: number;
  /** Excess power answered by one frequency step; more excess, more steps. */
  readonly wattsPerStep: number;
  /** The same for the temperature. */
  readonly kelvinPerStep: number;
  readonly mostStepsAtOnce: number;
}

/** A governor at work: seen power and temperature in, frequency out. */
export interface Governor {
  readonly frequencyMHz: () => number;
  /** Jumps to the idle or the highest frequency when work ends or begins. */
  readonly begin: (work: 'idle' | 'load') => void;
  /** Sees the power drawn during one control step. */
  readonly watch: (powerW: number) => void;
  /** Moves the frequency up or down, always by whole steps: it dithers about the cap and never rests on it. */
  readonly decide: (powerCapW: number, dieTemperatureC: number) => void;
}

/** Holds the power cap and the processor's temperature limit, whichever is nearer, by whole frequency steps. */
export function startGovernor(processor: Processor, settings: GovernorSettings, stepS: number): Governor {
  const taken = 1 - Math.exp(-stepS / settings.averagingTimeS);
  let work: 'idle' | 'load' = 'idle';
  let frequencyMHz = processor.idleMHz;
  let averageW: number | undefined;
  return {
    frequencyMHz: () => frequencyMHz,
    begin: (next) => {
      if (next === work) return;
      work = next;
      frequencyMHz = work === 'idle' ? processor.idleMHz : processor.highestMHz;
    },
    watch: (powerW) => {
      averageW ??= powerW;
      averageW += (powerW - averageW) * taken;
    },
    decide: (powerCapW, dieTemperatureC) => {
      if (work === 'idle' || averageW === undefined) return;
      const headroom = Math.min(
        (powerCapW - averageW) / settings.wattsPerStep,
        (processor.limitC - dieTemperatureC) / settings.kelvinPerStep,
      );
      const steps = Math.min(settings.mostStepsAtOnce, Math.max(1, Math.round(Math.abs(headroom))));
      const wantedMHz = frequencyMHz + Math.sign(headroom) * steps * processor.stepMHz;
      frequencyMHz = Math.min(processor.highestMHz, Math.max(processor.idleMHz, wantedMHz));
    },
  };
}
