/** What a name's suffix says about the number it names. */
export interface SuffixMeaning {
  readonly quantity: string;
  /** The unit as it is printed; empty for a plain number. */
  readonly unit: string;
}

/**
 * The closed list of unit suffixes: a public field that holds a number of a physical quantity ends in one of these
 * (`powerCapW`, `temperatureRiseK`), the longest that fits. A log written by the toolkit uses the snake_case twin
 * (`power_w`).
 *
 * @example
 * UNIT_SUFFIXES.KPerW.unit; // => 'K/W'
 */
export const UNIT_SUFFIXES: Readonly<Record<string, SuffixMeaning>> = {
  S: { quantity: 'time', unit: 's' },
  Ms: { quantity: 'time of computation or drawing', unit: 'ms' },
  C: { quantity: 'temperature', unit: '°C' },
  K: { quantity: 'temperature difference', unit: 'K' },
  W: { quantity: 'power', unit: 'W' },
  J: { quantity: 'energy', unit: 'J' },
  V: { quantity: 'voltage', unit: 'V' },
  Mv: { quantity: 'voltage', unit: 'mV' },
  Ev: { quantity: 'activation energy', unit: 'eV' },
  MHz: { quantity: 'frequency', unit: 'MHz' },
  Rpm: { quantity: 'rotational speed', unit: 'rpm' },
  PerS: { quantity: 'rate', unit: '1/s' },
  PerH: { quantity: 'rate', unit: '1/h' },
  PerWh: { quantity: 'work per energy', unit: '1/Wh' },
  PerK: { quantity: 'relative change per temperature', unit: '1/K' },
  Db: { quantity: 'sound level', unit: 'dB' },
  L: { quantity: 'volume', unit: 'l' },
  Mm: { quantity: 'length', unit: 'mm' },
  Px: { quantity: 'length on screen', unit: 'px' },
  KPerW: { quantity: 'thermal resistance', unit: 'K/W' },
  WPerK: { quantity: 'thermal conductance', unit: 'W/K' },
  JPerK: { quantity: 'heat capacity', unit: 'J/K' },
  JWPerK2: { quantity: 'heat capacity per thermal resistance', unit: 'J·W/K²' },
  KPerMin: { quantity: 'temperature drift', unit: 'K/min' },
  MHzPerW: { quantity: 'frequency per power', unit: 'MHz/W' },
  MHzPerK: { quantity: 'frequency per temperature', unit: 'MHz/K' },
  WPerMHz: { quantity: 'power per frequency', unit: 'W/MHz' },
  PerMHz: { quantity: 'work per frequency', unit: '1/MHz' },
  Count: { quantity: 'number of things', unit: '' },
  Fraction: { quantity: 'share of a whole', unit: '' },
  Ratio: { quantity: 'ratio of like quantities', unit: '' },
  Exponent: { quantity: 'exponent of a power law', unit: '' },
};
