import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import { requireValidConditions } from '../../runs/conditions-check.js';
import type { Conditions } from '../../runs/run.js';
import type { RecordedSample } from './record-log.js';
import type { SensorChoice } from './record-sensors.js';

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

/**
 * Requires that `record` can do what it is told.
 *
 * @throws ArgumentError if it cannot
 */
export function requireRecordOptions(path: unknown, options: RecordOptions): void {
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
