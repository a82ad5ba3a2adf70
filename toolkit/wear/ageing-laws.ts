import { type KnownNames, requireKnownNames, requireNumber } from '../errors.js';

/**
 * Boltzmann's constant, eV/K; exact in the SI since 2019, here to ten digits.
 *
 * @example
 * 1414 * BOLTZMANN_EV_PER_K; // => 0.12185 within 1e-5
 */
export const BOLTZMANN_EV_PER_K: number = 8.617333262e-5;

const ZERO_C_IN_K = 273.15;

/** Two constant temperatures and what the mechanism is taken to need. */
export interface ArrheniusComparison {
  /** Degrees Celsius. */
  readonly temperatureC: number;
  /** The temperature it is held against, degrees Celsius. */
  readonly referenceC: number;
  /** Activation energy of the mechanism, eV: an assumption, 0.3 to 1.1 for most in silicon. */
  readonly activationEnergyEv: number;
}

const ARRHENIUS_NAMES: KnownNames<ArrheniusComparison> = {
  temperatureC: true,
  referenceC: true,
  activationEnergyEv: true,
};

/**
 * How many times as fast a thermally activated mechanism goes at one temperature as at another:
 * exp[(E/k)·(1/T_ref − 1/T)], temperatures in kelvin [NISTHandbook, 8.1.5.1].
 *
 * Assumes one mechanism with one activation energy over the whole range. A ratio, never a lifetime.
 *
 * @param comparison - both temperatures and the activation energy
 * @returns the ratio; above 1 where `temperatureC` is the higher one
 * @throws ArgumentError if a temperature is not above −273.15 °C or the energy is negative
 * @example
 * arrheniusRatio({ temperatureC: 125, referenceC: 25, activationEnergyEv: 0.5 }); // => 132.66 within 0.01
 */
export function arrheniusRatio(comparison: ArrheniusComparison): number {
  const caller = 'arrheniusRatio';
  requireKnownNames(comparison, ARRHENIUS_NAMES, { caller, argument: 'comparison' });
  const { temperatureC, referenceC, activationEnergyEv } = comparison;
  for (const [name, value] of Object.entries({ temperatureC, referenceC }))
    requireNumber(value, { caller, argument: `comparison.${name}` }, { above: -ZERO_C_IN_K });
  requireNumber(
    activationEnergyEv,
    { caller, argument: 'comparison.activationEnergyEv', remedy: 'it is in eV, commonly 0.3 to 1.1' },
    { atLeast: 0, atMost: 5 },
  );
  return Math.exp(activationEnergyEv * (perEv(referenceC) - perEv(temperatureC)));
}

/** 1/(kT), 1/eV. */
export function perEv(temperatureC: number): number {
  return 1 / (BOLTZMANN_EV_PER_K * (temperatureC + ZERO_C_IN_K));
}

/** Where 1/(kT) has a value, degrees Celsius. */
export function temperatureOfPerEv(inversePerEv: number): number {
  return 1 / (BOLTZMANN_EV_PER_K * inversePerEv) - ZERO_C_IN_K;
}

/** One kind of temperature cycle. */
export interface CycleKind {
  /** From its lower to its upper extreme, K. */
  readonly rangeK: number;
  /** Upper extreme, degrees Celsius. */
  readonly highestC: number;
  /** How often it happens: the time from one to the next, s. */
  readonly periodS: number;
}

/** Two kinds of cycle and the law they are compared by. */
export interface CyclingComparison {
  readonly cycle: CycleKind;
  readonly reference: CycleKind;
  /** m in damage ∝ range^m. */
  readonly rangeExponent: number;
  /** n in damage of a cycle ∝ frequency^−n: slow cycles do more. */
  readonly frequencyExponent: number;
  /** Of the upper extreme, eV; 1414 K times Boltzmann's constant in the law of Norris and Landzberg. */
  readonly activationEnergyEv: number;
}

const CYCLE_NAMES: KnownNames<CycleKind> = { rangeK: true, highestC: true, periodS: true };
const CYCLING_NAMES: KnownNames<CyclingComparison> = {
  cycle: true,
  reference: true,
  rangeExponent: true,
  frequencyExponent: true,
  activationEnergyEv: true,
};

/**
 * How many times the damage of one temperature cycle one of another kind does, by the law of Coffin and Manson as
 * extended by Norris and Landzberg for solder: (ΔT/ΔT_ref)^m · (f_ref/f)^n · exp[(E/k)·(1/T_ref − 1/T)] with T the
 * upper extreme in kelvin [NorrisLandzberg1969]. With n = 0 and E = 0 it is the plain law of Coffin and Manson.
 *
 * Assumes cycles well above the range the joint takes elastically, and one mechanism. Damage of a single cycle: times
 * how often each happens it is a ratio of rates. Never a lifetime.
 *
 * @param comparison - both kinds of cycle, and the exponents and the energy to compare them by
 * @throws ArgumentError if a range or a period is not positive, or an exponent is out of its bounds
 * @example
 * const daily = { rangeK: 40, highestC: 65, periodS: 43200 };
 * const inTheTest = { rangeK: 100, highestC: 100, periodS: 1800 };
 * const law = { rangeExponent: 1.9, frequencyExponent: 1 / 3, activationEnergyEv: 0.12185 };
 * cyclingRatio({ cycle: inTheTest, reference: daily, ...law }); // => 2.9265 within 1e-3
 */
export function cyclingRatio(comparison: CyclingComparison): number {
  const caller = 'cyclingRatio';
  requireKnownNames(comparison, CYCLING_NAMES, { caller, argument: 'comparison' });
  const { cycle, reference, rangeExponent, frequencyExponent, activationEnergyEv } = comparison;
  for (const [name, kind] of Object.entries({ cycle, reference })) {
    const argument = `comparison.${name}`;
    requireKnownNames(kind, CYCLE_NAMES, { caller, argument });
    requireNumber(kind.rangeK, { caller, argument: `${argument}.rangeK` }, { above: 0 });
    requireNumber(kind.highestC, { caller, argument: `${argument}.highestC` }, { above: -ZERO_C_IN_K });
    requireNumber(kind.periodS, { caller, argument: `${argument}.periodS` }, { above: 0 });
  }
  requireNumber(rangeExponent, { caller, argument: 'comparison.rangeExponent' }, { atLeast: 0, atMost: 20 });
  requireNumber(
    frequencyExponent,
    { caller, argument: 'comparison.frequencyExponent' },
    { atLeast: 0, atMost: 1 },
  );
  requireNumber(
    activationEnergyEv,
    { caller, argument: 'comparison.activationEnergyEv' },
    { atLeast: 0, atMost: 5 },
  );
  return (
    (cycle.rangeK / reference.rangeK) ** rangeExponent *
    (cycle.periodS / reference.periodS) ** frequencyExponent *
    Math.exp(activationEnergyEv * (perEv(reference.highestC) - perEv(cycle.highestC)))
  );
}
