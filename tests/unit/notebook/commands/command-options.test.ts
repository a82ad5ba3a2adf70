import { describe, expect, it } from 'vitest';
import {
  type CommandOptions,
  decideHelp,
  optionsKeptByNpm,
  parseCommandOptions,
  requireNothingKeptByNpm,
  startHelp,
} from '../../../../toolkit/notebook/commands/command-options.js';

const parseDecide = (args: readonly string[]): CommandOptions => parseCommandOptions(args, 'npm run decide');

describe('parseCommandOptions', () => {
  it('asks for nothing in the demo', () => {
    expect(parseDecide([])).toEqual({ logs: [], open: true, help: false });
  });

  it('reads the question with its units', () => {
    const args =
      'a.csv b.csv --limit 85 --ambient 23 --enclosure-rise 9 --confidence 0.9 --step 5 --default-cap 118 --max-cap 130 --out p.html --no-open';
    expect(
      parseDecide([
        ...args.split(' '),
        '--cooler',
        'tower 88 mm',
        '--processor',
        'twelve cores',
        '--ambient-during-runs',
        '22,5',
      ]),
    ).toEqual({
      logs: ['a.csv', 'b.csv'],
      limitC: 85,
      ambientC: 23,
      enclosureRiseK: 9,
      confidence: 0.9,
      stepW: 5,
      defaultCapW: 118,
      maxCapW: 130,
      cooler: 'tower 88 mm',
      processor: 'twelve cores',
      ambientDuringRunsC: 22.5,
      out: 'p.html',
      open: false,
      help: false,
    });
  });

  it('takes columns and units of the logs, each as often as needed', () => {
    const args = 'a.csv|--limit=85|--ambient=23|--column|temperature=die = "A"|--column=power=3';
    expect(
      parseDecide([...args.split('|'), '--column', 'frequency=false', '--unit', 'temperature=°F']),
    ).toMatchObject({
      columns: { temperature: 'die = "A"', power: 3, frequency: false },
      units: { temperature: '°F' },
    });
  });

  it('takes a time whose date and clock stand in two columns', () => {
    const args = ['a.csv', '--limit=85', '--ambient=23', '--column', 'time.date=Day = 1', '--column'];
    expect(parseDecide([...args, 'time.clock=2']).columns).toEqual({ time: { date: 'Day = 1', clock: 2 } });
    const example = 'for example --column time.date=Day --column time.clock=Time';
    for (const [wrong, message] of [
      ['power=watts', 'given for time.clock as well (received "time.date alone"); '],
      ['time.clock=false', 'a header or a place for time.date and for time.clock (received "false"); '],
    ])
      expect(() => parseDecide([...args, wrong])).toThrow(`\`--column\` must be ${message}${example}`);
    expect(() => parseDecide([...args, 'time.clock=2', '--column', 'time=0'])).toThrow(
      `must be given for time, or for time.date and time.clock (received "time beside them"); ${example}`,
    );
    expect(() => parseDecide(['a.csv', '--column', 'time.clock=2'])).toThrow(
      `must be given for time.date as well (received "time.clock alone"); ${example}`,
    );
  });

  it('takes the order of dates', () => {
    const args = ['a.csv', '--limit=85', '--ambient=23', '--date-order'];
    expect(parseDecide([...args, 'month-day-year']).dateOrder).toBe('month-day-year');
    expect(() => parseDecide([...args, 'american'])).toThrow(
      /`--date-order` must be day-month-year or month-day-year or year-month-day \(received "american"\)/,
    );
  });

  it('takes a range for what can be anywhere between', () => {
    const options = parseDecide(['a.csv', '--limit=85', '--ambient=20..26', '--enclosure-rise', '5..12']);
    expect(options.ambientC).toEqual({ low: 20, high: 26 });
    expect(options.enclosureRiseK).toEqual({ low: 5, high: 12 });
  });

  it.each([
    [['a.csv', '--ambient', '23'], /`--limit` must be given with your own logs .*--limit 85/],
    [['a.csv', '--limit', '85'], /`--ambient` must be given with your own logs .*--ambient 23/],
    [
      ['--limit', 'hot'],
      /`--limit` must be a number above -50 and of at most 200 \(received "hot"\); for example --limit 85/,
    ],
    [['--limit', ''], /`--limit` must be a number/],
    [
      ['--confidence', '95'],
      /`--confidence` must be a number above 0 and below 1 \(received "95"\); for example --confidence 0.95/,
    ],
    [['--confidence=-0.5'], /`--confidence` must be a number above 0 and below 1/],
    [['--step', '0'], /`--step` must be a number above 0/],
    [['--ambient', '26..20'], /`--ambient` must be a range from low to high, like 20\.\.26/],
    [['--enclosure-rise=-3'], /`--enclosure-rise` must be a number of at least 0/],
    [['--cooler', ' '], /`--cooler` must be a name/],
    [
      ['--limt', '85'],
      /`--limt` must be one of the known options .*perhaps --limit; npm run decide -- --help/,
    ],
    [['--colour'], /`--colour` must be one of the known options .*--help/],
    [['--limit'], /`--limit` must be followed by its value \(received "nothing"\); for example --limit 85/],
    [
      ['--limit', '--ambient', '23'],
      /`--limit` must be followed by its value \(received "--ambient"\); for example --limit 85/,
    ],
    [['--limit', '-5'], /`--limit` must be followed by its value .*write a negative number as --limit=-5/],
    [['--cooler'], /`--cooler` must be followed by its value .*--cooler "tower 88 mm"/],
    [['--no-open=yes'], /`--no-open` must be written without a value/],
    [['-x'], /`-x` must be one of the known options/],
    [
      ['--column', 'heat=die A'],
      /`--column` must be ROLE=HEADER with a role among time, temperature, .*; for example --column temperature="die A"/,
    ],
    [
      ['--column=power=a', '--column=power=b'],
      /`--column` must be given once for power \(received "power=b"\); a header holds for the logs that have it; .* in a notebook/,
    ],
    [['--unit', 'temperature'], /`--unit` must be ROLE=UNIT .*for example --unit temperature=°F/],
  ])('refuses %j with the remedy', (args, message) => {
    expect(() => parseDecide(args)).toThrow(message);
  });

  it('asks for nothing when only help is wanted', () => {
    expect(parseDecide(['a.csv', '--help']).help).toBe(true);
  });

  it('explains every option it takes', () => {
    for (const name of [
      'limit',
      'ambient',
      'enclosure-rise',
      'confidence',
      'step',
      'default-cap',
      'max-cap',
      'cooler',
      'processor',
      'ambient-during-runs',
      'column',
      'unit',
      'date-order',
      'out',
      'no-open',
      'help',
    ])
      expect(decideHelp).toContain(`--${name}`);
    for (const name of ['limit', 'ambient', 'cooler', 'folder', 'port', 'no-open', 'help'])
      expect(startHelp).toContain(`--${name}`);
  });

  it('lets the app open on logs whose question is still open', () => {
    expect(
      parseCommandOptions(['a.csv', '--limit', '85', '--port', '9000', '--folder', 'x'], 'npm start'),
    ).toEqual({
      logs: ['a.csv'],
      limitC: 85,
      port: 9000,
      folder: 'x',
      open: true,
      help: false,
    });
  });

  it.each([
    [
      'npm start',
      ['--limit', '85', '--port', '9000'],
      /^npm start: `--limit` must be given together with logs \(received "85"\); name them too/,
    ],
    ['npm start', ['--out', 'p.html'], /^npm start: `--out` must be left to npm run decide/],
    ['npm run decide', ['--port', '9000'], /^npm run decide: `--port` must be left to npm start/],
    [
      'npm start',
      ['--port', '70000'],
      /^npm start: `--port` must be a whole number of at least 0 and of at most 65535/,
    ],
    ['npm start', ['--port', '8418.5'], /`--port` must be a whole number .*\(received "8418\.5"\)/],
    [
      'npm run decide',
      ['--max-cap', 'x'],
      /`--max-cap` must be a number above 0 .*for example --max-cap 130/,
    ],
  ] as const)('%s refuses %j', (command, args, message) => {
    expect(() => parseCommandOptions(args, command)).toThrow(message);
  });
});

describe('optionsKeptByNpm', () => {
  it('finds the options npm took because the -- was forgotten', () => {
    expect(
      optionsKeptByNpm({ npm_config_limit: 'true', npm_config_default_cap: '118', npm_config_cache: 'x' }),
    ).toEqual(['limit', 'default-cap']);
    expect(optionsKeptByNpm({ npm_config_cooler: 'true', npm_config_open: '' })).toEqual([
      'cooler',
      'no-open',
    ]);
    expect(optionsKeptByNpm({ npm_config_help: 'true' })).toEqual([]);
    expect(optionsKeptByNpm({})).toEqual([]);
  });

  it('are named with what to type', () => {
    expect(() => requireNothingKeptByNpm('npm start', { npm_config_limit: 'true' })).toThrow(
      /^npm start: `--limit` must be written after --, or npm keeps it to itself \(received "true"\); npm start -- my-logs/,
    );
  });
});
