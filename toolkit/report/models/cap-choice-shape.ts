import type { CapChoice } from '../../cap/choose/cap-choice.js';
import { count, estimate, fraction, notNegative, positive } from './common-shapes.js';
import { arrayOf, boolean, isRecord, number, object, oneOf, type Shape, text } from './shape.js';

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

/** A saved choice of a cap. */
export const capChoice: Shape = object<CapChoice>(
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
