import type { RandomStream } from '../../../toolkit/numerics/random.js';
import { makeRun } from '../../../toolkit/runs/make-run.js';
import type { Run } from '../../../toolkit/runs/run.js';

/**
 * A processor richer than the fitted form: piecewise voltage-frequency table with two kinks, leakage that grows with
 * voltage too, and a governor that dithers between 25 MHz steps while the workload's activity drifts. Invented.
 */
export interface SyntheticProcessor {
  readonly lowestVoltageV: number;
  readonly firstKinkMHz: number;
  readonly secondKinkMHz: number;
  readonly firstSlopeVPerGHz: number;
  readonly secondSlopeVPerGHz: number;
  readonly switchingWPerMHzV2: number;
  readonly basePowerW: number;
  /** At 60 °C and 1.1 V. */
  readonly leakagePowerW: number;
  readonly leakageScaleK: number;
}

export interface SyntheticRunOptions {
  readonly powerCapW: number;
  readonly thermalResistanceKPerW: number;
  readonly ambientC: number;
  readonly durationS: number;
  readonly intervalS?: number;
  /** Step of the governor, MHz. Default 25. */
  readonly frequencyStepMHz?: number;
  /** The log holds the governor's mean frequency of each interval, rounded to this, MHz. Default: the governor's step itself. */
  readonly loggedStepMHz?: number;
  readonly temperatureStepC?: number;
  /** Standard deviation of the drifting activity, as a fraction. */
  readonly activityDrift?: number;
  readonly label?: string;
  /** Offset that reaches the cores, mV; stated in the conditions. */
  readonly voltageOffsetMv?: number;
  /** Share of the offset that reaches the cores. Default 1. */
  readonly offsetEffect?: number;
  /** Logs the core voltage, off by this for the whole run, V, with 2 mV of noise, in steps of 5 mV. */
  readonly voltageReadingOffV?: number;
  /** Logs throughput: one unit of work takes these million cycles and this wait; 1 % of noise. */
  readonly work?: { readonly megacycleCount: number; readonly waitS: number };
  /** Share of the reported cycles that do no work. */
  readonly lossFraction?: number;
  readonly random: RandomStream;
}

/** A processor drawn at random that runs at about 3.9 GHz with 110 W at 60 °C. */
export function drawProcessor(random: RandomStream): SyntheticProcessor {
  const between = (low: number, high: number): number => low + (high - low) * random.uniform();
  const draft: SyntheticProcessor = {
    lowestVoltageV: between(0.75, 0.88),
    firstKinkMHz: between(2500, 3200),
    secondKinkMHz: between(3500, 3900),
    firstSlopeVPerGHz: between(0.18, 0.32),
    secondSlopeVPerGHz: between(0.35, 0.65),
    switchingWPerMHzV2: 1,
    basePowerW: between(3, 15),
    leakagePowerW: between(6, 22),
    leakageScaleK: between(24, 44),
  };
  const referenceMHz = between(3750, 4050);
  const voltage = voltageOf(draft, referenceMHz);
  const leakageW = (draft.leakagePowerW * voltage) / 1.1;
  return {
    ...draft,
    switchingWPerMHzV2: (110 - draft.basePowerW - leakageW) / (referenceMHz * voltage * voltage),
  };
}

export function voltageOf(processor: SyntheticProcessor, frequencyMHz: number): number {
  const first = Math.max(0, Math.min(frequencyMHz, processor.secondKinkMHz) - processor.firstKinkMHz) / 1000;
  const second = Math.max(0, frequencyMHz - processor.secondKinkMHz) / 1000;
  return (
    processor.lowestVoltageV + processor.firstSlopeVPerGHz * first + processor.secondSlopeVPerGHz * second
  );
}

export function powerOf(
  processor: SyntheticProcessor,
  frequencyMHz: number,
  temperatureC: number,
  activity = 1,
  offsetV = 0,
): number {
  const voltage = voltageOf(processor, frequencyMHz) + offsetV;
  return (
    processor.basePowerW +
    activity * processor.switchingWPerMHzV2 * frequencyMHz * voltage * voltage +
    ((processor.leakagePowerW * voltage) / 1.1) * Math.exp((temperatureC - 60) / processor.leakageScaleK)
  );
}

/** The frequency that takes exactly this power, by bisection. */
export function frequencyOf(
  processor: SyntheticProcessor,
  powerW: number,
  temperatureC: number,
  activity = 1,
  offsetV = 0,
): number {
  let low = 200;
  let high = 7000;
  while (high - low > 1e-3) {
    const middle = (low + high) / 2;
    if (powerOf(processor, middle, temperatureC, activity, offsetV) > powerW) high = middle;
    else low = middle;
  }
  return (low + high) / 2;
}

/** A logged load run from cold, held at the cap by the governor. */
export function syntheticRun(processor: SyntheticProcessor, options: SyntheticRunOptions): Run {
  const { powerCapW, thermalResistanceKPerW, ambientC, durationS, random } = options;
  const intervalS = options.intervalS ?? 2;
  const stepMHz = options.frequencyStepMHz ?? 25;
  const stepC = options.temperatureStepC ?? 0.5;
  const drift = options.activityDrift ?? 0.003;
  const offsetV = ((options.offsetEffect ?? 1) * (options.voltageOffsetMv ?? 0)) / 1000;
  const count = Math.floor(durationS / intervalS);
  const voltageV = new Float64Array(count);
  const throughputPerS = new Float64Array(count);
  const timeS = new Float64Array(count);
  const temperatureC = new Float64Array(count);
  const powerW = new Float64Array(count);
  const frequencyMHz = new Float64Array(count);
  const memory = Math.exp(-intervalS / 40);
  let activityOffset = drift * random.normal();
  let carried = 0;
  for (let i = 0; i < count; i++) {
    const t = i * intervalS;
    const rise = powerCapW * thermalResistanceKPerW;
    const dieC = ambientC + 8 + (rise - 8) * (1 - 0.45 * Math.exp(-t / 8) - 0.55 * Math.exp(-t / 160));
    activityOffset = memory * activityOffset + drift * Math.sqrt(1 - memory * memory) * random.normal();
    const activity = 1 + activityOffset;
    const wanted = frequencyOf(processor, powerCapW, dieC, activity, offsetV);
    // Error feedback: the governor's steps average to what it wants.
    const target = wanted + carried + 0.3 * stepMHz * random.normal();
    const running = stepMHz * Math.round(target / stepMHz);
    carried = Math.max(-stepMHz, Math.min(stepMHz, wanted + carried - running));
    timeS[i] = t;
    frequencyMHz[i] =
      options.loggedStepMHz === undefined
        ? running
        : options.loggedStepMHz * Math.round(wanted / options.loggedStepMHz);
    powerW[i] =
      Math.round(10 * (powerOf(processor, running, dieC, activity, offsetV) + 0.2 * random.normal())) / 10;
    temperatureC[i] = stepC * Math.round((dieC + 0.4 * random.normal()) / stepC);
    if (options.voltageReadingOffV !== undefined) {
      const reading = voltageOf(processor, running) + offsetV + options.voltageReadingOffV;
      voltageV[i] = 0.005 * Math.round((reading + 0.002 * random.normal()) / 0.005);
    }
    if (options.work !== undefined) {
      const working = running * (1 - (options.lossFraction ?? 0));
      const { megacycleCount, waitS } = options.work;
      throughputPerS[i] = (1 + 0.01 * random.normal()) / (waitS + megacycleCount / working);
    }
  }
  return makeRun(
    {
      timeS,
      temperatureC,
      powerW,
      frequencyMHz,
      ...(options.voltageReadingOffV !== undefined && { voltageV }),
      ...(options.work !== undefined && { throughputPerS }),
    },
    {
      label: options.label ?? `${powerCapW} W`,
      conditions: {
        powerCapW,
        processor: 'synthetic',
        ...(options.voltageOffsetMv !== undefined && { voltageOffsetMv: options.voltageOffsetMv }),
      },
    },
  );
}
