import type { GovernorSettings } from './governor.js';
import type { Logger } from './logger.js';
import type { Processor } from './processor.js';
import type { WorkloadFluctuation } from './rig.js';
import type { Enclosure, ThermalNetwork } from './thermal-network.js';

/** The show-control computer of a travelling puppet theatre. All of it is invented. */
export const processorName = 'stage processor, twelve cores';

/** The maker's default power cap. */
export const defaultCapW = 118;

export const stageProcessor: Processor = {
  baseW: 12.5,
  leakageWPerV: 6.4,
  leakageReferenceC: 60,
  leakageScaleK: 39,
  switchingWPerGHzV2: 18.3,
  voltage: { floorV: 0.8, floorMHz: 2200, slopeVPerGHz: 0.07, curvatureVPerGHz2: 0.038 },
  idleMHz: 1400,
  idleActivity: 0.06,
  highestMHz: 4650,
  stepMHz: 25,
  limitC: 95,
  throughputPerSPerMHz: 0.00163,
};

export const governor: GovernorSettings = {
  reactionTimeS: 0.2,
  averagingTimeS: 0.3,
  wattsPerStep: 2,
  kelvinPerStep: 1,
  mostStepsAtOnce: 6,
};

/** Rendering cues is even work: the cores are never more than a few per cent from full. */
export const cueRendering: WorkloadFluctuation = { standardDeviation: 0.018, correlationTimeS: 7 };

/** Name of a mounting: the same cooler put on again is another mounting. */
export type Mount = 'first' | 'second';

/** A cooler of the workshop. */
export interface DemoCooler {
  readonly name: string;
  readonly fanSpeedRpm: number;
  /** Contact between spreader and base, per mounting. */
  readonly contactKPerW: Readonly<Partial<Record<Mount, number>>>;
  readonly network: (contactKPerW: number) => ThermalNetwork;
}

const die = { name: 'die', heatCapacityJPerK: 1.9, resistanceKPerW: 0.073 };
const board = { fromDieKPerW: 24, heatCapacityJPerK: 170, toAirKPerW: 6 };
const spreader = (contactKPerW: number) => ({
  name: 'spreader',
  heatCapacityJPerK: 14,
  resistanceKPerW: contactKPerW,
});

export const coolers: readonly DemoCooler[] = [
  {
    name: 'flat 41 mm',
    fanSpeedRpm: 2750,
    contactKPerW: { first: 0.094 },
    network: (contactKPerW) => ({
      nodes: [
        die,
        spreader(contactKPerW),
        { name: 'base', heatCapacityJPerK: 138, resistanceKPerW: 0.071 },
        { name: 'heat pipes', heatCapacityJPerK: 44, resistanceKPerW: 0.062 },
        { name: 'fins', heatCapacityJPerK: 134, resistanceKPerW: 0.418 },
      ],
      convection: { exponent: 0.07, referenceDifferenceK: 30 },
      board,
    }),
  },
  {
    name: 'flat 58 mm',
    fanSpeedRpm: 2400,
    contactKPerW: { first: 0.083, second: 0.107 },
    network: (contactKPerW) => ({
      nodes: [
        die,
        spreader(contactKPerW),
        { name: 'base', heatCapacityJPerK: 161, resistanceKPerW: 0.057 },
        { name: 'heat pipes', heatCapacityJPerK: 66, resistanceKPerW: 0.048 },
        { name: 'fins', heatCapacityJPerK: 247, resistanceKPerW: 0.305 },
      ],
      convection: { exponent: 0.1, referenceDifferenceK: 30 },
      board,
    }),
  },
  {
    name: 'tower 88 mm',
    fanSpeedRpm: 1900,
    contactKPerW: { first: 0.079 },
    network: (contactKPerW) => ({
      nodes: [
        die,
        spreader(contactKPerW),
        { name: 'base', heatCapacityJPerK: 183, resistanceKPerW: 0.05 },
        { name: 'heat pipes', heatCapacityJPerK: 112, resistanceKPerW: 0.052 },
        { name: 'fins', heatCapacityJPerK: 448, resistanceKPerW: 0.196 },
      ],
      convection: { exponent: 0.14, referenceDifferenceK: 30 },
      board,
    }),
  },
  {
    name: 'loop with 140 mm radiator',
    fanSpeedRpm: 1500,
    contactKPerW: { first: 0.071 },
    network: (contactKPerW) => ({
      nodes: [
        die,
        spreader(contactKPerW),
        { name: 'cold plate', heatCapacityJPerK: 92, resistanceKPerW: 0.037 },
        { name: 'coolant', heatCapacityJPerK: 2280, resistanceKPerW: 0.024 },
        { name: 'radiator', heatCapacityJPerK: 430, resistanceKPerW: 0.131 },
      ],
      convection: { exponent: 0.05, referenceDifferenceK: 30 },
      board,
    }),
  },
];

/** How the last resistance follows the fan: a part stays, the rest goes with speed^−exponent; sound at one speed. */
export const fanResponse = { stayingFraction: 0.3, exponent: 0.62, soundLevelDb: 33, atFanSpeedRpm: 1900 };

/** A cooler at another fan speed, as a ratio to its own. */
export function atFanSpeed(network: ThermalNetwork, speedRatio: number): ThermalNetwork {
  if (speedRatio === 1) return network;
  const last = network.nodes.length - 1;
  const { stayingFraction, exponent } = fanResponse;
  const factor = stayingFraction + (1 - stayingFraction) * speedRatio ** -exponent;
  return {
    ...network,
    nodes: network.nodes.map((node, i) =>
      i === last ? { ...node, resistanceKPerW: node.resistanceKPerW * factor } : node,
    ),
  };
}

export const drawerName = 'plywood drawer, seven litres, under the stage';

/** The closed drawer: air drawn through two slots, walls of plywood. */
export const drawer: Enclosure = {
  airHeatCapacityJPerK: 55,
  ventKPerW: 0.1,
  airToWallKPerW: 0.55,
  wallHeatCapacityJPerK: 1300,
  wallToRoomKPerW: 0.5,
  otherHeatW: 11,
};

/** The logger most runs were written with. */
export const benchLogger: Logger = {
  periodS: 1,
  jitterS: 0.02,
  lateShare: 0.01,
  latestS: 0.35,
  timeQuantumS: 0.01,
  temperature: { lagS: 0.6, noise: 0.22, quantum: 0.125 },
  power: { noiseW: 0.05, quantumW: 0.01 },
  frequency: { reading: 'interval-mean', quantumMHz: 1 },
  throughput: { noiseShare: 0.012, quantumPerS: 0.01 },
  air: { place: 'room', lagS: 45, noise: 0.04, quantum: 0.1 },
  fan: { noiseRpm: 4, quantumRpm: 10 },
  gaps: [],
  emptyCellCount: 0,
};

/** A second, coarser logger: instants of the frequency, rounder numbers, an uneven clock. */
export const coarseLogger: Logger = {
  ...benchLogger,
  jitterS: 0.05,
  lateShare: 0.03,
  temperature: { lagS: 0.6, noise: 0.22, quantum: 0.25 },
  power: { noiseW: 0.05, quantumW: 0.1 },
  frequency: { reading: 'instant', quantumMHz: 25 },
};
