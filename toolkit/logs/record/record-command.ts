import { resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { ArgumentError, NumericalError } from '../../errors.js';
import { conditionsSchema } from '../../runs/conditions-schema.js';
import type { Conditions } from '../../runs/run.js';
import { LogFormatError } from '../log-format-error.js';
import { RECORD_DEFAULTS, type RecordOptions } from './record-options.js';
import { record } from './record-run.js';
import { findSensors } from './record-sensors.js';

/** What the command needs from the place it runs in. */
export interface RecordSurroundings {
  /** Folder the command was typed in. */
  readonly typedIn: string;
  readonly print: (line: string) => void;
  readonly printError: (line: string) => void;
  /** Ends the recording. */
  readonly signal?: AbortSignal;
}

const recordHelp: string = `Records a load run of this machine (Linux) into a log that the toolkit reads.

  npm run record -- --to drawer.csv --minutes 20 --load

  --to FILE           the log to write; it must not exist yet
  --minutes N         how long (under load, with --load)
  --interval N        seconds between samples (${RECORD_DEFAULTS.intervalS})
  --load              load every core; without it the load is your own
  --threads N         load that many threads only
  --idle-before N     seconds of rest before the load, recorded too (${RECORD_DEFAULTS.idleBeforeS})
  --idle-after N      seconds of rest after it (${RECORD_DEFAULTS.idleAfterS})
  --stop-at N         degrees Celsius at which everything stops (${RECORD_DEFAULTS.stopAtC})
  --sensor ROLE=NAME  which sensor is temperature, power, ambient, fanSpeed or voltage; may be repeated
  --condition NAME=VALUE  written beside the log, such as cooler="flat 58 mm"; may be repeated
  --sensors           lists the sensors of this machine and ends
  --sysfs FOLDER      where the kernel shows its files (/sys)
  --help              this text
`;

const OPTIONS = {
  to: { type: 'string' },
  minutes: { type: 'string' },
  interval: { type: 'string' },
  load: { type: 'boolean' },
  threads: { type: 'string' },
  'idle-before': { type: 'string' },
  'idle-after': { type: 'string' },
  'stop-at': { type: 'string' },
  sensor: { type: 'string', multiple: true },
  condition: { type: 'string', multiple: true },
  sensors: { type: 'boolean' },
  sysfs: { type: 'string' },
  help: { type: 'boolean' },
} as const;

/** Seconds between two lines on the screen. */
const SHOWN_EVERY_S = 10;

/** `npm run record`: returns the exit code; 3 where the temperature limit ended the recording. */
export async function runRecord(args: readonly string[], surroundings: RecordSurroundings): Promise<number> {
  const { print, printError, typedIn, signal } = surroundings;
  try {
    const values = valuesOf(args);
    if (values.help === true) {
      print(recordHelp);
      return 0;
    }
    const sysfs = values.sysfs ?? '/sys';
    if (values.sensors === true) {
      for (const { kind, id, path } of findSensors(sysfs)) print(`${kind.padEnd(12)} ${id}  (${path})`);
      return 0;
    }
    if (values.to === undefined) throw wrong('--to', 'the name of the log to write', undefined);
    if (values.minutes === undefined) throw wrong('--minutes', 'how long to record', undefined);
    let shownS = Number.NEGATIVE_INFINITY;
    const told = new Set<string>();
    const recorded = await record(resolve(typedIn, values.to), {
      durationS: 60 * numberOf('--minutes', values.minutes),
      ...numbersOf(values),
      ...(values.threads !== undefined
        ? { load: { threadCount: numberOf('--threads', values.threads) } }
        : { load: values.load === true }),
      sensors: pairsOf('--sensor', values.sensor) as NonNullable<RecordOptions['sensors']>,
      conditions: conditionsOf(values.condition),
      sysfs,
      onCaution: printError,
      onNote: (note) => {
        told.add(note);
        printError(note);
      },
      onSample: ({ timeS, temperatureC, powerW }) => {
        if (timeS < shownS + SHOWN_EVERY_S) return;
        shownS = timeS;
        const power = powerW === undefined ? '- W' : `${powerW.toFixed(1)} W`;
        print(`${(timeS / 60).toFixed(1)} min  ${temperatureC.toFixed(1)} °C  ${power}`);
      },
      ...(signal === undefined ? {} : { signal }),
    });
    for (const note of recorded.notes) if (!told.has(note)) print(note);
    const ending = {
      finished: 'Recorded',
      aborted: 'Ended by hand; recorded',
      'over-temperature': `Stopped at ${recorded.highestTemperatureC.toFixed(1)} °C, at or above the limit; recorded`,
    }[recorded.reason];
    const { sampleCount } = recorded;
    print(`${ending} ${sampleCount} ${sampleCount === 1 ? 'sample' : 'samples'} in ${recorded.path}`);
    print(`What the log cannot say goes into ${recorded.conditionsPath}`);
    return recorded.reason === 'over-temperature' ? 3 : 0;
  } catch (error) {
    const isExplained =
      error instanceof ArgumentError || error instanceof LogFormatError || error instanceof NumericalError;
    if (!isExplained) throw error;
    printError(error.message);
    return 1;
  }
}

type Values = ReturnType<typeof parseArgs<{ options: typeof OPTIONS }>>['values'];

function valuesOf(args: readonly string[]): Values {
  try {
    return parseArgs({ args: [...args], options: OPTIONS, strict: true }).values;
  } catch (error) {
    throw wrong(
      'command line',
      'as --help shows it',
      error instanceof Error ? error.message : args.join(' '),
    );
  }
}

function numbersOf(values: Values): Partial<RecordOptions> {
  const of = (option: 'interval' | 'idle-before' | 'idle-after' | 'stop-at'): number | undefined =>
    values[option] === undefined ? undefined : numberOf(`--${option}`, values[option]);
  const [intervalS, idleBeforeS, idleAfterS, stopAtC] = [
    of('interval'),
    of('idle-before'),
    of('idle-after'),
    of('stop-at'),
  ];
  return {
    ...(intervalS === undefined ? {} : { intervalS }),
    ...(idleBeforeS === undefined ? {} : { idleBeforeS }),
    ...(idleAfterS === undefined ? {} : { idleAfterS }),
    ...(stopAtC === undefined ? {} : { stopAtC }),
  };
}

function numberOf(argument: string, text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw wrong(argument, 'a number', text);
  return value;
}

function pairsOf(argument: string, list: readonly string[] = []): Readonly<Record<string, string>> {
  return Object.fromEntries(
    list.map((text) => {
      const at = text.indexOf('=');
      if (at < 1) throw wrong(argument, 'NAME=VALUE', text);
      return [text.slice(0, at), text.slice(at + 1)];
    }),
  );
}

/** Conditions as the schema has them: numbers where numbers belong. */
function conditionsOf(list: readonly string[] | undefined): Conditions {
  return Object.fromEntries(
    Object.entries(pairsOf('--condition', list)).map(([name, text]) => {
      const schema = (conditionsSchema.properties as Readonly<Record<string, { readonly type: string }>>)[
        name
      ];
      return [name, schema?.type === 'number' ? numberOf(`--condition ${name}`, text) : text];
    }),
  );
}

function wrong(argument: string, expected: string, received: unknown): ArgumentError {
  return new ArgumentError({
    caller: 'npm run record',
    argument,
    expected,
    received,
    remedy: 'npm run record -- --help lists everything',
  });
}
