import { fanSpeedRuns } from './demo-runs.js';
import { fanResponse } from './scenario.js';
import { steadyTruth } from './steady-truth.js';

const roomAirC = 23;

/** What is true at one fan speed: steady, without noise, in air of 23 °C, at the run's cap. */
export interface FanSpeedRunTruth {
  readonly file: string;
  readonly seed: number;
  readonly fanSpeedRpm: number;
  readonly dieTemperatureC: number;
  readonly thermalResistanceKPerW: number;
}

/** The truth behind the runs at several fan speeds, written to `fan-speeds/truth.json`. */
export interface FanSpeedTruth {
  readonly about: string;
  readonly roomAirC: number;
  /** Of the last resistance: what stays at any speed, and how the rest goes with speed; the sound at one speed. */
  readonly fan: typeof fanResponse;
  readonly runs: readonly FanSpeedRunTruth[];
}

/** The whole truth of `fanSpeedRuns`. */
export function fanSpeedTruth(): FanSpeedTruth {
  return {
    about: 'Invented. Written by generate.ts; steady states computed without noise.',
    roomAirC,
    fan: fanResponse,
    runs: fanSpeedRuns.map(({ name, seed, powerCapW, parameters }) => {
      const { temperatureC, thermalResistanceKPerW } = steadyTruth(parameters, { powerCapW, roomAirC });
      return {
        file: `${name}.csv`,
        seed,
        fanSpeedRpm: parameters.fanSpeedRpm,
        dieTemperatureC: temperatureC,
        thermalResistanceKPerW,
      };
    }),
  };
}
