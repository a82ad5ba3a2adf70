import { ArgumentError } from '../errors.js';

/** Quantities a log can hold. A relation `foreign` is one we recognise in order to leave its column alone. */
export type Quantity =
  | 'time'
  | 'temperature'
  | 'power'
  | 'frequency'
  | 'voltage'
  | 'rotational-speed'
  | 'rate'
  | 'foreign';

/**
 * A unit and its relation to the toolkit's own unit of that quantity:
 * value in our unit = (value − offset) · numerator / denominator. Numerator and denominator are kept apart because
 * dividing by 1000 is correctly rounded and multiplying by 0.001 is not.
 */
export interface Unit {
  /** How the unit is written in messages: `°C`, `MHz`. */
  readonly symbol: string;
  readonly quantity: Quantity;
  readonly offset: number;
  readonly numerator: number;
  readonly denominator: number;
}

const SECONDS: Readonly<Record<string, number>> = { s: 1, min: 60, h: 3600 };

/** Our own unit of each quantity comes first. */
const UNIT_LIST: readonly (readonly [
  symbol: string,
  quantity: Quantity,
  spellings: string,
  of?: Partial<Unit>,
])[] = [
  ['s', 'time', 's sec secs second seconds'],
  ['ms', 'time', 'ms msec msecs millisecond milliseconds', { denominator: 1000 }],
  ['µs', 'time', 'μs us usec microsecond microseconds', { denominator: 1e6 }],
  ['ns', 'time', 'ns nsec nanosecond nanoseconds', { denominator: 1e9 }],
  ['min', 'time', 'min mins minute minutes', { numerator: 60 }],
  ['h', 'time', 'h hr hrs hour hours', { numerator: 3600 }],
  [
    '°C',
    'temperature',
    '°c degc c celsius centigrade degreescelsius degreecelsius degcelsius degreesc degreec',
  ],
  [
    '°F',
    'temperature',
    '°f degf f fahrenheit degreesfahrenheit degreefahrenheit degfahrenheit degreesf degreef',
    { offset: 32, numerator: 5, denominator: 9 },
  ],
  ['K', 'temperature', 'k °k degk kelvin kelvins', { offset: 273.15 }],
  ['W', 'power', 'w watt watts'],
  ['mW', 'power', 'mw milliwatt milliwatts', { denominator: 1000 }],
  ['µW', 'power', 'μw uw microwatt microwatts', { denominator: 1e6 }],
  ['kW', 'power', 'kw kilowatt kilowatts', { numerator: 1000 }],
  ['MHz', 'frequency', 'mhz megahertz'],
  ['Hz', 'frequency', 'hz hertz', { denominator: 1e6 }],
  ['kHz', 'frequency', 'khz kilohertz', { denominator: 1000 }],
  ['GHz', 'frequency', 'ghz gigahertz', { numerator: 1000 }],
  ['V', 'voltage', 'v volt volts'],
  ['mV', 'voltage', 'mv millivolt millivolts', { denominator: 1000 }],
  ['rpm', 'rotational-speed', 'rpm r/min rev/min 1/min min-1 revolutions/minute rpms'],
  ['%', 'foreign', '% percent pct'],
  ['J', 'foreign', 'j joule joules kj mj wh kwh'],
  ['A', 'foreign', 'a ma ampere amperes amp amps'],
  ['dB', 'foreign', 'db dba db(a)'],
  ['Pa', 'foreign', 'pa hpa kpa bar mbar'],
  ['B', 'foreign', 'b kb gb mib gib kib byte bytes'],
];

const BY_SPELLING: ReadonlyMap<string, Unit> = new Map(
  UNIT_LIST.flatMap(([symbol, quantity, spellings, of]) => {
    const unit: Unit = { symbol, quantity, offset: 0, numerator: 1, denominator: 1, ...of };
    return spellings.split(' ').map((spelling): [string, Unit] => [spelling, unit]);
  }),
);

/** Prefixes in capitals change a unit by nine powers of ten and are never read as their small twins. */
const CAPITAL_PREFIX = new Set(['MW', 'MV', 'MS', 'MJ']);

/**
 * The unit a spelling stands for, or undefined: `°C`, `degC`, `[W]` without its brackets, `ops/s`, `per_s`.
 *
 * Capitals do not matter (`mhz`, `KELVIN`), except where they would make a milliwatt of a megawatt.
 *
 * @example
 * unitFromText('degC')?.symbol; // => '°C'
 * unitFromText('frames/s')?.quantity; // => 'rate'
 */
export function unitFromText(text: string): Unit | undefined {
  const plain = normaliseSigns(text)
    .replace(/[\s._]+/g, '')
    .replace(/^deg(?:rees?)?°/i, '°');
  if (CAPITAL_PREFIX.has(plain)) return undefined;
  const lower = plain.toLowerCase();
  return BY_SPELLING.get(lower) ?? rateFromText(lower);
}

/** Work per time: whatever stands before the stroke, `x/s`, `1/min`, `per h`, `s-1`, `fps`. */
function rateFromText(lower: string): Unit | undefined {
  const match =
    /^(?:[a-z0-9]*\/|per)(s|sec|second|min|minute|h|hr|hour)$/.exec(lower) ??
    /^(s|h)(?:-1|\^-1|⁻¹|−1)$/.exec(lower) ??
    /^(?:f|ip|op)p(s)$/.exec(lower);
  if (match === null) return undefined;
  const time = match[1].startsWith('s') ? 's' : match[1].startsWith('m') ? 'min' : 'h';
  return {
    symbol: time === 's' ? '1/s' : `1/${time}`,
    quantity: 'rate',
    offset: 0,
    numerator: 1,
    denominator: SECONDS[time],
  };
}

/** One spelling for the many degree and micro signs, also where a Latin-1 sign was read as UTF-8 or lost. */
export function normaliseSigns(text: string): string {
  return text
    .replace(/Â°/g, '°')
    .replace(/[º˚]/g, '°')
    .replace(/\uFFFD(?=\s?[CF]\b)/gi, '°')
    .replace(/℃/g, '°C')
    .replace(/℉/g, '°F')
    .replace(/\u212A/g, 'K')
    .replace(/µ/g, 'μ');
}

/** A value in the toolkit's own unit of its quantity (s, °C, W, MHz, V, rpm, 1/s). */
export function toOwnUnit(value: number, unit: Unit): number {
  return ((value - unit.offset) * unit.numerator) / unit.denominator;
}

/** A value in our own unit, written in another. */
export function fromOwnUnit(value: number, unit: Unit): number {
  return (value * unit.denominator) / unit.numerator + unit.offset;
}

/** Two units of one quantity, as they are spelt in a log. */
export interface UnitPair {
  readonly from: string;
  readonly to: string;
}

/**
 * Converts a value between two units of one quantity: temperatures (°C, °F, K), powers (W, mW, kW), frequencies
 * (Hz, kHz, MHz, GHz), times (s, ms, min, h), voltages (V, mV), rates (1/s, 1/min, 1/h).
 *
 * Exact factors throughout [NIST811, app. B.8]: t/°C = (t/°F − 32) · 5/9, t/°C = T/K − 273.15, 1 h = 3600 s.
 * Temperatures are points on a scale, not differences: convert a difference by hand.
 *
 * @param value - the number to convert
 * @param units - from and to, in any spelling a log may use
 * @returns the converted number
 * @throws ArgumentError if a unit is not known or the two are not of one quantity
 * @example
 * convertUnit(-40, { from: '°F', to: '°C' }); // => -40
 * convertUnit(4.2, { from: 'GHz', to: 'MHz' }); // => 4200
 * convertUnit(1, { from: 'W', to: 's' }); // => throws /one quantity/
 */
export function convertUnit(value: number, units: UnitPair): number {
  const from = knownUnit(units.from, 'units.from');
  const to = knownUnit(units.to, 'units.to');
  if (from.quantity !== to.quantity || from.quantity === 'foreign') {
    throw new ArgumentError({
      caller: 'convertUnit',
      argument: 'units',
      expected: 'two units of one quantity',
      received: `${units.from} to ${units.to}`,
    });
  }
  return fromOwnUnit(toOwnUnit(value, from), to);
}

function knownUnit(text: string, argument: string): Unit {
  const unit = typeof text === 'string' ? unitFromText(text) : undefined;
  if (unit !== undefined) return unit;
  throw new ArgumentError({
    caller: 'convertUnit',
    argument,
    expected: 'a unit we know, such as °C, W, MHz, s or 1/s',
    received: text,
  });
}
