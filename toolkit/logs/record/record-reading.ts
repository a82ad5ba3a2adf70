import { closeSync, openSync, readSync } from 'node:fs';
import { performance } from 'node:perf_hooks';
import { type RecordSensors, type Sensor, unreadable } from './record-sensors.js';

/** More than any package under a cooler draws, W: a counter that fell so far was set back, and did not run over. */
const MOST_POWER_W = 2000;

/** What all sensors say at one time. */
export interface Reading {
  /** Of a clock that only counts upward, s. */
  readonly clockS: number;
  readonly temperatureC: number;
  /** Mean since the reading before, W; absent in the first one. */
  readonly powerW?: number;
  readonly frequencyMHz?: number;
  readonly ambientC?: number;
  readonly fanSpeedRpm?: number;
  readonly voltageV?: number;
}

/**
 * Reads the kernel's files again and again, holding them open: a reading is one system call for each file.
 *
 * Units are those the kernel documents: thousandths of a degree Celsius, revolutions per minute and millivolts
 * [KernelHwmon], microjoules [KernelPowercap], kilohertz [KernelCpufreq].
 */
export class SensorReader {
  private readonly files = new Map<string, number>();
  private readonly buffer: Uint8Array = new Uint8Array(64);
  private energyMicroJ = Number.NaN;
  private energyClockS = Number.NaN;

  constructor(private readonly sensors: RecordSensors) {}

  /** @throws LogFormatError if a file cannot be read, or holds no number */
  read(): Reading {
    const { power, ambient, fanSpeed, voltage, frequencyPaths } = this.sensors;
    const temperatureC = this.temperatureC();
    const energyMicroJ = this.numberIn(power.path);
    const clockS = performance.now() / 1000;
    const powerW = this.powerSince(energyMicroJ, clockS);
    let sumKHz = 0;
    for (const path of frequencyPaths) sumKHz += this.numberIn(path);
    const optional = (sensor: Sensor | undefined, divisor: number): number | undefined =>
      sensor === undefined ? undefined : this.numberIn(sensor.path) / divisor;
    const ambientC = optional(ambient, 1000);
    const fanSpeedRpm = optional(fanSpeed, 1);
    const voltageV = optional(voltage, 1000);
    return {
      clockS,
      temperatureC,
      ...(powerW === undefined ? {} : { powerW }),
      ...(frequencyPaths.length === 0 ? {} : { frequencyMHz: sumKHz / frequencyPaths.length / 1000 }),
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

  /** Mean power since the reading before; a counter that fell has begun anew once. */
  private powerSince(energyMicroJ: number, clockS: number): number | undefined {
    const { power, energyRangeMicroJ } = this.sensors;
    const before = this.energyMicroJ;
    const elapsedS = clockS - this.energyClockS;
    this.energyMicroJ = energyMicroJ;
    this.energyClockS = clockS;
    if (Number.isNaN(before)) return undefined;
    const hasFallen = energyMicroJ < before;
    const powerW = (energyMicroJ - before + (hasFallen ? energyRangeMicroJ : 0)) / elapsedS / 1e6;
    if (hasFallen && !(powerW >= 0 && powerW <= MOST_POWER_W))
      throw unreadable(
        power.path,
        `the energy counter was set back from ${before} to ${energyMicroJ} µJ, as after standby`,
      );
    return powerW;
  }

  private numberIn(path: string): number {
    let text: string;
    try {
      let file = this.files.get(path);
      if (file === undefined) {
        file = openSync(path, 'r');
        this.files.set(path, file);
      }
      const length = readSync(file, this.buffer, 0, this.buffer.length, 0);
      text = String.fromCharCode(...this.buffer.subarray(0, length)).trim();
    } catch (error) {
      throw unreadable(path, 'the sensor does not answer', error);
    }
    const value = Number(text);
    if (text === '' || !Number.isFinite(value))
      throw unreadable(path, `it holds ${JSON.stringify(text)} where a number belongs`);
    return value;
  }
}
