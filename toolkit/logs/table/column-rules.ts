import type { Quantity, Unit } from '../../units/units.js';

/** What a column of a log can be to a run. */
export type ColumnRole =
  | 'time'
  | 'temperature'
  | 'power'
  | 'frequency'
  | 'throughput'
  | 'ambient'
  | 'fanSpeed'
  | 'voltage';

/** How the values that several columns have in one row become one. */
export type CombineRule = 'highest' | 'mean' | 'sum';

/** Several columns that are read as one, such as the same quantity of each core. */
export interface CombinedColumns {
  readonly combine: CombineRule;
  /** Header texts or indices from 0; at least two. */
  readonly columns: readonly (string | number)[];
}

/** A time of which date and clock stand in columns of their own. Header texts or indices from 0. */
export interface DateAndClock {
  readonly date: string | number;
  readonly clock: string | number;
}

/**
 * Which column is which, where the headers do not say so: the header's text, or the column's index from 0, or
 * `false` for a role that no column has, or several columns and how to combine them; for the time also a date and a clock.
 */
export type ColumnChoice = {
  readonly [Role in ColumnRole]?:
    | string
    | number
    | false
    | CombinedColumns
    | (Role extends 'time' ? DateAndClock : never);
};

/** Units of columns whose headers do not state one: `{ time: 'ms', temperature: '°F' }`. */
export type UnitChoice = Readonly<Partial<Record<ColumnRole, string>>>;

/** A column that will be read. */
export interface RoleColumn {
  readonly role: ColumnRole;
  /** The first of them, where several are combined. */
  readonly index: number;
  readonly header: string;
  /** The column of the dates, where they stand beside the clock. */
  readonly date?: { readonly index: number; readonly header: string };
  /** Where the value of a row is made of several cells. */
  readonly combined?: { readonly combine: CombineRule; readonly indices: readonly number[] };
  /** What the option, the header or the row of units says; our own unit where none does. */
  readonly unit: Unit;
  /** True where the unit is our own only because nothing was said. */
  readonly isUnitAssumed: boolean;
}

/** How one role is recognised. */
export interface RoleRule {
  readonly quantity: Quantity;
  readonly ownUnit: string;
  readonly required: boolean;
  /** Any of these words makes a candidate. */
  readonly words: RegExp;
  /** Any of these words means that something else is meant. */
  readonly unless: RegExp;
  /** Symbols of the standards [ISO80000], upper and lower case told apart. */
  readonly symbols: RegExp;
  /** Whether the unit alone makes a candidate, where no header has the words. */
  readonly unitAlone: boolean;
  /** What the column is, in words. */
  readonly inWords: string;
  /** How the same quantity of each core becomes one number; absent where that would be a guess. */
  readonly ofCores?: CombineRule;
}

const NOT_MEASURED =
  'limit|limits|max|maximum|min|minimum|target|setpoint|set|cap|threshold|throttle|throttling|default|rated|nominal|base|margin|distance|headroom|delta|offset|count|flag|status|state|alarm';
const OTHER_PARTS =
  'gpu|graphics|memory|mem|dram|ram|dimm|ssd|disk|drive|storage|board|motherboard|mainboard|chipset|vrm|regulator|psu|supply|battery|coolant|water|liquid|pump|sink|heatsink|plate|fin|exhaust|outlet';
const AIR = 'ambient|room|intake|inlet|air|environment|surroundings';

const word = (alternatives: string): RegExp => new RegExp(`^(?:${alternatives})$`);

/** The rules that find the columns, in the order in which messages list them. */
export const ROLE_RULES: Readonly<Record<ColumnRole, RoleRule>> = {
  time: {
    quantity: 'time',
    ownUnit: 's',
    required: true,
    words: word('time|elapsed|timestamp|datetime|clock|runtime|stamp'),
    unless: word(
      'frame|cpu|core|busy|idle|user|kernel|response|remaining|left|average|avg|mean|effective|delta|interval|step|period|zone|latency|frequency|freq|speed|processor|temp|temperature|power|voltage|fan',
    ),
    symbols: /^t$/,
    unitAlone: true,
    inWords: 'time since the start or clock time',
  },
  temperature: {
    quantity: 'temperature',
    ownUnit: '°C',
    required: true,
    words: word('temp|temps|temperature|temperatures|tj|tjunction|junction'),
    unless: word(`${NOT_MEASURED}|${OTHER_PARTS}|${AIR}|rise|fan`),
    symbols: /^(?:T|θ|ϑ)$/,
    unitAlone: true,
    inWords: 'die or package temperature',
    ofCores: 'highest',
  },
  power: {
    quantity: 'power',
    ownUnit: 'W',
    required: true,
    words: word('power|ppackage|pcpu'),
    unless: word(`${NOT_MEASURED}|${OTHER_PARTS}|fan|wall|mains|system|plan|mode|factor`),
    symbols: /^P$/,
    unitAlone: true,
    inWords: 'package power',
  },
  frequency: {
    quantity: 'frequency',
    ownUnit: 'MHz',
    required: false,
    words: word('frequency|frequencies|freq|clock|clocks|clockspeed'),
    unless: word(`${NOT_MEASURED}|${OTHER_PARTS}|bus|ring|uncore|cache|reference|fan|time`),
    symbols: /^f$/,
    unitAlone: true,
    inWords: 'core frequency',
    ofCores: 'mean',
  },
  throughput: {
    quantity: 'rate',
    ownUnit: '1/s',
    required: false,
    words: word('throughput|workrate|rate'),
    unless: word(
      `${NOT_MEASURED}|memory|disk|network|read|reads|write|writes|packets|interrupts|switches|errors|faults|sample|sampling|refresh|data|flow|cooling|heating|temperature|power`,
    ),
    symbols: /^$/,
    unitAlone: true,
    inWords: 'work done per second',
    ofCores: 'sum',
  },
  ambient: {
    quantity: 'temperature',
    ownUnit: '°C',
    required: false,
    words: word(`${AIR}|tamb|tambient|tair|troom`),
    unless: word(`${NOT_MEASURED}|humidity|pressure|flow|velocity|power|speed|exhaust|outlet`),
    symbols: /^$/,
    unitAlone: false,
    inWords: "air temperature at the cooler's intake",
  },
  fanSpeed: {
    quantity: 'rotational-speed',
    ownUnit: 'rpm',
    required: false,
    words: word('fan|fans|fanspeed|tach|tacho'),
    unless: word(
      `${NOT_MEASURED}|gpu|graphics|psu|pump|duty|pwm|voltage|power|temp|temperature|percent|level`,
    ),
    symbols: /^n$/,
    unitAlone: true,
    inWords: 'fan speed',
  },
  voltage: {
    quantity: 'voltage',
    ownUnit: 'V',
    required: false,
    words: word('voltage|vcore|vcpu|vdd'),
    unless: word(
      `${NOT_MEASURED}|${OTHER_PARTS.replace('supply|', '')}|fan|mains|wall|rail|id|request|requested`,
    ),
    symbols: /^(?:U|V)$/,
    unitAlone: true,
    inWords: 'core voltage',
    ofCores: 'highest',
  },
};

/** All roles, in the order of messages. */
export const COLUMN_ROLES: readonly ColumnRole[] = Object.keys(ROLE_RULES) as ColumnRole[];
