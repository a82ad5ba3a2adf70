import { curveFromSteadyPoints } from '../../../toolkit/power/fit/curve-from-steady-points.js';
import type { PowerCurve } from '../../../toolkit/power/power-curve.js';
import type { FanCurve } from '../../../toolkit/thermal/fan-curve.js';

const points = [
  { powerW: 52, temperatureC: 47, frequencyMHz: 2960, voltageV: 0.87 },
  { powerW: 70, temperatureC: 57, frequencyMHz: 3310, voltageV: 0.945 },
  { powerW: 92, temperatureC: 68, frequencyMHz: 3570, voltageV: 1.01 },
  { powerW: 118, temperatureC: 81, frequencyMHz: 3790, voltageV: 1.075 },
  { powerW: 118, temperatureC: 66, frequencyMHz: 3850, voltageV: 1.09 },
];

const withoutWork: PowerCurve = curveFromSteadyPoints(points, { label: 'twelve cores' });

/** A curve with leakage, voltage and a throughput of 0.0016 units of work per second and megahertz. */
export function workedCurve(overrides: Partial<PowerCurve> = {}): PowerCurve {
  return {
    ...withoutWork,
    throughput: {
      form: 'proportional',
      waitS: 0,
      megacycleCount: 625,
      covariance: {
        parameters: ['waitS', 'megacycleCount'],
        matrix: [
          [0, 0],
          [0, 1.5 ** 2],
        ],
      },
      degreesOfFreedom: 12,
      candidates: [],
      testedFrequencyMHz: [2900, 3900],
      points: [],
    },
    ...overrides,
  };
}

/** A fan curve written out by hand: at 1500 rpm 0.5 K/W, of which 0.3 K/W is convection falling as n^−0.7. */
export function plainFanCurve(overrides: Partial<FanCurve> = {}): FanCurve {
  return {
    kind: 'fan-curve',
    atPowerW: 80,
    referenceFanSpeedRpm: 1500,
    limitKPerW: 0.2,
    convectionKPerW: 0.3,
    fanSpeedExponent: 0.7,
    covariance: {
      parameters: ['limitKPerW', 'convectionKPerW', 'fanSpeedExponent'],
      matrix: [
        [0.01 ** 2, -0.00008, 0],
        [-0.00008, 0.01 ** 2, 0],
        [0, 0, 0.05 ** 2],
      ],
    },
    degreesOfFreedom: 20,
    points: [],
    testedRange: { fanSpeedRpm: [600, 2200] },
    findings: [],
    ...overrides,
  };
}
