import { describe, expect, test } from 'vitest';
import { limitRank, powersAtLimit } from '../../../../toolkit/cap/draws/limit-cap.js';
import type { CapScenario } from '../../../../toolkit/cap/scenario/cap-scenario.js';
import { mostLimitCap } from '../../../../toolkit/cap/setting/cap-bound.js';
import { prepareCap } from '../../../../toolkit/cap/setting/prepared-cap.js';
import { plainCooler } from '../plain-cooler.js';
import { plainFanCurve } from '../worked-curve.js';

const cooler = plainCooler(
  {
    powerExponent: 0.08,
    exponentStandardError: 0.02,
    resistanceStandardErrorKPerW: 0.015,
    degreesOfFreedom: 6,
    correlation: -0.4,
  },
  { fanSpeedRpm: 1500 },
);
const open: CapScenario = { limitC: 80, ambientC: { low: 20, high: 30 }, fan: { curve: plainFanCurve() } };
const scenarios: readonly (readonly [string, CapScenario])[] = [
  ['an open bench', open],
  ['a fixed rise', { ...open, enclosure: { riseK: { mean: 8, standardDeviation: 2 } } }],
  [
    'a rise that scales with power',
    { ...open, enclosure: { riseK: { mean: 8, standardDeviation: 2 }, atPowerW: 80 } },
  ],
];
const SPEEDS_RPM = [700, 1100, 1500, 1800, 2200];

describe.each(scenarios)('draws on %s, at five fan speeds', (_, scenario) => {
  const prepared = prepareCap(cooler, undefined, scenario, 'test');
  const { meanLimitC } = prepared;

  test('the largest cap is what sorting all of them gives', () => {
    for (const rpm of SPEEDS_RPM) {
      const { binding, limitCapW } = prepared.thermalAt(rpm);
      const sorted = powersAtLimit(binding, meanLimitC).toSorted();
      expect(limitCapW).toBe(sorted[limitRank(sorted.length, 0.95)]);
    }
  });

  test('each reaches the limit at its power, and none that passes it at a power is left out', () => {
    for (const rpm of SPEEDS_RPM) {
      const { binding, powersAtLimitW, limitCapW } = prepared.thermalAt(rpm);
      const { count } = binding;
      const temperaturesC = new Float64Array(count);
      const places = new Uint32Array(count);
      for (const share of [0.5, 0.95, 1.02, 1.3]) {
        const powerW = share * limitCapW;
        binding.temperaturesAt(powerW, temperaturesC);
        const found = new Set(places.subarray(0, binding.passingDraws(meanLimitC, powerW, places)));
        const passing: number[] = [];
        const contradicting: number[] = [];
        for (let i = 0; i < count; i++) {
          const excessK = temperaturesC[i] - meanLimitC;
          if (excessK > 0) passing.push(i);
          if (Math.abs(excessK) > 1e-6 && excessK > 0 !== powersAtLimitW[i] < powerW) contradicting.push(i);
        }
        expect(contradicting).toEqual([]);
        expect(passing.filter((i) => !found.has(i))).toEqual([]);
        // Few others, or the search would be for nothing.
        expect(found.size - passing.length).toBeLessThan(0.15 * count);
      }
    }
  });

  test('the mean is that of all, and what it is not below lies just under it', () => {
    for (const rpm of SPEEDS_RPM)
      for (const powerW of [20, 80, 300]) {
        const { binding } = prepared.thermalAt(rpm);
        const temperaturesC = new Float64Array(binding.count);
        binding.temperaturesAt(powerW, temperaturesC);
        const meanC = temperaturesC.reduce((sum, value) => sum + value, 0) / binding.count;
        expect(Math.abs(binding.meanTemperatureC(powerW) - meanC)).toBeLessThan(1e-7);
        expect(binding.leastMeanC(powerW)).toBeLessThanOrEqual(meanC + 1e-9);
        expect(binding.leastMeanC(powerW)).toBeGreaterThan(meanC - 0.004 * powerW);
      }
  });

  test('a slower fan allows no more than what is said of it beforehand', () => {
    for (const faster of SPEEDS_RPM)
      for (const slower of SPEEDS_RPM.filter((rpm) => rpm <= faster)) {
        const mostW = mostLimitCap(prepared, faster, slower);
        expect(prepared.thermalAt(slower).limitCapW).toBeLessThanOrEqual(mostW);
        expect(mostW).toBeLessThanOrEqual(prepared.thermalAt(faster).limitCapW);
      }
  });
});
