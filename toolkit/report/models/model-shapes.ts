import type { CapChoice } from '../../cap/choose/cap-choice.js';
import type { EstimatedNumber, UnavailableNumber } from '../../numerics/estimate.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { Finding } from '../../runs/finding.js';
import type {
  ComparedCooler,
  CoolerComparison,
  CoolerPair,
} from '../../thermal/compare/cooler-comparison.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import {
  allOf,
  arrayOf,
  boolean,
  byField,
  isRecord,
  number,
  numberThat,
  object,
  oneOf,
  recordOf,
  type Shape,
  text,
  tuple,
} from './shape.js';

const positive = numberThat('a finite number above 0', (value) => value > 0);
const notNegative = numberThat('a finite number at or above 0', (value) => value >= 0);
const fraction = numberThat('a number from 0 to 1', (value) => value >= 0 && value <= 1);
const count = numberThat('a whole number at or above 0', (value) => Number.isInteger(value) && value >= 0);

const increasingPair: Shape = (value, path) =>
  tuple(number, number)(value, path) ??
  ((value as [number, number])[0] <= (value as [number, number])[1]
    ? undefined
    : { path, expected: 'a pair with the lower number first', received: JSON.stringify(value) });

/** An uncertain number. */
export const estimate: Shape = byField('kind', {
  estimated: object<EstimatedNumber>(
    { kind: text, value: number, standardError: notNegative, interval95: increasingPair },
    { extrapolated: boolean },
  ),
  unavailable: object<UnavailableNumber>(
    { kind: text, reason: oneOf('fixed', 'at-bound', 'not-identifiable', 'too-few-points') },
    { value: number },
  ),
});

/** What was seen and done. */
export const finding: Shape = object<Finding>(
  { code: text, severity: oneOf('note', 'warning', 'serious'), message: text },
  { remedy: text, count, lines: arrayOf(count), rangeS: tuple(number, number) },
);

const squareCovariance: Shape = (value, path) => {
  const { parameters, matrix } = value as CoolerModel['covariance'];
  const size = parameters.length;
  return matrix.length === size && matrix.every((row) => row.length === size)
    ? undefined
    : {
        path: `${path}.matrix`,
        expected: `${size} rows of ${size} numbers, one per parameter`,
        received: matrix,
      };
};

const covariance = allOf(
  object<CoolerModel['covariance']>({ parameters: arrayOf(text), matrix: arrayOf(arrayOf(number)) }, {}),
  squareCovariance,
);

const termination = object<CoolerModel['termination']>(
  { reason: text, converged: boolean, message: text },
  {},
);

const fanCurve = object<NonNullable<CoolerModel['fanCurve']>>(
  {
    kind: oneOf('fan-curve'),
    atPowerW: positive,
    referenceFanSpeedRpm: positive,
    limitKPerW: notNegative,
    convectionKPerW: notNegative,
    fanSpeedExponent: number,
    covariance,
    degreesOfFreedom: positive,
    points: arrayOf(
      object<NonNullable<CoolerModel['fanCurve']>['points'][number]>(
        { fanSpeedRpm: positive, thermalResistanceKPerW: estimate },
        {},
      ),
    ),
    testedRange: object<NonNullable<CoolerModel['fanCurve']>['testedRange']>(
      { fanSpeedRpm: increasingPair },
      {},
    ),
    findings: arrayOf(finding),
  },
  { cooler: text },
);

const coolerModel = object<CoolerModel>(
  {
    kind: oneOf('cooler-model'),
    label: text,
    runLabels: arrayOf(text),
    starts: arrayOf(
      object<CoolerModel['starts'][number]>(
        { runLabel: text, firstIndex: count, startPowerW: arrayOf(number), mountFactor: positive },
        { ambientC: number },
      ),
    ),
    method: oneOf('transient', 'steady-points'),
    thermalResistanceKPerW: estimate,
    resistanceLaw: object<CoolerModel['resistanceLaw']>(
      {
        thermalResistanceKPerW: positive,
        atPowerW: positive,
        powerExponent: number,
        exponentSource: oneOf('fitted', 'assumed'),
        resistanceStandardErrorKPerW: notNegative,
        exponentStandardError: notNegative,
        correlation: numberThat('a number from -1 to 1', (value) => Math.abs(value) <= 1),
        degreesOfFreedom: positive,
      },
      {},
    ),
    stages: arrayOf(
      object<CoolerModel['stages'][number]>({ timeConstantS: estimate, resistanceKPerW: estimate }, {}),
    ),
    ladder: arrayOf(
      object<CoolerModel['ladder'][number]>({ heatCapacityJPerK: positive, resistanceKPerW: positive }, {}),
    ),
    ambientC: estimate,
    noise: object<CoolerModel['noise']>(
      {
        standardDeviationK: notNegative,
        samplesPerIndependentSample: positive,
        effectiveSampleCount: positive,
        peakAboveMeanK: number,
      },
      {},
    ),
    orders: arrayOf(
      object<CoolerModel['orders'][number]>(
        {
          stageCount: count,
          sensorLag: boolean,
          parameterCount: count,
          residualRmsK: notNegative,
          weight: fraction,
          chosen: boolean,
        },
        { aicc: number, rejected: text, sharedStageCount: count },
      ),
    ),
    findings: arrayOf(finding),
    covariance,
    testedRange: object<CoolerModel['testedRange']>(
      { powerW: increasingPair, temperatureC: increasingPair, durationS: notNegative },
      {},
    ),
    termination,
    evaluationCount: count,
  },
  {
    cooler: text,
    processor: text,
    enclosure: text,
    fanSpeedRpm: positive,
    sensorLagS: estimate,
    poles: object<NonNullable<CoolerModel['poles']>>(
      { timeConstantsS: arrayOf(positive), resistancesKPerW: arrayOf(number), airTimeConstantS: notNegative },
      { sensorLagS: notNegative },
    ),
    fanCurve,
    correlations: arrayOf(
      object<NonNullable<CoolerModel['correlations']>[number]>(
        { label: text, correlation: numberThat('a number from -1 to 1', (value) => Math.abs(value) <= 1) },
        {},
      ),
    ),
  },
);

const curveForm = oneOf('electro-thermal', 'power-law', 'polynomial');

const throughputForm = oneOf('proportional', 'saturating');

const throughput = object<NonNullable<PowerCurve['throughput']>>(
  {
    form: throughputForm,
    waitS: notNegative,
    megacycleCount: positive,
    covariance,
    degreesOfFreedom: positive,
    candidates: arrayOf(
      object<NonNullable<PowerCurve['throughput']>['candidates'][number]>(
        {
          form: throughputForm,
          parameterCount: count,
          residualRmsFraction: notNegative,
          weight: fraction,
          chosen: boolean,
        },
        { rejected: text },
      ),
    ),
    testedFrequencyMHz: increasingPair,
    points: arrayOf(
      object<NonNullable<PowerCurve['throughput']>['points'][number]>(
        { label: text, frequencyMHz: positive, throughputPerS: positive },
        {},
      ),
    ),
  },
  {},
);

const curveVoltage = object<NonNullable<PowerCurve['voltage']>>(
  {
    offsetMv: number,
    relationOffsetMv: number,
    testedOffsetsMv: arrayOf(number),
    testedVoltageV: increasingPair,
    offsetLosses: arrayOf(
      object<NonNullable<PowerCurve['voltage']>['offsetLosses'][number]>(
        { offsetMv: number, lossFraction: fraction, standardErrorFraction: notNegative },
        {},
      ),
    ),
  },
  {},
);

const slowedRun = object<NonNullable<PowerCurve['slowedRuns']>[number]>(
  {
    label: text,
    voltageOffsetMv: number,
    reportedMHz: positive,
    effectiveMHz: positive,
    lossFraction: estimate,
  },
  {},
);

const powerCurve = object<PowerCurve>(
  {
    kind: oneOf('power-curve'),
    label: text,
    runLabels: arrayOf(text),
    method: oneOf('runs', 'steady-points'),
    form: curveForm,
    parameters: recordOf(number),
    covariance,
    degreesOfFreedom: positive,
    discrepancy: object<PowerCurve['discrepancy']>(
      { standardDeviationMHz: notNegative, powerScaleRatio: positive, temperatureScaleK: positive },
      {
        correction: object<NonNullable<PowerCurve['discrepancy']['correction']>>(
          { knotsMHz: arrayOf(number), standardDeviationRatio: notNegative },
          {},
        ),
      },
    ),
    frequencyPerPowerMHzPerW: estimate,
    frequencyPerTemperatureMHzPerK: estimate,
    candidates: arrayOf(
      object<PowerCurve['candidates'][number]>(
        {
          form: curveForm,
          parameterCount: count,
          effectiveParameterCount: notNegative,
          residualRmsMHz: notNegative,
          aicc: number,
          weight: fraction,
          chosen: boolean,
        },
        { rejected: text },
      ),
    ),
    findings: arrayOf(finding),
    testedRange: object<PowerCurve['testedRange']>(
      { powerW: increasingPair, frequencyMHz: increasingPair, temperatureC: increasingPair },
      {},
    ),
    points: arrayOf(
      object<PowerCurve['points'][number]>(
        {
          label: text,
          powerW: number,
          temperatureC: number,
          frequencyMHz: number,
          limitedBy: oneOf('cap', 'temperature', 'frequency', 'demand', 'unknown'),
        },
        { throughputPerS: notNegative, voltageOffsetMv: number },
      ),
    ),
    termination,
    evaluationCount: count,
  },
  {
    processor: text,
    workload: text,
    throughputPerMHz: estimate,
    throughput,
    voltage: curveVoltage,
    slowedRuns: arrayOf(slowedRun),
  },
);

const uncertainInput: Shape = (value, path) => {
  if (typeof value === 'number') return number(value, path);
  if (isRecord(value) && 'low' in value)
    return object<{ low: number; high: number }>({ low: number, high: number }, {})(value, path);
  if (isRecord(value) && 'mean' in value)
    return object<{ mean: number; standardDeviation: number }>(
      { mean: number, standardDeviation: notNegative },
      {},
    )(value, path);
  return { path, expected: 'a number, { low, high } or { mean, standardDeviation }', received: value };
};

const objectiveName = oneOf(
  'frequency',
  'throughput',
  'jobs-per-hour',
  'energy-per-job',
  'work-per-watt-hour',
);

const fanReading = object<{ fanSpeedRpm: number; soundLevelDb?: number; powerW?: number }>(
  { fanSpeedRpm: positive },
  { soundLevelDb: number, powerW: notNegative },
);

const settledScenario = object<CapChoice['scenario']>(
  {
    limitC: number,
    limitAppliesTo: oneOf('mean', 'peak'),
    ambientC: uncertainInput,
    confidence: fraction,
    stepW: positive,
    objective: objectiveName,
    drawCount: count,
    seed: number,
  },
  {
    enclosure: object<NonNullable<CapChoice['scenario']['enclosure']>>(
      { riseK: uncertainInput },
      { atPowerW: positive },
    ),
    minCapW: number,
    maxCapW: number,
    defaultCapW: number,
    workPerJobCount: positive,
    minThroughputPerS: positive,
    maxSoundLevelDb: number,
    topFrequencyMHz: positive,
    supply: object<NonNullable<CapChoice['scenario']['supply']>>(
      { restOfMachineW: notNegative, efficiencyFraction: fraction },
      { budgetW: positive },
    ),
    fan: object<NonNullable<CapChoice['scenario']['fan']>>(
      { lowestRpm: positive, highestRpm: positive, stepRpm: positive },
      { sound: fanReading, power: fanReading },
    ),
    voltageOffset: object<NonNullable<CapChoice['scenario']['voltageOffset']>>(
      { lowestMv: number, highestMv: number, stepMv: positive },
      {},
    ),
    workloads: arrayOf(
      object<NonNullable<CapChoice['scenario']['workloads']>[number]>(
        { label: text, shareFraction: fraction },
        { demandW: positive },
      ),
    ),
    dutyCycle: arrayOf(
      object<NonNullable<CapChoice['scenario']['dutyCycle']>[number]>(
        { durationS: positive },
        { label: text, demandW: notNegative },
      ),
    ),
    shortTerm: object<NonNullable<CapChoice['scenario']['shortTerm']>>(
      { windowS: positive, startPowerW: notNegative },
      { maxCapW: positive },
    ),
  },
);

const upperConstraints = ['temperature', 'supply', 'max-cap', 'default-cap', 'tested-range'] as const;

const capChoice = object<CapChoice>(
  {
    kind: oneOf('cap-choice'),
    cooler: text,
    powerCapW: positive,
    summary: text,
    unroundedCapW: positive,
    steadyTemperatureC: estimate,
    frequencyMHz: estimate,
    throughputPerS: estimate,
    workPerWh: estimate,
    objective: object<CapChoice['objective']>({ name: objectiveName, unit: text, reached: estimate }, {}),
    packagePowerW: positive,
    bindingConstraint: oneOf(...upperConstraints, 'min-throughput', 'min-cap', 'objective'),
    sensitivities: object<CapChoice['sensitivities']>(
      {
        capPerLimitWPerK: number,
        capPerAmbientWPerK: number,
        temperaturePerPowerKPerW: number,
        frequencyPerPowerMHzPerW: estimate,
      },
      {},
    ),
    worth: arrayOf(
      object<CapChoice['worth'][number]>(
        {
          of: oneOf('limit', 'room-air', 'cap', 'supply-budget', 'fan-speed', 'voltage-offset'),
          unit: oneOf('K', 'W', 'rpm', 'mV'),
          capChangeW: number,
        },
        { objectiveChangeFraction: number },
      ),
    ),
    neighbours: arrayOf(
      object<CapChoice['neighbours'][number]>({ powerCapW: number, chanceOfPassingLimit: fraction }, {}),
    ),
    temperatureAgainstCap: arrayOf(
      object<CapChoice['temperatureAgainstCap'][number]>(
        { powerCapW: number, temperatureC: number, lowC: number, highC: number, atConfidenceC: number },
        { frequencyMHz: number, objective: number },
      ),
    ),
    scenario: settledScenario,
    extrapolated: boolean,
    cautions: arrayOf(text),
  },
  {
    processor: text,
    jobRatePerH: estimate,
    energyPerJobJ: estimate,
    supplyPowerW: positive,
    voltageOffsetMv: number,
    fan: object<NonNullable<CapChoice['fan']>>(
      {
        speedRpm: positive,
        slowestAtSameCapRpm: positive,
        bindingConstraint: oneOf('sound-level', 'highest-speed', 'objective'),
      },
      { soundLevelDb: number },
    ),
    loads: arrayOf(
      object<NonNullable<CapChoice['loads']>[number]>(
        {
          label: text,
          shareFraction: fraction,
          temperatureC: number,
          powerW: notNegative,
          belowCap: boolean,
        },
        {},
      ),
    ),
    shortTerm: object<NonNullable<CapChoice['shortTerm']>>(
      {
        powerCapW: positive,
        windowS: positive,
        startPowerW: notNegative,
        unroundedCapW: number,
        bindingConstraint: oneOf(...upperConstraints),
        temperatureC: estimate,
        frequencyMHz: estimate,
        extrapolated: boolean,
      },
      {},
    ),
    cost: object<NonNullable<CapChoice['cost']>>(
      {
        defaultCapW: positive,
        sustainedPowerW: positive,
        heldAtLimit: boolean,
        chanceOfPassingLimit: fraction,
        frequencyMHz: estimate,
        frequencyLossMHz: estimate,
        lossFraction: estimate,
        throughputPerS: estimate,
        throughputLossFraction: estimate,
      },
      {},
    ),
  },
);

const countOrText: Shape = (value, path) =>
  value === 'no reasonable number' || count(value, path) === undefined
    ? undefined
    : { path, expected: "a whole number at or above 0 or 'no reasonable number'", received: value };

const coolerComparison = object<CoolerComparison>(
  {
    kind: oneOf('cooler-comparison'),
    powerW: positive,
    confidence: fraction,
    mountAllowanceFraction: fraction,
    summary: text,
    coolers: arrayOf(
      object<ComparedCooler>(
        {
          label: text,
          thermalResistanceKPerW: estimate,
          steadyRiseK: estimate,
          mountCount: count,
          mountSpreadFraction: notNegative,
          mountSpreadSource: oneOf('allowed', 'logged'),
          places: tuple(count, count),
        },
        { steadyTemperatureC: estimate, fanSpeedRpm: positive },
      ),
    ),
    pairs: arrayOf(
      object<CoolerPair>(
        {
          first: text,
          second: text,
          differenceKPerW: estimate,
          riseDifferenceK: estimate,
          verdict: oneOf('better', 'worse', 'not told apart'),
          pValue: fraction,
          adjustedPValue: fraction,
          moreMountsOfEachCount: countOrText,
          summary: text,
        },
        {},
      ),
    ),
    ranking: arrayOf(arrayOf(text)),
    findings: arrayOf(finding),
  },
  { ambientC: number, soundLevelDb: number },
);

/** What a saved result must look like, by its kind. */
export const modelShapes: Readonly<
  Record<'cooler-model' | 'power-curve' | 'cap-choice' | 'cooler-comparison', Shape>
> = {
  'cooler-model': coolerModel,
  'power-curve': powerCurve,
  'cap-choice': capChoice,
  'cooler-comparison': coolerComparison,
};
