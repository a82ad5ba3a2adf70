import { randomStream } from './random.js';
import type { RigParameters } from './rig.js';
import { benchLogger, governor, stageProcessor } from './scenario.js';

/** What can be chosen of a random rig; the rest is drawn. */
export interface RandomRigOptions {
  readonly kind: 'air' | 'liquid';
  readonly powerCapW: number;
  /** Logged idle time before the load, s. Default 60. */
  readonly leadInS?: number;
  /** Default 1500. */
  readonly loadS?: number;
}

/**
 * Draws a rig of the same physics as the demo's, on the open bench, from wide but plausible ranges: contacts and
 * resistances, heat capacities, convection, board, leakage, room, sensors. The rig depends on its seed and kind
 * alone, so one seed at several caps is one rig; simulate each run with a seed of its own.
 */
export function randomRig(options: RandomRigOptions, seed: number): RigParameters {
  const random = randomStream(seed, options.kind);
  const between = (low: number, high: number): number => low + (high - low) * random.uniform();
  /** Even on a logarithmic scale, for quantities known to a factor. */
  const withinFactor = (low: number, high: number): number => low * (high / low) ** random.uniform();
  const node = (
    name: string,
    capacity: readonly [number, number],
    resistance: readonly [number, number],
  ): RigParameters['network']['nodes'][number] => ({
    name,
    heatCapacityJPerK: withinFactor(...capacity),
    resistanceKPerW: withinFactor(...resistance),
  });
  const inner = [node('die', [1.2, 3], [0.05, 0.1]), node('spreader', [8, 22], [0.05, 0.13])];
  const outer =
    options.kind === 'air'
      ? [
          node('base', [70, 190], [0.035, 0.09]),
          node('heat pipes', [30, 140], [0.035, 0.09]),
          node('fins', [140, 520], [0.17, 0.48]),
        ]
      : [
          node('cold plate', [60, 150], [0.025, 0.06]),
          node('coolant', [1100, 2800], [0.015, 0.04]),
          node('radiator', [250, 600], [0.09, 0.2]),
        ];
  const { powerCapW, leadInS = 60, loadS = 1500 } = options;
  const phase = { powerCapW, logged: true };
  return {
    network: {
      nodes: [...inner, ...outer],
      convection: { exponent: between(0.03, 0.2), referenceDifferenceK: 30 },
      board: {
        fromDieKPerW: between(18, 40),
        heatCapacityJPerK: between(100, 260),
        toAirKPerW: between(4, 9),
      },
    },
    processor: {
      ...stageProcessor,
      leakageWPerV: between(3.5, 9),
      leakageScaleK: between(32, 48),
      switchingWPerGHzV2: between(16, 20),
    },
    governor,
    room: {
      meanC: between(19, 27),
      wanderingK: between(0.1, 0.35),
      wanderingTimeS: between(600, 1800),
      swayK: between(0, 0.2),
      swayPeriodS: between(250, 700),
      changes: [],
    },
    fluctuation: { standardDeviation: between(0.008, 0.03), correlationTimeS: between(3, 15) },
    fanSpeedRpm: Math.round(between(90, 300)) * 10,
    phases: [
      { ...phase, durationS: leadInS, work: 'idle' },
      { ...phase, durationS: loadS, work: 'load' },
    ],
    logger: {
      ...benchLogger,
      temperature: {
        lagS: between(0.2, 1.2),
        noise: between(0.1, 0.4),
        quantum: [0.125, 0.25, 0.5, 1][Math.floor(between(0, 4))],
      },
      air: { ...benchLogger.air, lagS: between(10, 90) },
    },
  };
}
