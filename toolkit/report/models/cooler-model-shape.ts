import type { CoolerModel } from '../../thermal/cooler-model.js';
import {
  count,
  covariance,
  estimate,
  finding,
  fraction,
  increasingPair,
  notNegative,
  positive,
  termination,
} from './common-shapes.js';
import { arrayOf, boolean, number, numberThat, object, oneOf, type Shape, text } from './shape.js';

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

/** A saved cooler model. */
export const coolerModel: Shape = object<CoolerModel>(
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
