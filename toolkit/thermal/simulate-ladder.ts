import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../errors.js';
import type { PowerSample } from '../runs/run.js';
import type { LadderRung } from './cooler-model.js';
import { modesOfLadder } from './ladder.js';

/** What drives a ladder, and where. */
export interface LadderSimulation {
  /** Sample times, s, increasing; length m. */
  readonly timeS: ArrayLike<number>;
  /** Heat flow rate into the ladder, W; length m. */
  readonly powerW: ArrayLike<number>;
  /** Air temperature at the ladder's end, degrees Celsius. */
  readonly ambientC: number;
  /** Share of the power that enters at each node; default: all of it at the die. */
  readonly powerShares?: readonly number[];
  /** Temperatures of the nodes at the first sample, degrees Celsius; default: all at ambient. */
  readonly startC?: readonly number[];
  /** Default `interval-mean`. */
  readonly powerSample?: PowerSample;
}

const SIMULATION_NAMES: KnownNames<LadderSimulation> = {
  timeS: true,
  powerW: true,
  ambientC: true,
  powerShares: true,
  startC: true,
  powerSample: true,
};

/**
 * Temperatures of all nodes of a ladder over time.
 *
 * Solves Cᵢ dTᵢ/dt = (Tᵢ₋₁ − Tᵢ)/Rᵢ₋₁ − (Tᵢ − Tᵢ₊₁)/Rᵢ + shareᵢ P exactly for power that is constant between
 * samples, by modes: each mode decays at its own rate 1/τ. Assumes constant properties and one-dimensional heat
 * flow [Bergman2011, ch. 5].
 *
 * @param ladder - n rungs from the die outward
 * @param simulation - times, power, air; see `LadderSimulation`
 * @returns n arrays of length m, degrees Celsius, die first
 * @throws ArgumentError if lengths differ, times do not increase, a value is not finite or a rung is not positive
 * @example
 * const [die] = simulateLadder([{ heatCapacityJPerK: 120, resistanceKPerW: 0.5 }], {
 *   timeS: [0, 60], powerW: [40, 40], ambientC: 25,
 * });
 * die[1]; // => 37.6424 within 1e-4
 */
export function simulateLadder(ladder: readonly LadderRung[], simulation: LadderSimulation): Float64Array[] {
  const caller = 'simulateLadder';
  if (!Array.isArray(ladder))
    throw new ArgumentError({ caller, argument: 'ladder', expected: 'an array of rungs', received: ladder });
  requireKnownNames(simulation, SIMULATION_NAMES, { caller, argument: 'simulation' });
  const { timeS, powerW, ambientC, powerSample = 'interval-mean' } = simulation;
  for (const [name, list] of Object.entries({ timeS, powerW }))
    if (typeof list !== 'object' || list === null)
      throw new ArgumentError({
        caller,
        argument: `simulation.${name}`,
        expected: 'an array of numbers',
        received: list,
      });
  const nodeCount = ladder.length;
  const sampleCount = timeS.length;
  const { rates, modes } = modesOfLadder(ladder, caller);
  const powerShares = simulation.powerShares ?? ladder.map((_, node) => (node === 0 ? 1 : 0));
  const startC = simulation.startC ?? ladder.map(() => ambientC);
  const lengths: [string, number, number][] = [
    ['simulation.powerW', powerW.length, sampleCount],
    ['simulation.powerShares', powerShares.length, nodeCount],
    ['simulation.startC', startC.length, nodeCount],
  ];
  for (const [argument, length, wanted] of lengths) {
    if (length === wanted) continue;
    throw new ArgumentError({ caller, argument, expected: `${wanted} long`, received: length });
  }

  requireNumber(ambientC, { caller, argument: 'simulation.ambientC' }, { above: -273.15 });
  for (let i = 0; i < sampleCount; i++) {
    if (!Number.isFinite(powerW[i]))
      requireNumber(powerW[i], { caller, argument: `simulation.powerW[${i}]` });
    if (i === 0 || timeS[i] > timeS[i - 1]) continue;
    requireNumber(
      timeS[i] - timeS[i - 1],
      { caller, argument: `simulation.timeS[${i}] − timeS[${i - 1}]` },
      { above: 0 },
    );
  }

  const root = ladder.map((rung) => Math.sqrt(rung.heatCapacityJPerK));
  const drive = modes.map((mode) =>
    mode.reduce((sum, v, node) => sum + (v * powerShares[node]) / root[node], 0),
  );
  const state = modes.map((mode) =>
    mode.reduce((sum, v, node) => sum + v * root[node] * (startC[node] - ambientC), 0),
  );
  const temperaturesC = ladder.map(() => new Float64Array(sampleCount));
  for (let i = 0; i < sampleCount; i++) {
    if (i > 0) {
      const stepS = timeS[i] - timeS[i - 1];
      const power = powerSample === 'interval-mean' ? powerW[i] : powerW[i - 1];
      for (let k = 0; k < nodeCount; k++) {
        const kept = Math.exp(-rates[k] * stepS);
        state[k] = kept * state[k] + (-Math.expm1(-rates[k] * stepS) / rates[k]) * drive[k] * power;
      }
    }
    for (let node = 0; node < nodeCount; node++) {
      let riseK = 0;
      for (let k = 0; k < nodeCount; k++) riseK += modes[k][node] * state[k];
      temperaturesC[node][i] = ambientC + riseK / root[node];
    }
  }
  return temperaturesC;
}
