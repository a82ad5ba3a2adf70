import { describe, expect, it } from 'vitest';
import { linearStages } from '../../../datasets-demo/generator/linear-stages.js';
import { frequencyAtPowerMHz, packagePowerW } from '../../../datasets-demo/generator/processor.js';
import { randomRig } from '../../../datasets-demo/generator/random-rig.js';
import { type RigParameters, simulateRig } from '../../../datasets-demo/generator/rig.js';
import { benchLogger, coolers, drawer, stageProcessor } from '../../../datasets-demo/generator/scenario.js';
import { powerAtLimitW, steadyTruth } from '../../../datasets-demo/generator/steady-truth.js';
import {
  startNetwork,
  steadyTemperatures,
  type ThermalNetwork,
} from '../../../datasets-demo/generator/thermal-network.js';

/** Two lumps, constant convection and a board that takes nothing: the ladder of the textbook. */
const twoLumps: ThermalNetwork = {
  nodes: [
    { name: 'die', heatCapacityJPerK: 10, resistanceKPerW: 0.2 },
    { name: 'fins', heatCapacityJPerK: 200, resistanceKPerW: 0.4 },
  ],
  convection: { exponent: 0, referenceDifferenceK: 30 },
  board: { fromDieKPerW: 1e12, heatCapacityJPerK: 100, toAirKPerW: 1 },
};

/** Constant air, no noise, no rounding, even work. */
function quiet(rig: RigParameters): RigParameters {
  return {
    ...rig,
    room: { ...rig.room, wanderingK: 0, swayK: 0 },
    fluctuation: { ...rig.fluctuation, standardDeviation: 0 },
    logger: {
      ...benchLogger,
      jitterS: 0,
      lateShare: 0,
      temperature: { lagS: 0, noise: 0, quantum: 0 },
      power: { noiseW: 0, quantumW: 0 },
      frequency: { reading: 'interval-mean', quantumMHz: 0 },
      throughput: { noiseShare: 0, quantumPerS: 0 },
      air: { ...benchLogger.air, lagS: 0, noise: 0, quantum: 0 },
    },
  };
}

const meanOfLast = (values: Float64Array, count: number): number =>
  values.slice(-count).reduce((sum, value) => sum + value, 0) / count;

describe('the thermal network', () => {
  it('follows the exact step response of a two-rung ladder', () => {
    // Driving-point impedance of the ladder C1, R1, C2, R2 in partial fractions: Z(s) = Σ r / (1 + s τ).
    const [c1, r1, c2, r2] = [10, 0.2, 200, 0.4];
    const sum = r1 * c1 + r2 * c1 + r2 * c2;
    const product = r1 * c1 * r2 * c2;
    const spread = Math.sqrt(sum * sum - 4 * product);
    const poles = [(sum - spread) / 2, (sum + spread) / 2];
    const response = (timeS: number): number =>
      poles.reduce((total, tau, index) => {
        const other = poles[1 - index];
        const residue = (r1 + r2 - (r1 * r2 * c2) / tau) / (1 - other / tau);
        return total + residue * (1 - Math.exp(-timeS / tau));
      }, 0);

    const state = startNetwork(twoLumps, new Float64Array(3).fill(20));
    for (let step = 1; step <= 6000; step += 1) {
      state.advance(0.05, 50, 20);
      // Fourth order in steps of 1/25 of the fastest time constant.
      if ([1, 20, 200, 6000].includes(step)) {
        expect(state.temperatureC[0] - 20).toBeCloseTo(50 * response(step * 0.05), 5);
      }
    }
  });

  it('settles where R ∝ ΔT^−p says: ΔT = (P R ΔT_ref^p)^(1/(1+p))', () => {
    const network = { ...twoLumps, convection: { exponent: 0.15, referenceDifferenceK: 30 } };
    const finsK = (80 * 0.4 * 30 ** 0.15) ** (1 / 1.15);
    const temperatures = steadyTemperatures(network, 80, 23);
    expect(temperatures[1] - 23).toBeCloseTo(finsK, 8);
    expect(temperatures[0] - 23).toBeCloseTo(finsK + 80 * 0.2, 8);
  });

  it('has the stages of its own small step response, which sum to its slope', () => {
    const network = coolers[1].network(0.083);
    const stages = linearStages(network, 95);
    const sum = stages.reduce((total, stage) => total + stage.resistanceKPerW, 0);
    const dieK = (powerW: number): number => steadyTemperatures(network, powerW, 0)[0];
    expect(sum).toBeCloseTo((dieK(95.5) - dieK(94.5)) / 1, 6);

    const start = steadyTemperatures(network, 95, 23);
    const state = startNetwork(network, start);
    for (let step = 1; step <= 4000; step += 1) {
      state.advance(0.05, 95.5, 23);
      if (![2, 40, 400, 4000].includes(step)) continue;
      const response = stages.reduce(
        (total, { timeConstantS, resistanceKPerW }) =>
          total + resistanceKPerW * (1 - Math.exp((-step * 0.05) / timeConstantS)),
        0,
      );
      // Half a watt is small: the curvature of convection matters below a thousandth.
      expect((state.temperatureC[0] - start[0]) / 0.5 / response).toBeCloseTo(1, 3);
    }
  });

  it('stays at its steady state, drawer and board included', () => {
    const cooler = coolers[1];
    const network = { ...cooler.network(0.083), enclosure: drawer };
    const steady = steadyTemperatures(network, 95, 26);
    const state = startNetwork(network, steady);
    for (let step = 0; step < 20_000; step += 1) state.advance(0.05, 95, 26);
    for (const [index, temperatureC] of steady.entries()) {
      expect(state.temperatureC[index]).toBeCloseTo(temperatureC, 6);
    }
  });

  it('refuses what is no heat capacity and no resistance', () => {
    const rig = randomRig({ kind: 'air', powerCapW: 95 }, 1);
    const [die, ...others] = rig.network.nodes;
    const withDie = (change: object) => ({
      ...rig,
      network: { ...rig.network, nodes: [{ ...die, ...change }, ...others] },
    });
    expect(() => simulateRig(withDie({ heatCapacityJPerK: 0 }), 1)).toThrow(
      'simulateRig: `network.nodes[0].heatCapacityJPerK` must be a finite number above 0 (received 0)',
    );
    expect(() => simulateRig(withDie({ resistanceKPerW: Number.NaN }), 1)).toThrow(
      'simulateRig: `network.nodes[0].resistanceKPerW` must be a finite number above 0 (received NaN)',
    );
  });
});

describe('the processor', () => {
  it('leaks more when hot, by the factor e over its scale', () => {
    const at = (temperatureC: number): number =>
      packagePowerW(
        { ...stageProcessor, baseW: 0, switchingWPerGHzV2: 0 },
        { frequencyMHz: 3000, activity: 1, temperatureC },
      );
    expect(at(60 + stageProcessor.leakageScaleK) / at(60)).toBeCloseTo(Math.E, 10);
  });

  it('draws a power that grows with frequency to between the powers 2.5 and 3 near its top', () => {
    const switchingW = (frequencyMHz: number): number =>
      packagePowerW(
        { ...stageProcessor, baseW: 0, leakageWPerV: 0 },
        { frequencyMHz, activity: 1, temperatureC: 70 },
      );
    const exponent = Math.log(switchingW(4400) / switchingW(4000)) / Math.log(4400 / 4000);
    expect(exponent).toBeGreaterThan(2.5);
    expect(exponent).toBeLessThan(3);
  });

  it('runs at the frequency whose power was asked for', () => {
    const frequencyMHz = frequencyAtPowerMHz(stageProcessor, { powerW: 95, temperatureC: 70 });
    expect(packagePowerW(stageProcessor, { frequencyMHz, activity: 1, temperatureC: 70 })).toBeCloseTo(95, 9);
  });
});

describe('simulateRig', () => {
  const rig = randomRig({ kind: 'air', powerCapW: 88 }, 12);

  it('gives the same log for the same seed and another for another', () => {
    const log = simulateRig(rig, 5);
    expect(simulateRig(rig, 5)).toEqual(log);
    expect(simulateRig(rig, 6).temperatureC).not.toEqual(log.temperatureC);
  });

  it('has strictly increasing times and columns of one length', () => {
    const { truth, ...columns } = simulateRig(rig, 5);
    const { timeS } = columns;
    expect(timeS.every((time, row) => row === 0 || time > timeS[row - 1])).toBe(true);
    for (const column of [...Object.values(columns), ...Object.values(truth)]) {
      expect(column.length).toBe(timeS.length);
    }
  });

  it.each([
    ['air', 31],
    ['liquid', 32],
  ] as const)('comes to rest, without noise, at the steady truth (%s)', (kind, seed) => {
    const long = quiet(randomRig({ kind, powerCapW: 90, leadInS: 5, loadS: 6000 }, seed));
    const log = simulateRig(long, 1);
    const truth = steadyTruth(long, { powerCapW: 90, roomAirC: long.room.meanC });
    expect(truth.limitedBy).toBe('cap');
    // The governor dithers by one step of 25 MHz, some 1.5 W, and averages to the cap.
    expect(Math.abs(meanOfLast(log.powerW, 600) - truth.powerW)).toBeLessThan(0.2);
    expect(Math.abs(meanOfLast(log.temperatureC, 600) - truth.temperatureC)).toBeLessThan(0.15);
    expect(Math.abs(meanOfLast(log.frequencyMHz, 600) - truth.frequencyMHz)).toBeLessThan(5);
  });

  it("holds the processor's own limit where the cap would pass it", () => {
    const flat = coolers[0];
    const hot = quiet({ ...randomRig({ kind: 'air', powerCapW: 118 }, 3), processor: stageProcessor });
    const network = flat.network(flat.contactKPerW.first!);
    const log = simulateRig({ ...hot, network }, 1);
    const truth = steadyTruth({ ...hot, network }, { powerCapW: 118, roomAirC: hot.room.meanC });
    expect(truth.limitedBy).toBe('temperature');
    expect(truth.powerW).toBeCloseTo(powerAtLimitW(network, { limitC: 95, roomAirC: hot.room.meanC }), 6);
    expect(Math.abs(meanOfLast(log.temperatureC, 300) - 95)).toBeLessThan(0.2);
    expect(Math.abs(meanOfLast(log.powerW, 300) - truth.powerW)).toBeLessThan(0.5);
  });

  it('moves the frequency by whole steps only', () => {
    const { frequencyMHz } = simulateRig(rig, 5).truth;
    expect(frequencyMHz.every((value) => value % rig.processor.stepMHz === 0)).toBe(true);
    expect(new Set(frequencyMHz.slice(-600)).size).toBeGreaterThan(2);
  });

  it('keeps one rig over several caps and draws another for another seed', () => {
    const other = randomRig({ kind: 'air', powerCapW: 65 }, 12);
    expect(other.network).toEqual(rig.network);
    expect(randomRig({ kind: 'air', powerCapW: 65 }, 13).network).not.toEqual(rig.network);
  });

  it('starts the log where the phases say, not before', () => {
    const [idle, load] = rig.phases;
    const phases = [idle, { ...load, durationS: 30, logged: false }, { ...load, durationS: 100 }];
    const silentIdle = phases.map((phase, index) => (index === 0 ? { ...phase, logged: false } : phase));
    const log = simulateRig({ ...rig, phases: silentIdle }, 5);
    expect(log.timeS[0]).toBe(0);
    expect(log.timeS[log.timeS.length - 1]).toBeLessThan(101);
    expect(log.powerW[0]).toBeGreaterThan(80);
  });

  it('refuses a phase that lasts no time', () => {
    const phases = [{ ...rig.phases[0], durationS: 0 }];
    expect(() => simulateRig({ ...rig, phases }, 1)).toThrow(
      'simulateRig: `phases[0].durationS` must be a finite number above 0 (received 0)',
    );
  });
});
