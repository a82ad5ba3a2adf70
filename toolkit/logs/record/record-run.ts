import { existsSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import { performance } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import type { Conditions } from '../../runs/run.js';
import { conditionsPathOf } from '../read/log-files-node.js';
import { RecordLoad } from './record-load.js';
import { columnsOf, type RecordedSample, RecordLog } from './record-log.js';
import { RECORD_DEFAULTS, type RecordOptions, requireRecordOptions } from './record-options.js';
import { type Reading, SensorReader } from './record-reading.js';
import { chooseSensors, type RecordSensors } from './record-sensors.js';

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

/** However far apart the samples are, the temperature is looked at so often, ms. */
const WATCH_MS = 1000;

/** What a person must know before a load starts. */
function recordCautions(stopAtC: number): readonly string[] {
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
    const hasLoad = options.load !== undefined && options.load !== false;
    const log = new RecordLog(path, columnsOf(sensors, hasLoad));
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
async function follow(reader: SensorReader, log: RecordLog, options: RecordOptions): Promise<Course> {
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

function loadOf({ load = false }: RecordOptions): RecordLoad | undefined {
  if (load === false) return undefined;
  return new RecordLoad(load === true ? availableParallelism() : load.threadCount);
}
