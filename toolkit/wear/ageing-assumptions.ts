import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../errors.js';
import { formatNumber } from '../numerics/format-estimate.js';
import { BOLTZMANN_EV_PER_K } from './ageing-laws.js';

/** A number that is assumed, with the range it is considered in and where it comes from. */
export interface AssumedRange {
  readonly low: number;
  readonly likely: number;
  readonly high: number;
  /** Where it comes from, for the list of assumptions. */
  readonly source?: string;
}

/** What two schedules are compared by; a plain number is taken as certain. */
export interface AgeingAssumptions {
  /** m in damage of a cycle ∝ range^m. */
  readonly rangeExponent?: number | AssumedRange;
  /** n in damage of a cycle ∝ frequency^−n. */
  readonly frequencyExponent?: number | AssumedRange;
  /** Of the upper extreme of a cycle, eV. */
  readonly cyclingActivationEnergyEv?: number | AssumedRange;
  /** Of ageing by time at temperature, eV. */
  readonly steadyActivationEnergyEv?: number | AssumedRange;
  /** Cycles of a smaller range do no harm, K. */
  readonly smallestRangeK?: number | AssumedRange;
  /** Whether each schedule is played again and again without a pause, or happened once. */
  readonly history?: 'repeating' | 'once';
}

/** The numbers among the assumptions. */
export type AssumedNumberName = Exclude<keyof AgeingAssumptions, 'history'>;

const NAMES: KnownNames<AgeingAssumptions> = {
  rangeExponent: true,
  frequencyExponent: true,
  cyclingActivationEnergyEv: true,
  steadyActivationEnergyEv: true,
  smallestRangeK: true,
  history: true,
};

const RANGE_NAMES: KnownNames<AssumedRange> = { low: true, likely: true, high: true, source: true };

/**
 * What `relativeAgeing` assumes where nothing else is given; every result prints what it used and where that comes from.
 *
 * @example
 * DEFAULT_AGEING_ASSUMPTIONS.rangeExponent.likely; // => 1.9
 */
export const DEFAULT_AGEING_ASSUMPTIONS: Readonly<Record<AssumedNumberName, Required<AssumedRange>>> & {
  readonly history: 'repeating';
} = {
  rangeExponent: {
    low: 1,
    likely: 1.9,
    high: 3,
    source:
      '1.9 for tin-lead solder [NorrisLandzberg1969]; ductile metals 1 to 3 [JEP122]; brittle layers have 6 to 9, which is not covered',
  },
  frequencyExponent: { low: 0, likely: 1 / 3, high: 1 / 3, source: '1/3 [NorrisLandzberg1969]; 0: none' },
  cyclingActivationEnergyEv: {
    low: 0,
    likely: 1414 * BOLTZMANN_EV_PER_K,
    high: 2185 * BOLTZMANN_EV_PER_K,
    source: '1414 K [NorrisLandzberg1969]; 2185 K for tin-silver-copper solder [Pan2005]; 0: none',
  },
  steadyActivationEnergyEv: {
    low: 0.3,
    likely: 0.7,
    high: 1.1,
    source: '0.7 eV where the mechanism is not known, most in silicon 0.3 to 1.1 eV [JEP122]',
  },
  smallestRangeK: {
    low: 1,
    likely: 2,
    high: 5,
    source: "our choice: above a die sensor's noise and step; joints take small ranges elastically",
  },
  history: 'repeating',
};

/** An assumption as it was used, in words. */
export interface UsedAssumption {
  readonly name: keyof AgeingAssumptions;
  /** What it is, with its value, range and unit. */
  readonly statement: string;
  readonly source: string;
  readonly origin: 'given' | 'default';
}

/** The assumptions checked, with the defaults filled in, and all of them in words. */
export interface SettledAssumptions {
  readonly numbers: Readonly<Record<AssumedNumberName, AssumedRange>>;
  readonly history: 'repeating' | 'once';
  readonly used: readonly UsedAssumption[];
}

const MEANINGS: Readonly<
  Record<AssumedNumberName, { readonly meaning: string; readonly unit: string; readonly atMost: number }>
> = {
  rangeExponent: { meaning: 'damage of a cycle grows with its range to the power', unit: '', atMost: 20 },
  frequencyExponent: {
    meaning: 'damage of a cycle falls with how often cycles of at least its range happen, to the power',
    unit: '',
    atMost: 1,
  },
  cyclingActivationEnergyEv: {
    meaning: 'activation energy of the upper extreme of a cycle',
    unit: 'eV',
    atMost: 5,
  },
  steadyActivationEnergyEv: {
    meaning: 'activation energy of ageing by time at temperature',
    unit: 'eV',
    atMost: 5,
  },
  smallestRangeK: { meaning: 'cycles do no harm below a range of', unit: 'K', atMost: 1000 },
};

/** Throws an `ArgumentError` for a name that is not known, a number out of bounds or a range out of order. */
export function settleAssumptions(given: AgeingAssumptions, caller: string): SettledAssumptions {
  requireKnownNames(given, NAMES, { caller, argument: 'assumptions' });
  const history = given.history ?? DEFAULT_AGEING_ASSUMPTIONS.history;
  if (history !== 'repeating' && history !== 'once')
    throw new ArgumentError({
      caller,
      argument: 'assumptions.history',
      expected: "'repeating' or 'once'",
      received: history,
    });
  const names = Object.keys(MEANINGS) as AssumedNumberName[];
  const numbers = Object.fromEntries(
    names.map((name) => [name, rangeOf(given[name] ?? DEFAULT_AGEING_ASSUMPTIONS[name], name, caller)]),
  ) as Record<AssumedNumberName, AssumedRange>;
  const used = names.map((name): UsedAssumption => {
    const origin = given[name] === undefined ? 'default' : 'given';
    return {
      name,
      statement: statementOf(name, numbers[name]),
      source: numbers[name].source ?? 'given without a source',
      origin,
    };
  });
  const ofHistory: UsedAssumption = {
    name: 'history',
    statement:
      history === 'repeating'
        ? 'each schedule is played again and again, the end of one followed by the start of the next'
        : 'each schedule happened once, its open ranges count as half cycles',
    source: 'ASTM E1049-85, 5.4.4 and 5.4.5 [ASTME1049]',
    origin: given.history === undefined ? 'default' : 'given',
  };
  return { numbers, history, used: [...used, ofHistory] };
}

function rangeOf(value: unknown, name: AssumedNumberName, caller: string): AssumedRange {
  const argument = `assumptions.${name}`;
  const bounds = { atLeast: 0, atMost: MEANINGS[name].atMost };
  if (typeof value === 'number') {
    requireNumber(value, { caller, argument }, bounds);
    return { low: value, likely: value, high: value };
  }
  requireKnownNames(value, RANGE_NAMES, {
    caller,
    argument,
    remedy: 'give a number, or { low, likely, high }',
  });
  const { low, likely, high, source } = value as Record<keyof AssumedRange, unknown>;
  for (const [part, number] of Object.entries({ low, likely, high }))
    requireNumber(number, { caller, argument: `${argument}.${part}` }, bounds);
  if ((low as number) > (likely as number) || (likely as number) > (high as number))
    throw new ArgumentError({
      caller,
      argument,
      expected: 'in order, `low` ≤ `likely` ≤ `high`',
      received: `${low}, ${likely}, ${high}`,
    });
  if (source !== undefined && typeof source !== 'string')
    throw new ArgumentError({ caller, argument: `${argument}.source`, expected: 'a text', received: source });
  return value as AssumedRange;
}

function statementOf(name: AssumedNumberName, { low, likely, high }: AssumedRange): string {
  const { meaning, unit } = MEANINGS[name];
  const range = low === high ? '' : ` (${formatNumber(low)} to ${formatNumber(high, unit)} considered)`;
  return `${meaning} ${formatNumber(likely, unit)}${range}`;
}
