import { parseArgs } from 'node:util';
import type { UncertainInput } from '../../cap/choose/cap-choice.js';
import { ArgumentError } from '../../errors.js';
import { DATE_ORDERS, type DateOrder } from '../../logs/cells/local-date.js';
import { COLUMN_ROLES, type ColumnChoice, type UnitChoice } from '../../logs/table/column-rules.js';

/** Opens the notebook app, or decides without it. */
export type CommandName = 'npm start' | 'npm run decide';

/** What a command was asked to do. */
export interface CommandOptions {
  /** Logs as typed; empty for the demo. */
  readonly logs: readonly string[];
  readonly limitC?: number;
  readonly ambientC?: UncertainInput;
  readonly enclosureRiseK?: UncertainInput;
  readonly confidence?: number;
  readonly stepW?: number;
  readonly defaultCapW?: number;
  readonly maxCapW?: number;
  /** For logs whose conditions do not say. */
  readonly cooler?: string;
  readonly processor?: string;
  readonly ambientDuringRunsC?: number;
  /** Which column holds what, and in which unit, where headers leave it open. */
  readonly columns?: ColumnChoice;
  readonly units?: UnitChoice;
  /** How dates that can be read in two ways are meant. */
  readonly dateOrder?: DateOrder;
  readonly out?: string;
  readonly port?: number;
  readonly folder?: string;
  readonly open: boolean;
  readonly help: boolean;
}

const aboutQuestion = (needed: string): string => `The question
  --limit 85             highest die temperature you accept, °C${needed}
  --ambient 23           air of the room where the machine will work, °C${needed};
                         20..26 if it can be anywhere between
  --enclosure-rise 9     how much warmer the air in the enclosure is than the room, K, or 5..12;
                         without it: open bench
  --confidence 0.95      chance with which the limit must hold
  --step 1               step in which the cap can be set, W
  --default-cap 118      the maker's default cap, W: the highest cap considered, and what the cost is measured
                         against; without it, what the logs' conditions say, else the highest power logged
  --max-cap 130          highest cap to consider instead, W, also above the default one

What the logs do not say themselves (a file run.conditions.json beside run.csv says it for one log)
  --cooler "tower 88 mm"
  --processor "twelve cores"
  --ambient-during-runs 22.5   air at the cooler's intake while the logs were taken, °C

Where the headers of the logs leave it open (each may be given several times; a header holds for
the logs that have it, a place and a unit for all)
  --column temperature="die A"   which column is the time, temperature, power, frequency, throughput, ambient,
                         fanSpeed or voltage: its header, or its place counted from 0; false to leave it out
  --column time.date=Day --column time.clock=Time   a time whose date and clock stand in two columns
  --unit temperature=°F  its unit
  --date-order month-day-year  how dates such as 03/04/2031 are meant: so, or day-month-year`;

export const startHelp: string = `The notebook app, in your browser.

  npm start                                 on the notebooks folder
  npm start -- my-logs/*.csv --limit 85     on a new notebook that reads your logs and decides;
                                            a folder stands for all logs in it

${aboutQuestion('; can also be filled in there')}

The app
  --folder my-work       the folder whose notebooks it shows; otherwise that of the first log, or the notebooks folder
  --port 8418            where it answers; otherwise there or at the next free one
  --no-open              do not open the browser
  --help                 this text`;

export const decideHelp: string = `From logged load runs to a power cap per cooler, with confidence and cost, as a page and without the notebook app.

  npm run decide                                              the demo logs
  npm run decide -- my-logs/*.csv --limit 85 --ambient 23     your own logs; a folder stands for all logs in it

${aboutQuestion('; required for your own logs')}

The page
  --out page.html        where to write it; otherwise dist/reports/ for the demo, beside the first log for your own
  --no-open              do not open it
  --help                 this text`;

const names = {
  limit: 'string',
  ambient: 'string',
  'enclosure-rise': 'string',
  confidence: 'string',
  step: 'string',
  'default-cap': 'string',
  'max-cap': 'string',
  cooler: 'string',
  processor: 'string',
  'ambient-during-runs': 'string',
  column: 'strings',
  unit: 'strings',
  'date-order': 'string',
  out: 'string',
  port: 'string',
  folder: 'string',
  'no-open': 'boolean',
  help: 'boolean',
} as const;

/** Options that only one of the commands knows. */
const onlyOf: Readonly<Record<CommandName, readonly string[]>> = {
  'npm start': ['port', 'folder'],
  'npm run decide': ['out'],
};

/**
 * Reads the arguments of a command.
 *
 * @throws ArgumentError if an option is unknown, lacks its value or is outside its domain, or if `npm run decide`
 *   gets a log without `--limit` and `--ambient`
 */
export function parseCommandOptions(args: readonly string[], command: CommandName): CommandOptions {
  const caller = command;
  const { values, positionals } = parsed(args, caller);
  requireOptionsOf(command, values);
  const { column, unit, limit, ambient, confidence, step, cooler, processor, out, port, folder } = values;
  const rise = values['enclosure-rise'];
  const defaultCap = values['default-cap'];
  const maxCap = values['max-cap'];
  const ambientDuringRuns = values['ambient-during-runs'];
  const dateOrder = values['date-order'];
  const options: CommandOptions = {
    logs: positionals,
    ...(limit === undefined ? {} : { limitC: numberOf(caller, 'limit', limit, { above: -50, atMost: 200 }) }),
    ...(ambient === undefined
      ? {}
      : { ambientC: rangeOf(caller, 'ambient', ambient, { above: -50, below: 100 }) }),
    ...(rise === undefined
      ? {}
      : { enclosureRiseK: rangeOf(caller, 'enclosure-rise', rise, { atLeast: 0, below: 100 }) }),
    ...(confidence === undefined
      ? {}
      : { confidence: numberOf(caller, 'confidence', confidence, { above: 0, below: 1 }) }),
    ...(step === undefined ? {} : { stepW: numberOf(caller, 'step', step, { above: 0 }) }),
    ...(defaultCap === undefined
      ? {}
      : { defaultCapW: numberOf(caller, 'default-cap', defaultCap, { above: 0 }) }),
    ...(maxCap === undefined ? {} : { maxCapW: numberOf(caller, 'max-cap', maxCap, { above: 0 }) }),
    ...(ambientDuringRuns === undefined
      ? {}
      : {
          ambientDuringRunsC: numberOf(caller, 'ambient-during-runs', ambientDuringRuns, {
            above: -50,
            below: 100,
          }),
        }),
    ...(cooler === undefined ? {} : { cooler: textOf(caller, 'cooler', cooler) }),
    ...(processor === undefined ? {} : { processor: textOf(caller, 'processor', processor) }),
    ...(column === undefined ? {} : { columns: columnsOf(caller, column) }),
    ...(unit === undefined ? {} : { units: choicesOf(caller, 'unit', unit, COLUMN_ROLES, (text) => text) }),
    ...(dateOrder === undefined ? {} : { dateOrder: dateOrderOf(caller, dateOrder) }),
    ...(out === undefined ? {} : { out: textOf(caller, 'out', out) }),
    ...(port === undefined
      ? {}
      : { port: numberOf(caller, 'port', port, { atLeast: 0, atMost: 65_535, whole: true }) }),
    ...(folder === undefined ? {} : { folder: textOf(caller, 'folder', folder) }),
    open: values['no-open'] !== true,
    help: values.help === true,
  };
  if (!options.help && command === 'npm run decide') requireWhatCannotBeGuessed(options, caller);
  if (!options.help && command === 'npm start' && options.logs.length === 0)
    requireNoQuestion(values, caller);
  return options;
}

function requireOptionsOf(caller: CommandName, values: Readonly<Record<string, unknown>>): void {
  const other: CommandName = caller === 'npm start' ? 'npm run decide' : 'npm start';
  const foreign = onlyOf[other].find((name) => values[name] !== undefined);
  if (foreign !== undefined)
    throw new ArgumentError({
      caller,
      argument: `--${foreign}`,
      expected: `left to ${other}`,
      received: values[foreign],
      remedy: `${caller} -- --help lists the options there are`,
    });
}

/** Throws `ArgumentError` if npm kept an option for itself, because the `--` was forgotten. */
export function requireNothingKeptByNpm(
  caller: CommandName,
  environment: Readonly<Record<string, string | undefined>>,
): void {
  const [kept] = optionsKeptByNpm(environment);
  if (kept !== undefined)
    throw new ArgumentError({
      caller,
      argument: `--${kept}`,
      expected: 'written after --, or npm keeps it to itself',
      received: environment[npmNameOf(kept)],
      remedy: `${caller} -- my-logs/*.csv --limit 85 --ambient 23`,
    });
}

/** Options that npm kept for itself because the `--` was forgotten: `npm start run.csv --limit 85`. */
export function optionsKeptByNpm(environment: Readonly<Record<string, string | undefined>>): string[] {
  // `npm_config_…` also holds npm's own settings, of which none has a name of ours but `help`.
  return Object.keys(names).filter((name) => name !== 'help' && environment[npmNameOf(name)] !== undefined);
}

/** Where npm hands on an option it kept; it takes `--no-open` for `open` switched off. */
function npmNameOf(option: string): string {
  return `npm_config_${option.replace(/^no-/, '').replaceAll('-', '_')}`;
}

interface ValueOf {
  readonly string: string;
  readonly strings: string[];
  readonly boolean: boolean;
}

function parsed(
  args: readonly string[],
  caller: CommandName,
): {
  values: { [Name in keyof typeof names]?: ValueOf[(typeof names)[Name]] };
  positionals: string[];
} {
  const options = Object.fromEntries(
    Object.entries(names).map(([name, type]) => [
      name,
      type === 'strings' ? { type: 'string' as const, multiple: true } : { type },
    ]),
  );
  try {
    return parseArgs({ args: [...args], options, allowPositionals: true }) as ReturnType<typeof parsed>;
  } catch (error) {
    throw optionProblem(caller, args, error instanceof Error ? error.message : String(error));
  }
}

/** What is wrong with the options, by name, in place of the parser's own words. */
function optionProblem(caller: CommandName, args: readonly string[], message: string): ArgumentError {
  const unknown = args.find((arg) => /^--?[a-z]/i.test(arg) && !(arg.slice(2).split('=')[0] in names));
  if (unknown !== undefined)
    return new ArgumentError({
      caller,
      argument: unknown,
      expected: 'one of the known options',
      received: unknown,
      remedy: `${nearest(unknown)}${caller} -- --help lists them`,
    });
  const name = /'--([\w-]+)/.exec(message)?.[1] ?? 'options';
  const where = { caller, argument: `--${name}` };
  if (name === 'no-open' || name === 'help')
    return new ArgumentError({ ...where, expected: 'written without a value', received: 'one' });
  const next = args[args.indexOf(`--${name}`) + 1];
  const isNegative = next !== undefined && /^-\d/.test(next);
  return new ArgumentError({
    ...where,
    expected: 'followed by its value',
    received: next ?? 'nothing',
    remedy: isNegative
      ? `write a negative number as --${name}=${next}`
      : `for example --${name} ${examples[name] ?? '1'}`,
  });
}

function nearest(name: string): string {
  const wanted = name.slice(2).split('=')[0] ?? '';
  const start = wanted.slice(0, 3);
  const match = Object.keys(names).find(
    (known) => start !== '' && (known.startsWith(start) || known.includes(wanted)),
  );
  return match === undefined ? '' : `perhaps --${match}; `;
}

function requireWhatCannotBeGuessed(options: CommandOptions, caller: CommandName): void {
  if (options.logs.length === 0) return;
  if (options.limitC === undefined)
    throw new ArgumentError({
      caller,
      argument: '--limit',
      expected: 'given with your own logs',
      received: 'nothing',
      remedy: 'add the highest die temperature you accept, in °C, for example --limit 85',
    });
  if (options.ambientC === undefined)
    throw new ArgumentError({
      caller,
      argument: '--ambient',
      expected: 'given with your own logs',
      received: 'nothing',
      remedy:
        'add the air temperature of the room where the machine will work, in °C, for example --ambient 23 or --ambient 20..26',
    });
}

const optionsWithoutLogs: readonly string[] = ['folder', 'port', 'no-open', 'help'];

/** Without logs there is no notebook that a question could go into. */
function requireNoQuestion(values: Readonly<Record<string, unknown>>, caller: CommandName): void {
  const asked = Object.keys(values).find((name) => !optionsWithoutLogs.includes(name));
  if (asked !== undefined)
    throw new ArgumentError({
      caller,
      argument: `--${asked}`,
      expected: 'given together with logs',
      received: values[asked],
      remedy: `name them too, for example ${caller} -- my-logs/*.csv --limit 85`,
    });
}

interface Bounds {
  readonly above?: number;
  readonly atLeast?: number;
  readonly below?: number;
  readonly atMost?: number;
  readonly whole?: boolean;
}

function numberOf(caller: CommandName, name: string, text: string, bounds: Bounds): number {
  const value = text.trim() === '' ? Number.NaN : Number(text.replace(',', '.'));
  const fits =
    Number.isFinite(value) &&
    value > (bounds.above ?? -Infinity) &&
    value >= (bounds.atLeast ?? -Infinity) &&
    value < (bounds.below ?? Infinity) &&
    value <= (bounds.atMost ?? Infinity) &&
    (bounds.whole !== true || Number.isInteger(value));
  if (fits) return value;
  throw new ArgumentError({
    caller,
    argument: `--${name}`,
    expected: `a ${bounds.whole === true ? 'whole ' : ''}number ${inWords(bounds)}`.trim(),
    received: text,
    remedy: `for example --${name} ${examples[name] ?? 1}`,
  });
}

/** The parts of a time in two columns. */
const TIME_PARTS = ['time.date', 'time.clock'] as const;

/** `temperature="die A"`, any number of times; `time.date=Day` and `time.clock=Time` are the time together. */
function columnsOf(caller: CommandName, texts: readonly string[]): ColumnChoice {
  const chosen = choicesOf(caller, 'column', texts, [...COLUMN_ROLES, ...TIME_PARTS], columnOf);
  const { 'time.date': date, 'time.clock': clock, ...columns } = chosen;
  if (date === undefined && clock === undefined) return columns;
  const refused = (received: string, expected: string): ArgumentError =>
    new ArgumentError({
      caller,
      argument: '--column',
      expected,
      received,
      remedy: 'for example --column time.date=Day --column time.clock=Time',
    });
  if (date === undefined) throw refused('time.clock alone', 'given for time.date as well');
  if (clock === undefined) throw refused('time.date alone', 'given for time.clock as well');
  if (columns.time !== undefined)
    throw refused('time beside them', 'given for time, or for time.date and time.clock');
  if (date === false || clock === false)
    throw refused('false', 'a header or a place for time.date and for time.clock');
  return { ...columns, time: { date, clock } };
}

/** `temperature=die A`, any number of times, as one object. */
function choicesOf<Role extends string, Value>(
  caller: CommandName,
  name: 'column' | 'unit',
  texts: readonly string[],
  roles: readonly Role[],
  read: (text: string) => Value,
): Partial<Record<Role, Value>> {
  const choices: Partial<Record<Role, Value>> = {};
  for (const text of texts) {
    const [before = '', ...rest] = text.split('=');
    const value = rest.join('=').trim();
    const role = roles.find((one) => one === before);
    if (role === undefined || value === '')
      throw new ArgumentError({
        caller,
        argument: `--${name}`,
        expected: `${name === 'column' ? 'ROLE=HEADER' : 'ROLE=UNIT'} with a role among ${roles.join(', ')}`,
        received: text,
        remedy: `for example --${name} ${examples[name]}`,
      });
    if (choices[role] !== undefined)
      throw new ArgumentError({
        caller,
        argument: `--${name}`,
        expected: `given once for ${role}`,
        received: text,
        remedy:
          'a header holds for the logs that have it; where the others need one too, read them in a notebook',
      });
    choices[role] = read(value);
  }
  return choices;
}

function dateOrderOf(caller: CommandName, text: string): DateOrder {
  const order = DATE_ORDERS.find((one) => one === text);
  if (order !== undefined) return order;
  throw new ArgumentError({
    caller,
    argument: '--date-order',
    expected: DATE_ORDERS.join(' or '),
    received: text,
  });
}

function columnOf(text: string): string | number | false {
  if (text === 'false') return false;
  return /^\d+$/.test(text) ? Number(text) : text;
}

const examples: Readonly<Record<string, string>> = {
  cooler: '"tower 88 mm"',
  processor: '"twelve cores"',
  out: 'page.html',
  port: '8418',
  folder: 'my-work',
  column: 'temperature="die A"',
  unit: 'temperature=°F',
  'date-order': 'month-day-year',
  limit: '85',
  ambient: '23',
  'enclosure-rise': '9',
  confidence: '0.95',
  step: '1',
  'default-cap': '118',
  'max-cap': '130',
  'ambient-during-runs': '22.5',
};

function rangeOf(caller: CommandName, name: string, text: string, bounds: Bounds): UncertainInput {
  const ends = text.split('..');
  if (ends.length !== 2) return numberOf(caller, name, text, bounds);
  const [low = 0, high = 0] = ends.map((end) => numberOf(caller, name, end, bounds));
  if (low < high) return { low, high };
  throw new ArgumentError({
    caller,
    argument: `--${name}`,
    expected: 'a range from low to high, like 20..26',
    received: text,
  });
}

function textOf(caller: CommandName, name: string, text: string): string {
  if (text.trim() !== '') return text.trim();
  throw new ArgumentError({ caller, argument: `--${name}`, expected: 'a name', received: text });
}

function inWords(bounds: Bounds): string {
  const parts = [
    bounds.above === undefined ? '' : `above ${bounds.above}`,
    bounds.atLeast === undefined ? '' : `of at least ${bounds.atLeast}`,
    bounds.below === undefined ? '' : `below ${bounds.below}`,
    bounds.atMost === undefined ? '' : `of at most ${bounds.atMost}`,
  ];
  return parts.filter((part) => part !== '').join(' and ');
}
