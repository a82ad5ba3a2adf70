import type { RandomStream } from './random.js';

/** A sensor: first-order lag, white noise, then rounding to its quantum. */
export interface Sensor {
  /** Time constant; 0 follows at once. */
  readonly lagS: number;
  /** Standard deviation of the noise, in the sensor's unit. */
  readonly noise: number;
  /** In the sensor's unit; 0 for none. */
  readonly quantum: number;
}

/** A sensor at work. */
export interface SensorState {
  /** Sees the value for one more step. */
  readonly follow: (value: number) => void;
  readonly read: () => number;
}

/** A sensor that has rested at `start` for long and is stepped evenly. */
export function startSensor(sensor: Sensor, start: number, stepS: number, random: RandomStream): SensorState {
  const taken = sensor.lagS === 0 ? 1 : 1 - Math.exp(-stepS / sensor.lagS);
  let level = start;
  return {
    follow: (value) => {
      level += (value - level) * taken;
    },
    read: () => quantised(level + sensor.noise * random.normal(), sensor.quantum),
  };
}

/** A value rounded to a multiple of the quantum; as it is where the quantum is 0. */
export function quantised(value: number, quantum: number): number {
  return quantum === 0 ? value : Math.round(value / quantum) * quantum;
}
