import type { PowerCurve } from '../../power/power-curve.js';
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
import { arrayOf, boolean, number, object, oneOf, recordOf, type Shape, text } from './shape.js';

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

/** A saved power curve. */
export const powerCurve: Shape = object<PowerCurve>(
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
