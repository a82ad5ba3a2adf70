import { beforeAll, describe, expect, it } from 'vitest';
import { requireValue } from '../../../toolkit/numerics/estimates.js';
import { timeToLimit } from '../../../toolkit/thermal/burst/time-to-limit.js';
import { coolerAtFanSpeed } from '../../../toolkit/thermal/cooler-at-fan-speed.js';
import type { CoolerModel } from '../../../toolkit/thermal/cooler-model.js';
import { fitCooler } from '../../../toolkit/thermal/fit/fit-cooler.js';
import { simulateTemperature } from '../../../toolkit/thermal/simulate.js';
import { steadyTemperature } from '../../../toolkit/thermal/steady-temperature.js';
import { fannedRun, totalKPerW } from './fanned-ladder.js';

let model: CoolerModel;
beforeAll(() => {
  model = fitCooler(
    [700, 1200, 2000].map((speedRpm, i) =>
      fannedRun({ seed: 71 + i, powerW: 90, fanSpeedRpm: () => speedRpm }),
    ),
    { powerExponent: 0 },
  );
});

describe('a cooler at one fan speed', () => {
  it.each([700, 1500, 2000])('at %d rpm moves as the simulation with that speed does', (speedRpm) => {
    const timeS = Array.from({ length: 900 }, (_, i) => i);
    const drive = { timeS, powerW: 80, ambientC: 22 };
    const direct = simulateTemperature(model, { ...drive, fanSpeedRpm: speedRpm });
    const restated = simulateTemperature(coolerAtFanSpeed(model, speedRpm), drive);
    const largest = Math.max(...direct.map((value, i) => Math.abs(value - restated[i])));
    expect(largest).toBeLessThan(1e-6);
  });

  it('has the resistance of the ladder it was logged on, within its interval, also between the speeds', () => {
    const { thermalResistanceKPerW } = coolerAtFanSpeed(model, 1500);
    if (thermalResistanceKPerW.kind !== 'estimated') throw new Error('not estimated');
    expect(totalKPerW(1500)).toBeGreaterThan(thermalResistanceKPerW.interval95[0]);
    expect(totalKPerW(1500)).toBeLessThan(thermalResistanceKPerW.interval95[1]);
    const scenario = { powerW: 85, ambientC: 24 };
    expect(requireValue(steadyTemperature(coolerAtFanSpeed(model, 1500), scenario))).toBeCloseTo(
      requireValue(steadyTemperature(model, { ...scenario, fanSpeedRpm: 1500 })),
      6,
    );
  });

  it('is marked where no such speed was logged', () => {
    expect(coolerAtFanSpeed(model, 1500).thermalResistanceKPerW).toMatchObject({ extrapolated: false });
    expect(coolerAtFanSpeed(model, 400).thermalResistanceKPerW).toMatchObject({ extrapolated: true });
  });

  it('reaches a limit sooner the slower the fan turns', () => {
    const until = (speedRpm: number): number => {
      const answer = timeToLimit(coolerAtFanSpeed(model, speedRpm), {
        powerW: 120,
        limitC: 65,
        ambientC: 24,
      });
      return answer.kind === 'reached' ? requireValue(answer.timeS) : Number.POSITIVE_INFINITY;
    };
    expect(until(700)).toBeLessThan(until(1200));
    expect(until(1200)).toBeLessThan(until(2000));
  });

  it('refuses a speed that is none', () => {
    expect(() => coolerAtFanSpeed(model, 0)).toThrow(/`fanSpeedRpm` must be .*above 0/);
  });
});
