import type { Conditions } from '../../toolkit/runs/run.js';
import type { Logger } from './logger.js';
import { undervolted } from './processor.js';
import type { Phase, RigParameters } from './rig.js';
import type { RoomAir } from './room-air.js';
import {
  atFanSpeed,
  benchLogger,
  coarseLogger,
  coolers,
  cueRendering,
  type DemoCooler,
  defaultCapW,
  drawer,
  drawerName,
  governor,
  type Mount,
  processorName,
  stageProcessor,
} from './scenario.js';
import type { Dialect } from './writer.js';

/** One run of the demo: what was set up, how it was written down, and what is known about it. */
export interface DemoRun {
  /** File name without ending. */
  readonly name: string;
  readonly seed: number;
  readonly cooler: DemoCooler;
  readonly mount: Mount;
  readonly powerCapW: number;
  readonly parameters: RigParameters;
  readonly dialect: Dialect;
  readonly conditions: Conditions;
}

const commaDialect: Dialect = {
  delimiter: ',',
  decimalMark: '.',
  time: 'seconds',
  temperatureUnit: 'C',
  byteOrderMark: false,
  lineEnd: '\n',
  columns: {
    timeS: { header: 'time_s', decimals: 2 },
    temperatureC: { header: 'package_temperature_c', decimals: 3 },
    powerW: { header: 'package_power_w', decimals: 2 },
    frequencyMHz: { header: 'core_frequency_mhz', decimals: 0 },
    throughputPerS: { header: 'cues_per_s', decimals: 2 },
    ambientC: { header: 'room_air_c', decimals: 1 },
    fanSpeedRpm: { header: 'fan_speed_rpm', decimals: 0 },
  },
};

const fahrenheitDialect: Dialect = {
  ...commaDialect,
  temperatureUnit: 'F',
  columns: {
    ...commaDialect.columns,
    temperatureC: { header: 'package_temperature_f', decimals: 1 },
    ambientC: { header: 'room_air_f', decimals: 1 },
  },
};

const withoutAir: Dialect = {
  ...commaDialect,
  columns: Object.fromEntries(Object.entries(commaDialect.columns).filter(([name]) => name !== 'ambientC')),
};

const intakeAir: Dialect = {
  ...commaDialect,
  columns: { ...commaDialect.columns, ambientC: { header: 'intake_air_c', decimals: 1 } },
};

/** As a spreadsheet saves it where the comma marks decimals. */
const semicolonDialect: Dialect = {
  delimiter: ';',
  decimalMark: ',',
  time: 'seconds',
  temperatureUnit: 'C',
  byteOrderMark: true,
  lineEnd: '\r\n',
  columns: {
    timeS: { header: 'Time (s)', decimals: 2 },
    temperatureC: { header: 'Package temperature (°C)', decimals: 2 },
    powerW: { header: 'Package power (W)', decimals: 1 },
    frequencyMHz: { header: 'Core frequency (MHz)', decimals: 0 },
    throughputPerS: { header: 'Cues rendered (1/s)', decimals: 2 },
    ambientC: { header: 'Room air (°C)', decimals: 1 },
    fanSpeedRpm: { header: 'Fan speed (rpm)', decimals: 0 },
  },
};

const tabDialect: Dialect = {
  delimiter: '\t',
  decimalMark: '.',
  time: 'clock',
  temperatureUnit: 'C',
  byteOrderMark: false,
  lineEnd: '\n',
  columns: {
    timeS: { header: 'time h:mm:ss', decimals: 0 },
    temperatureC: { header: 'package temperature C', decimals: 2 },
    powerW: { header: 'package power W', decimals: 1 },
    frequencyMHz: { header: 'core frequency MHz', decimals: 0 },
    throughputPerS: { header: 'cues per s', decimals: 2 },
    ambientC: { header: 'room air C', decimals: 1 },
    fanSpeedRpm: { header: 'fan speed rpm', decimals: 0 },
  },
};

interface RunPlan {
  readonly name: string;
  readonly seed: number;
  readonly cooler: string;
  readonly mount?: Mount;
  readonly powerCapW: number;
  readonly roomAirC: number;
  /** Logged idle time before the load, s; at least the moment between starting the log and the load. */
  readonly leadInS?: number;
  readonly loadS?: number;
  readonly coolDownS?: number;
  readonly changes?: RoomAir['changes'];
  readonly inDrawer?: boolean;
  readonly logger?: Logger;
  readonly dialect?: Dialect;
  readonly ambientNotedC?: number;
  /** Fan speed set by hand. Default: the cooler's own. */
  readonly fanSpeedRpm?: number;
  /** Voltage set by hand, and what it costs behind the reported frequency. */
  readonly undervolt?: { readonly offsetMv: number; readonly lostFraction: number };
}

const plans: readonly RunPlan[] = [
  { name: 'flat-41-at-118w', seed: 4111, cooler: 'flat 41 mm', powerCapW: 118, roomAirC: 23.2, leadInS: 60 },
  {
    name: 'flat-41-at-95w',
    seed: 4112,
    cooler: 'flat 41 mm',
    powerCapW: 95,
    roomAirC: 22.6,
    logger: { ...benchLogger, temperature: { lagS: 0.6, noise: 0.22, quantum: 0.5 / 1.8 } },
    dialect: fahrenheitDialect,
  },
  { name: 'flat-41-at-72w', seed: 4113, cooler: 'flat 41 mm', powerCapW: 72, roomAirC: 22.1, loadS: 600 },
  {
    name: 'flat-58-at-118w',
    seed: 5811,
    cooler: 'flat 58 mm',
    powerCapW: 118,
    roomAirC: 22.9,
    dialect: withoutAir,
    ambientNotedC: 23,
  },
  { name: 'flat-58-at-95w', seed: 5812, cooler: 'flat 58 mm', powerCapW: 95, roomAirC: 23.4, leadInS: 60 },
  {
    name: 'flat-58-at-72w',
    seed: 5813,
    cooler: 'flat 58 mm',
    powerCapW: 72,
    roomAirC: 23.0,
    logger: {
      ...benchLogger,
      gaps: [
        { atS: 214, durationS: 7 },
        { atS: 702, durationS: 23 },
        { atS: 1188, durationS: 12 },
      ],
    },
  },
  {
    name: 'flat-58-at-95w-remounted',
    seed: 5814,
    cooler: 'flat 58 mm',
    mount: 'second',
    powerCapW: 95,
    roomAirC: 22.4,
  },
  {
    name: 'flat-58-at-95w-in-drawer',
    seed: 5815,
    cooler: 'flat 58 mm',
    powerCapW: 95,
    roomAirC: 23.6,
    leadInS: 60,
    inDrawer: true,
    logger: { ...benchLogger, air: { ...benchLogger.air, lagS: 8, place: 'intake' } },
    dialect: intakeAir,
  },
  {
    name: 'tower-88-at-118w',
    seed: 8811,
    cooler: 'tower 88 mm',
    powerCapW: 118,
    roomAirC: 22.3,
    leadInS: 60,
    coolDownS: 180,
  },
  {
    name: 'tower-88-at-95w',
    seed: 8812,
    cooler: 'tower 88 mm',
    powerCapW: 95,
    roomAirC: 23.7,
    logger: coarseLogger,
    dialect: semicolonDialect,
  },
  {
    name: 'tower-88-at-72w',
    seed: 8813,
    cooler: 'tower 88 mm',
    powerCapW: 72,
    roomAirC: 23.9,
    changes: [{ atS: 1275, changeK: -4.2, timeConstantS: 90 }],
  },
  {
    name: 'loop-140-at-118w',
    seed: 14011,
    cooler: 'loop with 140 mm radiator',
    powerCapW: 118,
    roomAirC: 22.8,
    leadInS: 60,
    logger: { ...benchLogger, emptyCellCount: 11 },
  },
  {
    name: 'loop-140-at-95w',
    seed: 14012,
    cooler: 'loop with 140 mm radiator',
    powerCapW: 95,
    roomAirC: 23.1,
    loadS: 480,
  },
  {
    name: 'loop-140-at-72w',
    seed: 14013,
    cooler: 'loop with 140 mm radiator',
    powerCapW: 72,
    roomAirC: 21.9,
    logger: { ...coarseLogger, jitterS: 0.02, lateShare: 0 },
    dialect: tabDialect,
  },
];

const voltageLogger: Logger = { ...benchLogger, voltage: { noiseV: 0.002, quantumV: 0.005 } };

const voltageDialect: Dialect = {
  ...commaDialect,
  columns: { ...commaDialect.columns, voltageV: { header: 'core_voltage_v', decimals: 3 } },
};

/** Before and after the voltage was lowered, on one cooler in one mounting. */
const undervoltPlans: readonly RunPlan[] = [
  { name: 'as-delivered-at-118w', seed: 9011, powerCapW: 118, roomAirC: 22.7 },
  { name: 'as-delivered-at-84w', seed: 9012, powerCapW: 84, roomAirC: 23.0 },
  {
    name: 'lowered-by-40mv-at-118w',
    seed: 9013,
    powerCapW: 118,
    roomAirC: 22.9,
    undervolt: { offsetMv: -40, lostFraction: 0 },
  },
  {
    name: 'lowered-by-90mv-at-118w',
    seed: 9014,
    powerCapW: 118,
    roomAirC: 23.2,
    undervolt: { offsetMv: -90, lostFraction: 0.08 },
  },
].map((plan) => ({
  ...plan,
  cooler: 'tower 88 mm',
  loadS: 900,
  logger: voltageLogger,
  dialect: voltageDialect,
}));

/** One cooler in one mounting at several fan speeds. */
const fanSpeedPlans: readonly RunPlan[] = [
  { name: 'tower-88-at-1900rpm', seed: 9111, fanSpeedRpm: 1900, roomAirC: 22.9 },
  { name: 'tower-88-at-1350rpm', seed: 9112, fanSpeedRpm: 1350, roomAirC: 23.3 },
  { name: 'tower-88-at-900rpm', seed: 9113, fanSpeedRpm: 900, roomAirC: 23.1 },
].map((plan) => ({ ...plan, cooler: 'tower 88 mm', powerCapW: 95, loadS: 900 }));

/** The runs of the demo, in order of cooler. */
export const demoRuns: readonly DemoRun[] = plans.map(demoRun);

/** Runs in a folder of their own, with the core voltage logged. */
export const undervoltRuns: readonly DemoRun[] = undervoltPlans.map(demoRun);

/** Runs in a folder of their own, at fan speeds set by hand. */
export const fanSpeedRuns: readonly DemoRun[] = fanSpeedPlans.map(demoRun);

function demoRun(plan: RunPlan): DemoRun {
  const { name, seed, powerCapW, mount = 'first', leadInS = 3, loadS = 1500 } = plan;
  const cooler = coolers.find((candidate) => candidate.name === plan.cooler)!;
  const phase = (durationS: number, work: Phase['work']): Phase => ({
    durationS,
    work,
    powerCapW,
    logged: true,
  });
  const { fanSpeedRpm = cooler.fanSpeedRpm } = plan;
  const network = atFanSpeed(cooler.network(cooler.contactKPerW[mount]!), fanSpeedRpm / cooler.fanSpeedRpm);
  return {
    name,
    seed,
    cooler,
    mount,
    powerCapW,
    parameters: {
      network: plan.inDrawer === true ? { ...network, enclosure: drawer } : network,
      processor: plan.undervolt === undefined ? stageProcessor : undervolted(stageProcessor, plan.undervolt),
      governor,
      room: {
        meanC: plan.roomAirC,
        wanderingK: 0.25,
        wanderingTimeS: 1100,
        swayK: 0.12,
        swayPeriodS: 410,
        changes: plan.changes ?? [],
      },
      fluctuation: cueRendering,
      fanSpeedRpm,
      phases: [
        phase(leadInS, 'idle'),
        phase(loadS, 'load'),
        ...(plan.coolDownS === undefined ? [] : [phase(plan.coolDownS, 'idle')]),
      ],
      logger: plan.logger ?? benchLogger,
    },
    dialect: plan.dialect ?? commaDialect,
    conditions: {
      cooler: cooler.name,
      processor: processorName,
      enclosure: plan.inDrawer === true ? drawerName : 'open bench',
      mount,
      fanSpeedRpm,
      powerCapW,
      defaultCapW,
      workload: 'cue rendering on all twelve cores',
      ...(plan.ambientNotedC === undefined ? {} : { ambientC: plan.ambientNotedC }),
      ...(plan.undervolt === undefined ? {} : { voltageOffsetMv: plan.undervolt.offsetMv }),
    },
  };
}
