import type { CapChoice } from '../../../toolkit/cap/choose/cap-choice.js';
import type { EstimatedNumber } from '../../../toolkit/numerics/estimate.js';
import type { PowerCurve } from '../../../toolkit/power/power-curve.js';
import { makeRun } from '../../../toolkit/runs/make-run.js';
import type { Run } from '../../../toolkit/runs/run.js';
import { compareCoolers } from '../../../toolkit/thermal/compare/compare-coolers.js';
import type { CoolerComparison } from '../../../toolkit/thermal/compare/cooler-comparison.js';
import type { CoolerModel } from '../../../toolkit/thermal/cooler-model.js';

/** Results written down by hand, so that pictures and tables are checked apart from the fits that make them. */

export function estimated(value: number, halfWidth: number, extrapolated?: boolean): EstimatedNumber {
  return {
    kind: 'estimated',
    value,
    standardError: halfWidth / 1.96,
    interval95: [value - halfWidth, value + halfWidth],
    ...(extrapolated === undefined ? {} : { extrapolated }),
  };
}

const tau = [6.2, 184] as const;
const resistance = [0.171, 0.361] as const;

/** Half an hour: two minutes idle, 25 minutes at a cap of 92 W, then cooling down. */
export function drawerRun(options: { readonly sampleCount?: number; readonly label?: string } = {}): Run {
  const sampleCount = options.sampleCount ?? 1800;
  const stepS = 1800 / sampleCount;
  const timeS = new Float64Array(sampleCount);
  const temperatureC = new Float64Array(sampleCount);
  const powerW = new Float64Array(sampleCount);
  const frequencyMHz = new Float64Array(sampleCount);
  const rise = [resistance[0] * 14, resistance[1] * 14];
  let state = 12345;
  const noise = (): number => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647 - 0.5;
  };
  for (let i = 0; i < sampleCount; i++) {
    const t = i * stepS;
    const loaded = t >= 120 && t < 1620;
    timeS[i] = t;
    powerW[i] = loaded ? 92 + 1.2 * noise() : 14 + 2 * noise();
    frequencyMHz[i] = loaded
      ? 25 * Math.floor((3560 + 40 * noise()) / 25)
      : 1200 + 25 * Math.floor(6 * noise());
    for (let k = 0; k < 2; k++) {
      const decay = i === 0 ? 1 : Math.exp(-stepS / tau[k]);
      rise[k] = rise[k] * decay + resistance[k] * powerW[i] * (1 - decay);
    }
    temperatureC[i] = 0.25 * Math.round((31 + rise[0] + rise[1] + 0.9 * noise()) / 0.25);
  }
  return makeRun(
    { timeS, temperatureC, powerW, frequencyMHz },
    {
      label: options.label ?? 'flat 58 mm, 92 W, drawer',
      conditions: {
        ambientC: 31,
        cooler: 'Flat 58 mm',
        processor: 'twelve-core',
        enclosure: 'drawer',
        powerCapW: 92,
        defaultCapW: 118,
      },
    },
  );
}

export function coolerModel(
  options: { readonly cooler?: string; readonly resistanceKPerW?: number; readonly halfWidth?: number } = {},
): CoolerModel {
  const total = options.resistanceKPerW ?? 0.532;
  const halfWidth = options.halfWidth ?? 0.012;
  const share = total / 0.532;
  return {
    kind: 'cooler-model',
    label: options.cooler ?? 'Flat 58 mm',
    cooler: options.cooler ?? 'Flat 58 mm',
    processor: 'twelve-core',
    runLabels: ['flat 58 mm, 92 W, drawer'],
    starts: [{ runLabel: 'flat 58 mm, 92 W, drawer', firstIndex: 0, startPowerW: [14], mountFactor: 1 }],
    method: 'transient',
    thermalResistanceKPerW: estimated(total, halfWidth),
    resistanceLaw: {
      thermalResistanceKPerW: total,
      atPowerW: 92,
      powerExponent: 0,
      exponentSource: 'assumed',
      resistanceStandardErrorKPerW: halfWidth / 1.96,
      exponentStandardError: 0.05,
      correlation: 0,
      degreesOfFreedom: 41.5,
    },
    poles: {
      timeConstantsS: [...tau],
      resistancesKPerW: resistance.map((r) => r * share),
      airTimeConstantS: 184,
    },
    stages: [
      { timeConstantS: estimated(tau[0], 0.4), resistanceKPerW: estimated(resistance[0] * share, 0.006) },
      { timeConstantS: estimated(tau[1], 9), resistanceKPerW: estimated(resistance[1] * share, 0.011) },
    ],
    ladder: [
      { heatCapacityJPerK: 33.1, resistanceKPerW: 0.178 * share },
      { heatCapacityJPerK: 471, resistanceKPerW: 0.354 * share },
    ],
    ambientC: { kind: 'unavailable', reason: 'fixed', value: 31 },
    noise: {
      standardDeviationK: 0.27,
      samplesPerIndependentSample: 8.4,
      effectiveSampleCount: 214.3,
      peakAboveMeanK: 0.5,
    },
    orders: [
      {
        stageCount: 1,
        sensorLag: false,
        parameterCount: 4,
        residualRmsK: 1.9,
        aicc: 310.2,
        weight: 0,
        chosen: false,
      },
      {
        stageCount: 2,
        sensorLag: false,
        parameterCount: 6,
        residualRmsK: 0.27,
        aicc: -540.7,
        weight: 1,
        chosen: true,
      },
    ],
    findings: [],
    covariance: stageCovariance(share, halfWidth / 1.96),
    testedRange: { powerW: [14, 92], temperatureC: [38, 80], durationS: 1800 },
    termination: { reason: 'gradient', converged: true, message: 'converged' },
    evaluationCount: 23,
  };
}

/** Standard errors of the stages as stated; what one resistance gains the other loses, but for the total's own error. */
function stageCovariance(share: number, totalStandardError: number): CoolerModel['covariance'] {
  const logTau = [0.4 / 1.96 / tau[0], 9 / 1.96 / tau[1]] as const;
  const [first, second] = [0.006 / 1.96, 0.011 / 1.96].map((error) => error * Math.min(1, share)) as [
    number,
    number,
  ];
  const between = Math.max(
    -0.9 * first * second,
    Math.min(0, (totalStandardError ** 2 - first ** 2 - second ** 2) / 2),
  );
  return {
    parameters: ['logTimeConstantS[1]', 'logTimeConstantS[2]', 'resistanceKPerW[1]', 'resistanceKPerW[2]'],
    matrix: [
      [logTau[0] ** 2, 0, 0, 0],
      [0, logTau[1] ** 2, 0, 0],
      [0, 0, first ** 2, between],
      [0, 0, between, second ** 2],
    ],
  };
}

export function powerCurve(): PowerCurve {
  const points = [
    { powerW: 64, temperatureC: 56, frequencyMHz: 3190 },
    { powerW: 65, temperatureC: 71, frequencyMHz: 3125 },
    { powerW: 92, temperatureC: 67, frequencyMHz: 3590 },
    { powerW: 92, temperatureC: 79.6, frequencyMHz: 3545 },
    { powerW: 118, temperatureC: 77, frequencyMHz: 3880 },
  ];
  return {
    kind: 'power-curve',
    label: 'twelve-core',
    processor: 'twelve-core',
    workload: 'show render',
    runLabels: points.map((point) => `${point.powerW} W`),
    method: 'runs',
    form: 'power-law',
    parameters: {
      referencePowerW: 92,
      referenceTemperatureC: 70,
      referenceFrequencyMHz: 3572,
      powerExponent: 0.33,
    },
    covariance: {
      parameters: ['referenceFrequencyMHz', 'powerExponent'],
      matrix: [
        [30, 0.001],
        [0.001, 0.0001],
      ],
    },
    degreesOfFreedom: 8.5,
    discrepancy: { standardDeviationMHz: 8, powerScaleRatio: 0.3, temperatureScaleK: 20 },
    frequencyPerPowerMHzPerW: estimated(12.4, 0.8),
    frequencyPerTemperatureMHzPerK: estimated(-3.1, 0.9),
    candidates: [
      {
        form: 'power-law',
        parameterCount: 2,
        effectiveParameterCount: 2,
        residualRmsMHz: 7,
        aicc: 40.1,
        weight: 1,
        chosen: true,
      },
    ],
    findings: [],
    testedRange: { powerW: [64, 118], frequencyMHz: [3125, 3880], temperatureC: [56, 79.6] },
    points: points.map((point, i) => ({
      label: `${point.powerW} W`,
      ...point,
      limitedBy: i === 4 ? ('temperature' as const) : ('cap' as const),
    })),
    termination: { reason: 'gradient', converged: true, message: 'converged' },
    evaluationCount: 12,
  };
}

/** Four coolers at 80 W, each in one mount. */
export function theatreComparison(): CoolerComparison {
  return compareCoolers(
    [
      coolerModel({ cooler: 'Flat 41 mm', resistanceKPerW: 0.56, halfWidth: 0.018 }),
      coolerModel(),
      coolerModel({ cooler: 'Tower 88 mm', resistanceKPerW: 0.36 }),
      coolerModel({ cooler: 'Loop 140 mm', resistanceKPerW: 0.31 }),
    ],
    { powerW: 80 },
  );
}

export function capChoice(
  options: {
    readonly cooler?: string;
    readonly resistanceKPerW?: number;
    readonly defaultCapW?: number;
  } = {},
): CapChoice {
  const r = options.resistanceKPerW ?? 0.532;
  const inlet = 32.5;
  const defaultCapW = options.defaultCapW ?? 118;
  const spread = (capW: number): number => 3.1 + 0.03 * capW;
  const unroundedCapW = (85 - inlet - 3.1 * 0.84) / (r + 0.03 * 0.84);
  const powerCapW = Math.min(Math.floor(unroundedCapW), defaultCapW);
  const frequency = (capW: number): number => 3560 * (capW / 92) ** 0.32;
  const caps = Array.from({ length: 43 }, (_, i) => 40 + 2 * i);
  return {
    kind: 'cap-choice',
    cooler: options.cooler ?? 'Flat 58 mm',
    processor: 'twelve-core',
    powerCapW,
    summary: `Set ${powerCapW} W.`,
    unroundedCapW,
    steadyTemperatureC: estimated(inlet + r * powerCapW, spread(powerCapW)),
    frequencyMHz: estimated(frequency(powerCapW), 18),
    throughputPerS: { kind: 'unavailable', reason: 'not-identifiable' },
    workPerWh: { kind: 'unavailable', reason: 'not-identifiable' },
    objective: { name: 'frequency', unit: 'MHz', reached: estimated(frequency(powerCapW), 18) },
    packagePowerW: powerCapW,
    bindingConstraint: powerCapW === defaultCapW ? 'default-cap' : 'temperature',
    sensitivities: {
      capPerLimitWPerK: 1.8,
      capPerAmbientWPerK: -1.8,
      temperaturePerPowerKPerW: r,
      frequencyPerPowerMHzPerW: estimated(12.4, 0.9),
    },
    cost: {
      defaultCapW,
      sustainedPowerW: 98.6,
      heldAtLimit: true,
      chanceOfPassingLimit: 0.97,
      frequencyMHz: estimated(3640, 20),
      frequencyLossMHz: estimated(80, 9),
      lossFraction: estimated(0.022, 0.0025),
      throughputPerS: { kind: 'unavailable', reason: 'not-identifiable' },
      throughputLossFraction: { kind: 'unavailable', reason: 'not-identifiable' },
    },
    worth: [
      { of: 'limit', unit: 'K', capChangeW: 1.8, objectiveChangeFraction: 0.006 },
      { of: 'cap', unit: 'W', capChangeW: 1, objectiveChangeFraction: 0.0035 },
    ],
    neighbours: [-2, -1, 0, 1, 2].map((offset) => ({
      powerCapW: powerCapW + offset,
      chanceOfPassingLimit: 0.045 + 0.011 * offset,
    })),
    temperatureAgainstCap: caps.map((capW) => ({
      powerCapW: capW,
      temperatureC: inlet + r * capW,
      lowC: inlet + r * capW - spread(capW),
      highC: inlet + r * capW + spread(capW),
      atConfidenceC: inlet + r * capW + 0.84 * spread(capW),
      frequencyMHz: frequency(capW),
    })),
    scenario: {
      limitC: 85,
      limitAppliesTo: 'mean',
      ambientC: { low: 20, high: 26 },
      enclosure: { riseK: { mean: 9.5, standardDeviation: 1.2 } },
      confidence: 0.95,
      stepW: 1,
      objective: 'frequency',
      drawCount: 4096,
      seed: 1,
      defaultCapW,
    },
    extrapolated: false,
    cautions: [],
  };
}
