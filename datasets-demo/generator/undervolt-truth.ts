import { undervoltRuns } from './demo-runs.js';
import type { RigLog } from './logger.js';
import { frequencyAtPowerMHz, undervolted, voltageV } from './processor.js';
import { stageProcessor } from './scenario.js';

/** Where the truth is stated at every offset: a cap between those logged. */
const askedAt = { powerW: 100, temperatureC: 70 };

/** What was true of one run, mean over the last two minutes of its load. */
export interface UndervoltRunTruth {
  readonly file: string;
  readonly seed: number;
  readonly powerCapW: number;
  readonly voltageOffsetMv: number;
  /** Share of the reported cycles that did no work. */
  readonly lostFraction: number;
  readonly dieTemperatureC: number;
  readonly reportedFrequencyMHz: number;
  readonly effectiveFrequencyMHz: number;
  readonly coreVoltageV: number;
}

/** What is true at a voltage offset at 100 W and 70 °C. */
export interface OffsetTruth {
  readonly voltageOffsetMv: number;
  readonly reportedFrequencyMHz: number;
  readonly effectiveFrequencyMHz: number;
  readonly throughputPerS: number;
}

/** The truth behind the runs with a lowered voltage, written to `undervolt/truth.json`. */
export interface UndervoltTruth {
  readonly about: string;
  readonly askedAt: typeof askedAt;
  readonly offsets: readonly OffsetTruth[];
  readonly runs: readonly UndervoltRunTruth[];
}

/** The whole truth, given the simulated logs of `undervoltRuns` in order. */
export function undervoltTruth(logs: readonly RigLog[]): UndervoltTruth {
  const runs = undervoltRuns.map((run, index): UndervoltRunTruth => {
    const log = logs[index];
    const { processor } = run.parameters;
    const lostFraction = 1 - processor.throughputPerSPerMHz / stageProcessor.throughputPerSPerMHz;
    const loadEndS = run.parameters.phases[0].durationS + run.parameters.phases[1].durationS;
    const atEnd = (values: Float64Array): number =>
      mean(values.filter((_, row) => log.timeS[row] > loadEndS - 120 && log.timeS[row] < loadEndS));
    const reportedFrequencyMHz = atEnd(log.truth.frequencyMHz);
    return {
      file: `${run.name}.csv`,
      seed: run.seed,
      powerCapW: run.powerCapW,
      voltageOffsetMv: run.conditions.voltageOffsetMv ?? 0,
      lostFraction,
      dieTemperatureC: atEnd(log.truth.dieTemperatureC),
      reportedFrequencyMHz,
      effectiveFrequencyMHz: (1 - lostFraction) * reportedFrequencyMHz,
      coreVoltageV: voltageV(processor, reportedFrequencyMHz),
    };
  });
  const byOffset = new Map(runs.map((run) => [run.voltageOffsetMv, run.lostFraction]));
  return {
    about: 'Invented. Written by generate.ts; the frequencies at the offsets are computed without noise.',
    askedAt,
    offsets: [...byOffset].map(([voltageOffsetMv, lostFraction]) => {
      const processor = undervolted(stageProcessor, { offsetMv: voltageOffsetMv, lostFraction });
      const reportedFrequencyMHz = frequencyAtPowerMHz(processor, askedAt);
      return {
        voltageOffsetMv,
        reportedFrequencyMHz,
        effectiveFrequencyMHz: (1 - lostFraction) * reportedFrequencyMHz,
        throughputPerS: processor.throughputPerSPerMHz * reportedFrequencyMHz,
      };
    }),
    runs,
  };
}

function mean(values: Float64Array): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
