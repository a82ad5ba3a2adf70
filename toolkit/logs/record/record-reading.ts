import { closeSync, openSync, readSync } from 'node:fs';
import { performance } from 'node:perf_hooks';
import { LogFormatError } from '../log-format-error.js';
import { type RecordSensors, type Sensor, unreadable } from './record-sensors.js';

/** More than any package under a cooler draws, W: a counter that fell so far was set back, and did not run over. */
const MOST_POWER_W = 2000;

/** What all sensors say at one time. */
export interface Reading {
  /** Of a clock that only counts upward, s. */
  readonly clockS: number;
  readonly temperatureC: number;
  /** Mean since the reading before, W; absent in the first one, and where there is none to compare with. */
  readonly powerW?: number;
  /** Mean over the processors that answer. */
  readonly frequencyMHz?: number;
  readonly ambientC?: number;
  readonly fanSpeedRpm?: number;
  readonly voltageV?: number;
}

/** What a recording can go on without. */
export type DispensableColumn = 'power' | 'frequency' | 'ambient' | 'fanSpeed' | 'voltage';

/**
 * Reads the kernel's files again and again, holding them open: a reading is one system call for each file.
 *
 * Once a first reading has shown that all files answer, only the temperature must: another sensor that falls silent is
 * absent from the reading, and `onSilent` is told why, once for each column.
 *
 * Units are those the kernel documents: thousandths of a degree Celsius, revolutions per minute and millivolts
 * [KernelHwmon], microjoules [KernelPowercap], kilohertz [KernelCpufreq].
 */
export class SensorReader {
  private readonly files = new Map<string, number>();
  private readonly buffer: Uint8Array = new Uint8Array(64);
  private energyMicroJ = Number.NaN;
  private energyClockS = Number.NaN;
  private readonly silent = new Set<DispensableColumn>();
  private isProven = false;

  constructor(
    private readonly sensors: RecordSensors,
    private readonly onSilent: (column: DispensableColumn, why: LogFormatError) => void,
  ) {}

  /** @throws LogFormatError if the temperature cannot be read; in the first reading, if anything cannot */
  read(): Reading {
    const { power, ambient, fanSpeed, voltage } = this.sensors;
    const temperatureC = this.temperatureC();
    const energyMicroJ = this.optional('power', power.path);
    const clockS = performance.now() / 1000;
    const powerW = this.powerSince(energyMicroJ, clockS);
    const frequencyMHz = this.frequencyMHz();
    const scaled = (column: DispensableColumn, sensor: Sensor | undefined, divisor: number) => {
      const value = sensor === undefined ? undefined : this.optional(column, sensor.path);
      return value === undefined ? undefined : value / divisor;
    };
    const ambientC = scaled('ambient', ambient, 1000);
    const fanSpeedRpm = scaled('fanSpeed', fanSpeed, 1);
    const voltageV = scaled('voltage', voltage, 1000);
    this.isProven = true;
    return {
      clockS,
      temperatureC,
      ...(powerW === undefined ? {} : { powerW }),
      ...(frequencyMHz === undefined ? {} : { frequencyMHz }),
      ...(ambientC === undefined ? {} : { ambientC }),
      ...(fanSpeedRpm === undefined ? {} : { fanSpeedRpm }),
      ...(voltageV === undefined ? {} : { voltageV }),
    };
  }

  /** The temperature alone, degrees Celsius. */
  temperatureC(): number {
    return this.numberIn(this.sensors.temperature.path) / 1000;
  }

  close(): void {
    for (const file of this.files.values()) closeSync(file);
    this.files.clear();
  }

  /** Mean over the processors that answer: one that was taken off line does no work. */
  private frequencyMHz(): number | undefined {
    let sumKHz = 0;
    let count = 0;
    for (const path of this.sensors.frequencyPaths) {
      const value = this.optional('frequency', path);
      if (value === undefined) continue;
      sumKHz += value;
      count++;
    }
    return count === 0 ? undefined : sumKHz / count / 1000;
  }

  /**
   * Mean power since the reading before; a counter that fell has begun anew once. Where it did not answer in between it may
   * have begun anew more often, and counting starts afresh.
   */
  private powerSince(energyMicroJ: number | undefined, clockS: number): number | undefined {
    const { power, energyRangeMicroJ } = this.sensors;
    const before = this.energyMicroJ;
    const elapsedS = clockS - this.energyClockS;
    this.energyMicroJ = energyMicroJ ?? Number.NaN;
    this.energyClockS = clockS;
    if (energyMicroJ === undefined || Number.isNaN(before)) return undefined;
    const hasFallen = energyMicroJ < before;
    const powerW = (energyMicroJ - before + (hasFallen ? energyRangeMicroJ : 0)) / elapsedS / 1e6;
    if (hasFallen && !(powerW >= 0 && powerW <= MOST_POWER_W)) {
      const why = `the energy counter was set back from ${before} to ${energyMicroJ} µJ, as after standby`;
      this.tell('power', unreadable(power.path, why));
      return undefined;
    }
    return powerW;
  }

  /** The number in a file that a recording can go on without; undefined where it fell silent. */
  private optional(column: DispensableColumn, path: string): number | undefined {
    try {
      return this.numberIn(path);
    } catch (error) {
      if (!this.isProven || !(error instanceof LogFormatError)) throw error;
      this.tell(column, error);
      return undefined;
    }
  }

  private tell(column: DispensableColumn, why: LogFormatError): void {
    if (this.silent.has(column)) return;
    this.silent.add(column);
    this.onSilent(column, why);
  }

  private numberIn(path: string): number {
    let text: string;
    try {
      text = this.textIn(path);
    } catch {
      // A driver that was loaded again, or a chip that was busy, answers the second time.
      this.forget(path);
      try {
        text = this.textIn(path);
      } catch (error) {
        this.forget(path);
        throw unreadable(path, 'the sensor does not answer', error);
      }
    }
    const value = Number(text);
    if (text === '' || !Number.isFinite(value))
      throw unreadable(path, `it holds ${JSON.stringify(text)} where a number belongs`);
    return value;
  }

  private textIn(path: string): string {
    let file = this.files.get(path);
    if (file === undefined) {
      file = openSync(path, 'r');
      this.files.set(path, file);
    }
    const length = readSync(file, this.buffer, 0, this.buffer.length, 0);
    return String.fromCharCode(...this.buffer.subarray(0, length)).trim();
  }

  private forget(path: string): void {
    const file = this.files.get(path);
    if (file !== undefined) closeSync(file);
    this.files.delete(path);
  }
}
