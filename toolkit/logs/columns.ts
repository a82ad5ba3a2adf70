import { type HeaderWords, headerWords } from '../units/header-words.js';
import { type Quantity, type Unit, unitFromText } from '../units/units.js';
import { quoted } from './dialect.js';
import { LogFormatError, type LogIssue } from './log-format-error.js';
import type { UnitsRow, UnitsRowCell } from './units-row.js';

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

/**
 * Which column is which, where the headers do not say so: the header's text, or the column's index from 0, or
 * `false` for a role that no column has.
 */
export type ColumnChoice = Readonly<Partial<Record<ColumnRole, string | number | false>>>;

/** Units of columns whose headers do not state one: `{ time: 'ms', temperature: '°F' }`. */
export type UnitChoice = Readonly<Partial<Record<ColumnRole, string>>>;

/** A column that will be read. */
export interface RoleColumn {
  readonly role: ColumnRole;
  readonly index: number;
  readonly header: string;
  /** What the option, the header or the row of units says; our own unit where none does. */
  readonly unit: Unit;
  /** True where the unit is our own only because nothing was said. */
  readonly isUnitAssumed: boolean;
}

interface RoleRule {
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
      'frame|cpu|core|busy|idle|user|kernel|response|remaining|left|delta|interval|step|period|zone|latency|frequency|freq|speed|processor|temp|temperature|power|voltage|fan',
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
  },
};

/** All roles, in the order of messages. */
export const COLUMN_ROLES: readonly ColumnRole[] = Object.keys(ROLE_RULES) as ColumnRole[];

/** What `findColumns` may be told beforehand. */
export interface FindColumnsOptions {
  readonly columns?: ColumnChoice;
  readonly units?: UnitChoice;
  /** Line of the header. */
  readonly line: number;
  /** The row of units below the headers, if there is one. */
  readonly unitsRow?: UnitsRow;
}

/**
 * Gives each role its column: the one the caller chose, else the one header with the words of the role, else the
 * one header with its symbol or unit alone. Units below the headers count like units in them.
 *
 * @throws LogFormatError if a required role has no column or any role has two, if a chosen header is not there, if
 *   a unit is not known, or if the row of units contradicts a header; the message lists the headers and shows the
 *   option to write
 */
export function findColumns(headers: readonly string[], options: FindColumnsOptions): readonly RoleColumn[] {
  const parsed = headers.map((header, index) =>
    withUnitBelow(headerWords(header), options.unitsRow?.cells[index]),
  );
  const chosen = chosenIndices(headers, options);
  const taken = new Set(chosen.values());
  const indices = new Map<ColumnRole, number>();
  const ambiguous: { role: ColumnRole; candidates: readonly number[] }[] = [];
  const absent: ColumnRole[] = [];
  for (const role of COLUMN_ROLES) {
    const choice = chosen.get(role);
    if (choice !== undefined) indices.set(role, choice);
    if (options.columns?.[role] !== undefined) continue;
    const candidates = candidatesOf(role, parsed).filter((index) => !taken.has(index));
    if (candidates.length === 1) {
      indices.set(role, candidates[0]!);
      taken.add(candidates[0]!);
    } else if (candidates.length > 1) ambiguous.push({ role, candidates });
    else if (ROLE_RULES[role].required) absent.push(role);
  }
  if (ambiguous.length + absent.length > 0) {
    throw new LogFormatError(columnIssues(headers, ambiguous, absent, options));
  }
  return COLUMN_ROLES.flatMap((role) => {
    const index = indices.get(role);
    return index === undefined ? [] : [roleColumn(role, index, headers[index]!, parsed[index]!, options)];
  });
}

/** A header that states no unit takes the one below it. */
function withUnitBelow(header: HeaderWords, below: UnitsRowCell | undefined): HeaderWords {
  if (below === undefined || header.unit !== undefined || header.unknownUnit !== undefined) return header;
  const { unit, unknownUnit } = below;
  return {
    ...header,
    ...(unit === undefined ? {} : { unit }),
    ...(unknownUnit === undefined ? {} : { unknownUnit }),
  };
}

function candidatesOf(role: ColumnRole, headers: readonly HeaderWords[]): readonly number[] {
  const rule = ROLE_RULES[role];
  const possible = headers.flatMap((header, index) => {
    const words = withSubscripts(header.words.map((text) => text.replace(/\d+$/, '')));
    const isOther =
      (header.unit !== undefined && header.unit.quantity !== rule.quantity) ||
      words.some((text) => rule.unless.test(text));
    return isOther ? [] : [{ index, header, words }];
  });
  const byWords = possible.filter(({ words }) => words.some((text) => rule.words.test(text)));
  if (byWords.length > 0) return byWords.map(({ index }) => index);
  const bySymbol = possible.filter(({ header }) => rule.symbols.test(header.symbol));
  if (bySymbol.length > 0) return bySymbol.map(({ index }) => index);
  return rule.unitAlone
    ? possible
        .filter(({ header }) => header.unit?.quantity === rule.quantity && !hasWordsOfAnother(role, header))
        .map(({ index }) => index)
    : [];
}

/** The words, and each lone `t` together with the word behind it: the junction temperature is `tj` or `t_j`. */
function withSubscripts(words: readonly string[]): readonly string[] {
  return words.flatMap((text, i) =>
    text === 't' && i + 1 < words.length ? [text, `t${words[i + 1]}`] : [text],
  );
}

/** Whether the header belongs to another role of the same quantity: `ambient [°C]` is not the die. */
function hasWordsOfAnother(role: ColumnRole, header: HeaderWords): boolean {
  return COLUMN_ROLES.some(
    (other) => other !== role && header.words.some((text) => ROLE_RULES[other].words.test(text)),
  );
}

function chosenIndices(
  headers: readonly string[],
  options: FindColumnsOptions,
): ReadonlyMap<ColumnRole, number> {
  const chosen = new Map<ColumnRole, number>();
  const issues: LogIssue[] = [];
  for (const role of COLUMN_ROLES) {
    const choice = options.columns?.[role];
    if (choice === undefined || choice === false) continue;
    const index = typeof choice === 'number' ? choice : indexOfHeader(choice, headers);
    if (Number.isInteger(index) && index >= 0 && index < headers.length) {
      chosen.set(role, index);
    } else {
      issues.push({
        code: 'no-such-column',
        line: options.line,
        message: `there is no column ${typeof choice === 'number' ? `with index ${choice}` : quoted(choice)}${index === -2 ? ' that is the only one of that name' : ''}, chosen for ${role}; the headers are ${listed(headers)}`,
        remedy: `choose one of them, or an index from 0 to ${headers.length - 1}`,
      });
    }
  }
  if (issues.length > 0) throw new LogFormatError(issues);
  return chosen;
}

/** -1 where no header matches, -2 where several do. */
function indexOfHeader(choice: string, headers: readonly string[]): number {
  for (const same of [
    (header: string) => header === choice,
    (header: string) => header.trim().toLowerCase() === choice.trim().toLowerCase(),
  ]) {
    const found = headers.flatMap((header, index) => (same(header) ? [index] : []));
    if (found.length === 1) return found[0]!;
    if (found.length > 1) return -2;
  }
  return -1;
}

function columnIssues(
  headers: readonly string[],
  ambiguous: readonly { readonly role: ColumnRole; readonly candidates: readonly number[] }[],
  absent: readonly ColumnRole[],
  { columns, line, unitsRow }: FindColumnsOptions,
): readonly LogIssue[] {
  const allHeaders = `${listed(headers)}${
    unitsRow === undefined
      ? ''
      : `, with the units ${listed(unitsRow.cells.map(({ text }) => text))} in line ${unitsRow.line}`
  }`;
  // One option that settles everything, ready to paste: what was chosen already, and what is still to choose.
  const entries = [
    ...Object.entries(columns ?? {}).map(
      ([role, choice]) => `${role}: ${typeof choice === 'string' ? inQuotes(choice) : choice}`,
    ),
    ...ambiguous.map(({ role, candidates }) => `${role}: ${inCode(candidates[0]!, headers)}`),
    ...absent.map((role) => `${role}: '…'`),
  ];
  const remedy = `write the option columns: { ${entries.join(', ')} }`;
  const issues: LogIssue[] = [];
  if (absent.length > 0) {
    const roles = absent.map((role) => `${role} (${ROLE_RULES[role].inWords})`);
    issues.push({
      code: 'no-column',
      line,
      message: `no column is recognisable as ${roles.join(', nor as ')}; the headers are ${allHeaders}`,
      remedy: `${remedy} with the headers that hold ${absent.length === 1 ? 'it' : 'them'}`,
    });
  }
  for (const { role, candidates } of ambiguous) {
    const { inWords, required } = ROLE_RULES[role];
    issues.push({
      code: 'ambiguous-column',
      line,
      column: candidates[1]! + 1,
      message: `${candidates.length} columns could be ${role} (${inWords}): ${listed(candidates.map((index) => headers[index]!))}; all headers are ${allHeaders}`,
      remedy: `${remedy} with the one you mean${required ? '' : `, or ${role}: false to leave it out`}`,
    });
  }
  return issues;
}

/** A header as it is written in the `columns` option; the index where the text alone would not tell. */
function inCode(index: number, headers: readonly string[]): string {
  const header = headers[index]!;
  if (header.trim() === '' || headers.indexOf(header) !== headers.lastIndexOf(header)) return String(index);
  return inQuotes(header);
}

function inQuotes(text: string): string {
  return `'${text.replaceAll('\\', '\\\\').replaceAll("'", "\\'").replaceAll('\n', '\\n').replaceAll('\r', '\\r')}'`;
}

function listed(headers: readonly string[]): string {
  const shown = headers.slice(0, 30).map((header) => quoted(header));
  return `${shown.join(', ')}${headers.length > 30 ? ` and ${headers.length - 30} more` : ''}`;
}

function roleColumn(
  role: ColumnRole,
  index: number,
  header: string,
  parsed: HeaderWords,
  options: FindColumnsOptions,
): RoleColumn {
  const { quantity, ownUnit } = ROLE_RULES[role];
  const stated = options.units?.[role];
  const unit = stated === undefined ? parsed.unit : unitFromText(stated);
  const place = { line: options.line, column: index + 1 };
  const below = options.unitsRow?.cells[index];
  if (stated === undefined && parsed.unknownUnit !== undefined) {
    const isBelow = below !== undefined && parsed.unknownUnit === below.unknownUnit;
    throw new LogFormatError([
      {
        code: 'unknown-unit',
        ...place,
        ...(isBelow ? { line: options.unitsRow!.line } : {}),
        message: `the unit ${quoted(parsed.unknownUnit)} of ${quoted(header)} is not known`,
        remedy: `write the option units: { ${role}: '${ownUnit}' } with the unit it has`,
      },
    ]);
  }
  if (stated === undefined && below !== undefined && contradicts(below, parsed.unit)) {
    const choices = [parsed.unit!.symbol, ...(below.unit === undefined ? [] : [below.unit.symbol])];
    throw new LogFormatError([
      {
        code: 'contradictory-units',
        ...place,
        line: options.unitsRow!.line,
        message: `${quoted(header)} (${role}) states ${parsed.unit!.symbol}, but the row of units says ${quoted(below.text)} below it`,
        remedy: `correct one of the two, or write the option ${choices.map((symbol) => `units: { ${role}: '${symbol}' }`).join(' or ')}, which counts before both`,
      },
    ]);
  }
  // Work may be counted in anything; a column chosen by hand for it may have no time in its unit.
  if (unit !== undefined && unit.quantity !== quantity && stated === undefined && role !== 'throughput') {
    throw new LogFormatError([
      {
        code: 'wrong-unit',
        ...place,
        message: `${quoted(header)} was chosen for ${role}, but its unit is ${unit.symbol}`,
        remedy: `choose another column, or write the option units: { ${role}: '${ownUnit}' } with the unit it has`,
      },
    ]);
  }
  const isKnown = unit !== undefined && unit.quantity === quantity;
  return {
    role,
    index,
    header,
    unit: isKnown ? unit : unitFromText(ownUnit)!,
    isUnitAssumed: !isKnown,
  };
}

/** Whether the row of units says something else than the header, of which the unit is given. */
function contradicts({ unit, unknownUnit }: UnitsRowCell, ofHeader: Unit | undefined): boolean {
  if (ofHeader === undefined) return false;
  return unknownUnit !== undefined || (unit !== undefined && unit.symbol !== ofHeader.symbol);
}
