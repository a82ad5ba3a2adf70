import { closeSync, existsSync, ftruncateSync, openSync, writeSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import { performance } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import { requireValidConditions } from '../../runs/conditions-check.js';
import type { Conditions } from '../../runs/run.js';
import { LogFormatError } from '../log-format-error.js';
import { codeOf } from '../read/file-issues-node.js';
import { conditionsPathOf } from '../read/log-files-node.js';
import { RecordLoad } from './record-load.js';
import { type Reading, SensorReader } from './record-reading.js';
import { chooseSensors, type RecordSensors, type SensorChoice } from './record-sensors.js';

/** How a load run is recorded. */
export interface RecordOptions {
  /** How long the load is recorded, s; without a load, how long anything is. */
  readonly durationS: number;
  /** Between two samples, s. Default 1. */
  readonly intervalS?: number;
  /**
   * Loads the processor: `true` for a thread on every core, or how many threads. Default `false`: the load is your own.
   */
  readonly load?: boolean | { readonly threadCount: number };
  /** With a load: rest before it, s, recorded too, so that the run begins in a known state. Default 60. */
  readonly idleBeforeS?: number;
  /** With a load: rest after it, s, recorded too. Default 0. */
  readonly idleAfterS?: number;
  /** Load and recording stop when the temperature reaches this, degrees Celsius. Default 95. */
  readonly stopAtC?: number;
  /** Which sensors, where the kernel shows several. */
  readonly sensors?: SensorChoice;
  /** What is known about the run; written beside the log. The power cap in force is added where the kernel says it. */
  readonly conditions?: Conditions;
  /** Where the kernel shows its files. Default `/sys`. */
  readonly sysfs?: string;
  /** Called with each caution before the load starts. Default: standard error. */
  readonly onCaution?: (caution: string) => void;
  /** Called once for each sensor that falls silent meanwhile; `notes` has it too. Default: standard error. */
  readonly onNote?: (note: string) => void;
  /** Called after each sample. */
  readonly onSample?: (sample: RecordedSample) => void;
  /** Ends the recording; what was recorded stays. */
  readonly signal?: AbortSignal;
}

/** One line of the log; what its sensor did not say is absent, and an empty cell in the log. */
export interface RecordedSample {
  readonly timeS: number;
  readonly temperatureC: number;
  readonly powerW?: number;
  readonly frequencyMHz?: number;
  readonly throughputPerS?: number;
  readonly ambientC?: number;
  readonly fanSpeedRpm?: number;
  readonly voltageV?: number;
}

/** What was recorded. */
export interface Recorded {
  readonly kind: 'recorded';
  readonly path: string;
  readonly conditionsPath: string;
  /** `over-temperature`: the limit was reached and everything stopped. */
  readonly reason: 'finished' | 'over-temperature' | 'aborted';
  readonly sampleCount: number;
  readonly durationS: number;
  readonly highestTemperatureC: number;
  /** Which sensor gave which column, as `device/label`. */
  readonly sensors: Readonly<Record<string, string>>;
  /** What was left out or fell silent, and what to do for it. */
  readonly notes: readonly string[];
}

const OPTION_NAMES: KnownNames<RecordOptions> = {
  durationS: true,
  intervalS: true,
  load: true,
  idleBeforeS: true,
  idleAfterS: true,
  stopAtC: true,
  sensors: true,
  conditions: true,
  sysfs: true,
  onCaution: true,
  onNote: true,
  onSample: true,
  signal: true,
};
const SENSOR_NAMES: KnownNames<SensorChoice> = {
  temperature: true,
  power: true,
  ambient: true,
  fanSpeed: true,
  voltage: true,
};
const LOAD_NAMES = { threadCount: true } as const;

/** Defaults of `RecordOptions`. */
export interface RecordDefaults {
  readonly intervalS: number;
  readonly idleBeforeS: number;
  readonly idleAfterS: number;
  readonly stopAtC: number;
}

/**
 * Defaults of `record`.
 *
 * @example
 * RECORD_DEFAULTS; // => { intervalS: 1, idleBeforeS: 60, idleAfterS: 0, stopAtC: 95 }
 */
export const RECORD_DEFAULTS: RecordDefaults = { intervalS: 1, idleBeforeS: 60, idleAfterS: 0, stopAtC: 95 };

/** However far apart the samples are, the temperature is looked at so often, ms. */
const WATCH_MS = 1000;

/** The columns of a recorded log; headers state the units. */
const COLUMNS: readonly (readonly [name: keyof RecordedSample, header: string, digits: number])[] = [
  ['timeS', 'time_s', 3],
  ['temperatureC', 'temperature_c', 3],
  ['powerW', 'power_w', 3],
  ['frequencyMHz', 'frequency_mhz', 1],
  ['throughputPerS', 'throughput_per_s', 2],
  ['ambientC', 'ambient_c', 3],
  ['fanSpeedRpm', 'fan_speed_rpm', 0],
  ['voltageV', 'voltage_v', 3],
];

/** What a person must know before a load starts. */
export function recordCautions(stopAtC: number): readonly string[] {
  return [
    'The load runs every core flat out: processor, cooler, regulators, power supply and enclosure get as warm as they ever will. Stay with the machine, keep its openings free, and keep what must not get warm away from it.',
    `The load stops at ${stopAtC} °C as its sensor reads. That is no protection: it fails with the sensor, the kernel or this program. Leave the protection of processor and board switched on; the makers' limits come first.`,
    'Work inside the machine only when it is unplugged from the mains. Stop at once (Ctrl+C) if anything smells, smokes or sounds wrong.',
  ];
}

/**
 * Records a load run on Linux into a plain CSV file that `readRun` reads, and the conditions file beside it.
 *
 * Temperature, fan speed and voltage come from the kernel's hardware monitors [KernelHwmon], package power from its energy
 * counters [KernelPowercap], which begin anew at a stated count, frequency from cpufreq [KernelCpufreq], the mean over all
 * processors. Samples are taken at a steady rate that does not drift. Every line is written whole, in one call, so that a
 * log that is cut short is still a log. With `load`, worker threads do a fixed piece of arithmetic on all cores and count it
 * (`throughput_per_s`). An existing log is never written over; nor is an existing conditions file, which stays as it is.
 *
 * Where the temperature cannot be read any more, or the limit is reached, load and recording stop at once; the temperature is
 * looked at every second, also where samples are further apart, and threads of the load end by themselves when nothing has
 * looked for ten seconds. Any other sensor that falls silent leaves empty cells, and one message; the recording goes on.
 *
 * @param path - the log to write; it must not exist yet
 * @param options - how long, with which load, and the limits
 * @returns what was recorded, and why it ended
 * @throws LogFormatError if a file of the kernel is missing or may not be read, with the remedy; if the temperature cannot be
 *   read any more; or if the log exists
 * @throws ArgumentError if an option is not what it must be
 * @example
 * await record('drawer.csv', { durationS: 60, sysfs: '/no-such-folder' }); // => throws /there are no hardware monitors/
 * await record('drawer.csv', { durationS: 60, stopAtC: 200 }); // => throws /stopAtC/
 */
export async function record(path: string, options: RecordOptions): Promise<Recorded> {
  requireRecordOptions(path, options);
  const { sysfs = '/sys', sensors: choice = {}, conditions = {} } = options;
  const sensors = chooseSensors(sysfs, choice);
  const silenced: string[] = [];
  const tellNote = options.onNote ?? ((note: string) => process.stderr.write(`${note}\n`));
  const reader = new SensorReader(sensors, (column, why) => {
    const note = `${column} fell silent and is empty in the log where it says nothing; the recording goes on. ${why.message}`;
    silenced.push(note);
    tellNote(note);
  });
  try {
    // Every file is read once before anything is written.
    reader.read();
    const log = new LogWriter(path, columnsOf(sensors, hasLoad(options)));
    try {
      const conditionsPath = conditionsPathOf(path);
      const notes = [...sensors.notes, ...(await writeConditions(conditionsPath, sensors, conditions))];
      const course = await follow(reader, log, options);
      return {
        kind: 'recorded',
        path,
        conditionsPath,
        ...course,
        sensors: sensorIds(sensors),
        notes: [...notes, ...silenced],
      };
    } finally {
      log.close();
    }
  } finally {
    reader.close();
  }
}

type Course = Pick<Recorded, 'reason' | 'sampleCount' | 'durationS' | 'highestTemperatureC'>;

/** Takes sample after sample until time is up, the limit is reached or somebody ends it. */
async function follow(reader: SensorReader, log: LogWriter, options: RecordOptions): Promise<Course> {
  const { durationS, onSample, signal } = options;
  const { intervalS = RECORD_DEFAULTS.intervalS, stopAtC = RECORD_DEFAULTS.stopAtC } = options;
  const load = loadOf(options);
  const { idleBeforeS = RECORD_DEFAULTS.idleBeforeS, idleAfterS = RECORD_DEFAULTS.idleAfterS } = options;
  const loadFromS = load === undefined ? 0 : idleBeforeS;
  const loadToS = loadFromS + durationS;
  const endS = loadToS + (load === undefined ? 0 : idleAfterS);
  if (load !== undefined) {
    const tell = options.onCaution ?? ((caution: string) => process.stderr.write(`${caution}\n`));
    for (const caution of recordCautions(stopAtC)) tell(caution);
  }
  const startS = reader.read().clockS;
  let before = { clockS: startS, pieceCount: 0 };
  let sampleCount = 0;
  let timeS = 0;
  let highestTemperatureC = Number.NEGATIVE_INFINITY;
  let isLoaded = false;
  const course = (reason: Recorded['reason']): Course => ({
    reason,
    sampleCount,
    durationS: timeS,
    highestTemperatureC,
  });
  try {
    for (let tick = 1; ; tick++) {
      if (load !== undefined && !isLoaded && timeS >= loadFromS && timeS < loadToS) {
        // What is too hot already is not loaded: the next sample ends the recording.
        isLoaded = reader.temperatureC() < stopAtC;
        if (isLoaded) load.start();
      }
      // Ticks that have passed are left out rather than caught up with.
      const nowS = performance.now() / 1000 - startS;
      tick = Math.max(tick, Math.ceil(nowS / intervalS));
      const isDue = await untilDue(startS + tick * intervalS, { reader, load, stopAtC, signal });
      if (!isDue) return course('aborted');
      const reading = reader.read();
      load?.keepGoing();
      const pieceCount = load?.pieceCount() ?? 0;
      timeS = reading.clockS - startS;
      const sample = sampleOf(
        reading,
        timeS,
        load === undefined ? undefined : pieceCount - before.pieceCount,
        before,
      );
      before = { clockS: reading.clockS, pieceCount };
      highestTemperatureC = Math.max(highestTemperatureC, reading.temperatureC);
      if (reading.temperatureC >= stopAtC) await load?.stop();
      log.write(sample);
      sampleCount++;
      onSample?.(sample);
      if (reading.temperatureC >= stopAtC) return course('over-temperature');
      if (isLoaded && timeS >= loadToS - intervalS / 2) await load?.stop();
      if (timeS >= endS - intervalS / 2) return course('finished');
    }
  } finally {
    await load?.stop();
  }
}

function sampleOf(
  reading: Reading,
  timeS: number,
  pieceCount: number | undefined,
  before: { readonly clockS: number },
): RecordedSample {
  const { clockS, ...rest } = reading;
  return {
    timeS,
    ...rest,
    ...(pieceCount === undefined ? {} : { throughputPerS: pieceCount / (clockS - before.clockS) }),
  };
}

/** Waits for the next sample, but not on while the limit is reached meanwhile; false where somebody ended it. */
async function untilDue(
  clockS: number,
  {
    reader,
    load,
    stopAtC,
    signal,
  }: {
    readonly reader: SensorReader;
    readonly load: RecordLoad | undefined;
    readonly stopAtC: number;
    readonly signal: AbortSignal | undefined;
  },
): Promise<boolean> {
  for (;;) {
    const leftMs = 1000 * clockS - performance.now();
    if (!(await waited(Math.min(leftMs, WATCH_MS), signal))) return false;
    if (leftMs <= WATCH_MS || reader.temperatureC() >= stopAtC) return true;
    load?.keepGoing();
  }
}

async function waited(delayMs: number, signal: AbortSignal | undefined): Promise<boolean> {
  if (signal?.aborted === true) return false;
  try {
    await wait(Math.max(0, delayMs), undefined, signal === undefined ? {} : { signal });
    return true;
  } catch (error) {
    if (error instanceof Error && error.name === 'AbortError') return false;
    throw error;
  }
}

/** Appends whole lines to a file of its own. */
class LogWriter {
  private readonly file: number;
  private length = 0;

  constructor(
    path: string,
    private readonly columns: typeof COLUMNS,
  ) {
    try {
      this.file = openSync(path, 'wx');
    } catch (error) {
      throw notCreated(error, path);
    }
    this.writeLine(columns.map(([, header]) => header));
  }

  write(sample: RecordedSample): void {
    this.writeLine(this.columns.map(([name, , digits]) => sample[name]?.toFixed(digits) ?? ''));
  }

  close(): void {
    closeSync(this.file);
  }

  private writeLine(cells: readonly string[]): void {
    const line = new TextEncoder().encode(`${cells.join(',')}\n`);
    if (this.taken(line) < line.length) {
      // A full disk takes part of a line: none of it stays.
      ftruncateSync(this.file, this.length);
      throw new LogFormatError([
        {
          code: 'disk-full',
          message: 'the disk is full; all lines before are whole',
          remedy: 'make room and record again',
        },
      ]);
    }
    this.length += line.length;
  }

  /** How many bytes the disk took: none where it is full, or the person's share of it is used up. */
  private taken(line: Uint8Array): number {
    try {
      return writeSync(this.file, line);
    } catch (error) {
      if (['ENOSPC', 'EDQUOT', 'EFBIG'].includes(codeOf(error) ?? '')) return 0;
      throw error;
    }
  }
}

/** Why a log cannot be begun: what `fileError` says is about reading. */
function notCreated(error: unknown, source: string): LogFormatError {
  const [code, message, remedy] = {
    EEXIST: [
      'log-exists',
      'there is a file of this name already, and it is not written over',
      'give another name, or move the file away',
    ],
    ENOENT: ['no-folder', 'the folder of the log is not there', 'make it first, or check the path'],
    EACCES: [
      'no-permission',
      'nothing may be written in this folder',
      'give yourself the right, or another path',
    ],
    EROFS: ['no-permission', 'this disk can only be read', 'give a path on another disk'],
  }[codeOf(error) ?? ''] ?? [
    'not-written',
    `the log cannot be written (${error instanceof Error ? error.message : String(error)})`,
    'give another path',
  ];
  return new LogFormatError([{ code: code!, source, message: message!, remedy: remedy! }]);
}

function columnsOf(sensors: RecordSensors, withLoad: boolean): typeof COLUMNS {
  const there: Readonly<Record<keyof RecordedSample, boolean>> = {
    timeS: true,
    temperatureC: true,
    powerW: true,
    frequencyMHz: sensors.frequencyPaths.length > 0,
    throughputPerS: withLoad,
    ambientC: sensors.ambient !== undefined,
    fanSpeedRpm: sensors.fanSpeed !== undefined,
    voltageV: sensors.voltage !== undefined,
  };
  return COLUMNS.filter(([name]) => there[name]);
}

function sensorIds({
  temperature,
  power,
  ambient,
  fanSpeed,
  voltage,
}: RecordSensors): Record<string, string> {
  return Object.fromEntries(
    Object.entries({ temperature, power, ambient, fanSpeed, voltage }).flatMap(([role, sensor]) =>
      sensor === undefined ? [] : [[role, sensor.id]],
    ),
  );
}

/** Writes the conditions file unless there is one; says so where there is. */
async function writeConditions(
  path: string,
  { powerCapW }: RecordSensors,
  conditions: Conditions,
): Promise<readonly string[]> {
  if (existsSync(path))
    return [`${path} was there already and stays as it is: check that it describes this run.`];
  const all = { ...(powerCapW === undefined ? {} : { powerCapW }), ...conditions };
  await writeFile(path, `${JSON.stringify(all, undefined, 2)}\n`, { flag: 'wx' });
  return [];
}

function hasLoad({ load = false }: RecordOptions): boolean {
  return load !== false;
}

function loadOf({ load = false }: RecordOptions): RecordLoad | undefined {
  if (load === false) return undefined;
  return new RecordLoad(load === true ? availableParallelism() : load.threadCount);
}

function requireRecordOptions(path: unknown, options: RecordOptions): void {
  const caller = 'record';
  if (typeof path !== 'string' || path === '')
    throw new ArgumentError({
      caller,
      argument: 'path',
      expected: 'the path of the log to write',
      received: path,
    });
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const bounds: readonly (readonly [keyof RecordOptions, Parameters<typeof requireNumber>[2]])[] = [
    ['intervalS', { atLeast: 0.05, atMost: 60 }],
    ['idleBeforeS', { atLeast: 0 }],
    ['idleAfterS', { atLeast: 0 }],
    ['stopAtC', { atLeast: 30, atMost: 110 }],
  ];
  requireNumber(options.durationS, { caller, argument: 'options.durationS' }, { above: 0 });
  for (const [name, domain] of bounds)
    if (options[name] !== undefined)
      requireNumber(options[name], { caller, argument: `options.${name}` }, domain);
  const { load, sensors, conditions } = options;
  if (load !== undefined && typeof load !== 'boolean') {
    requireKnownNames(load, LOAD_NAMES, { caller, argument: 'options.load' });
    if (!Number.isInteger(load.threadCount) || load.threadCount < 1 || load.threadCount > 1024)
      throw new ArgumentError({
        caller,
        argument: 'options.load.threadCount',
        expected: 'a whole number from 1 to 1024',
        received: load.threadCount,
      });
  }
  if (sensors !== undefined)
    requireKnownNames(sensors, SENSOR_NAMES, { caller, argument: 'options.sensors' });
  if (conditions !== undefined) requireValidConditions(conditions, caller);
}
