import { closeSync, ftruncateSync, openSync, writeSync } from 'node:fs';
import { LogFormatError } from '../log-format-error.js';
import { codeOf } from '../read/file-issues-node.js';
import type { RecordSensors } from './record-sensors.js';

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

/** One column of a recorded log: what of a sample it holds, its header with the unit, and digits behind the point. */
type RecordColumn = readonly [name: keyof RecordedSample, header: string, digits: number];

/** The columns of a recorded log; headers state the units. */
const COLUMNS: readonly RecordColumn[] = [
  ['timeS', 'time_s', 3],
  ['temperatureC', 'temperature_c', 3],
  ['powerW', 'power_w', 3],
  ['frequencyMHz', 'frequency_mhz', 1],
  ['throughputPerS', 'throughput_per_s', 2],
  ['ambientC', 'ambient_c', 3],
  ['fanSpeedRpm', 'fan_speed_rpm', 0],
  ['voltageV', 'voltage_v', 3],
];

/** The columns that these sensors, and a load if there is one, give. */
export function columnsOf(sensors: RecordSensors, hasLoad: boolean): readonly RecordColumn[] {
  const there: Readonly<Record<keyof RecordedSample, boolean>> = {
    timeS: true,
    temperatureC: true,
    powerW: true,
    frequencyMHz: sensors.frequencyPaths.length > 0,
    throughputPerS: hasLoad,
    ambientC: sensors.ambient !== undefined,
    fanSpeedRpm: sensors.fanSpeed !== undefined,
    voltageV: sensors.voltage !== undefined,
  };
  return COLUMNS.filter(([name]) => there[name]);
}

/** Appends whole lines to a file of its own. */
export class RecordLog {
  private readonly file: number;
  private length = 0;

  constructor(
    path: string,
    private readonly columns: readonly RecordColumn[],
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
  return new LogFormatError([{ code: code, source, message: message, remedy: remedy }]);
}
