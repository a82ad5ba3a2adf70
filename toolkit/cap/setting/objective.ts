import type { CapObjective } from '../scenario/cap-scenario.js';

/** Unit of each objective as it is printed. */
export const objectiveUnit: Readonly<Record<CapObjective, string>> = {
  frequency: 'MHz',
  throughput: '1/s',
  'jobs-per-hour': '1/h',
  'energy-per-job': 'J',
  'work-per-watt-hour': '1/Wh',
};

/** Each objective in words, for titles and sentences. */
export const objectiveInWords: Readonly<Record<CapObjective, string>> = {
  frequency: 'frequency',
  throughput: 'throughput',
  'jobs-per-hour': 'jobs per hour',
  'energy-per-job': 'energy per job',
  'work-per-watt-hour': 'work per watt-hour',
};

/** What a setting reaches; what no curve tells is absent. */
export interface Reached {
  /** Means over the loads by their shares of the time. */
  readonly frequencyMHz?: number;
  readonly throughputPerS?: number;
  readonly jobRatePerH?: number;
  readonly energyPerJobJ?: number;
  readonly workPerWh?: number;
}

/** The objective's value in its own unit; `undefined` where no curve tells it. */
export function objectiveValue(objective: CapObjective, state: Reached): number | undefined {
  switch (objective) {
    case 'frequency':
      return state.frequencyMHz;
    case 'throughput':
      return state.throughputPerS;
    case 'jobs-per-hour':
      return state.jobRatePerH;
    case 'energy-per-job':
      return state.energyPerJobJ;
    case 'work-per-watt-hour':
      return state.workPerWh;
  }
}

export const jobRatePerH = (throughputPerS: number, workPerJobCount: number): number =>
  (3600 * throughputPerS) / workPerJobCount;

export const energyPerJobJ = (
  throughputPerS: number,
  workPerJobCount: number,
  supplyPowerW: number,
): number => (supplyPowerW * workPerJobCount) / throughputPerS;

export const workPerWh = (throughputPerS: number, supplyPowerW: number): number =>
  (3600 * throughputPerS) / supplyPowerW;

/** The objective so that more is better: the reciprocal of an energy per job. */
export function scoreOf(
  objective: CapObjective,
  reached: { readonly frequencyMHz: number; readonly throughputPerS: number },
  supplyPowerW: number,
  workPerJobCount: number = Number.NaN,
): number {
  const { frequencyMHz, throughputPerS } = reached;
  switch (objective) {
    case 'frequency':
      return frequencyMHz;
    case 'throughput':
      return throughputPerS;
    case 'jobs-per-hour':
      return jobRatePerH(throughputPerS, workPerJobCount);
    case 'energy-per-job':
      return 1 / energyPerJobJ(throughputPerS, workPerJobCount, supplyPowerW);
    case 'work-per-watt-hour':
      return workPerWh(throughputPerS, supplyPowerW);
  }
}

/** Whether more power always means a better objective: then the highest cap allowed is the answer. */
export function growsWithPower(objective: CapObjective): boolean {
  return objective === 'frequency' || objective === 'throughput' || objective === 'jobs-per-hour';
}
