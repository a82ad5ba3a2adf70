import type { PowerCurve } from '../../../toolkit/power/power-curve.js';

/** The power law f = 3600 MHz · (P/90 W)^0.25, written out by hand, logged from 60 to 120 W. */
export function plainCurve(overrides: Partial<PowerCurve> = {}): PowerCurve {
  return {
    kind: 'power-curve',
    label: 'twelve cores',
    runLabels: [],
    method: 'steady-points',
    form: 'power-law',
    parameters: {
      referenceFrequencyMHz: 3600,
      powerExponent: 0.25,
      referencePowerW: 90,
      referenceTemperatureC: 60,
    },
    covariance: {
      parameters: ['referenceFrequencyMHz', 'powerExponent'],
      matrix: [
        [6 ** 2, 0],
        [0, 0.01 ** 2],
      ],
    },
    degreesOfFreedom: 20,
    discrepancy: { standardDeviationMHz: 0, powerScaleRatio: 0.3, temperatureScaleK: 30 },
    frequencyPerPowerMHzPerW: { kind: 'estimated', value: 10, standardError: 0.4, interval95: [9.2, 10.8] },
    frequencyPerTemperatureMHzPerK: { kind: 'unavailable', reason: 'not-identifiable' },
    candidates: [],
    findings: [],
    testedRange: { powerW: [60, 120], frequencyMHz: [3250, 3870], temperatureC: [45, 90] },
    points: [],
    termination: { reason: 'written-out', converged: true, message: 'written out' },
    evaluationCount: 0,
    ...overrides,
  };
}
