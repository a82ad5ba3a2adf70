import type { CoolerModel, ResistanceLaw } from '../../../toolkit/thermal/cooler-model.js';

/** A cooler written out by hand: 0.5 K/W at 80 W, no uncertainty, constant resistance, unless told otherwise. */
export function plainCooler(
  law: Partial<ResistanceLaw> = {},
  model: Partial<Omit<CoolerModel, 'resistanceLaw'>> = {},
): CoolerModel {
  const resistanceLaw: ResistanceLaw = {
    thermalResistanceKPerW: 0.5,
    atPowerW: 80,
    powerExponent: 0,
    exponentSource: 'fitted',
    resistanceStandardErrorKPerW: 0,
    exponentStandardError: 0,
    correlation: 0,
    degreesOfFreedom: 1e6,
    ...law,
  };
  const { thermalResistanceKPerW: value, resistanceStandardErrorKPerW: standardError } = resistanceLaw;
  return {
    kind: 'cooler-model',
    label: 'flat 58 mm',
    runLabels: [],
    starts: [],
    method: 'steady-points',
    thermalResistanceKPerW: {
      kind: 'estimated',
      value,
      standardError,
      interval95: [value - 2 * standardError, value + 2 * standardError],
    },
    resistanceLaw,
    stages: [],
    ladder: [],
    ambientC: { kind: 'unavailable', reason: 'fixed', value: 22 },
    noise: {
      standardDeviationK: 0.4,
      samplesPerIndependentSample: 1,
      effectiveSampleCount: 100,
      peakAboveMeanK: 3,
    },
    orders: [],
    findings: [],
    covariance: { parameters: [], matrix: [] },
    testedRange: { powerW: [60, 120], temperatureC: [50, 90], durationS: 1500 },
    termination: { reason: 'closed-form', converged: true, message: 'closed form' },
    evaluationCount: 1,
    ...model,
  };
}
