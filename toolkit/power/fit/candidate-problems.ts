import type { CurveForm, ReferencePoint } from '../forms/curve-form.js';
import { electroThermal } from '../forms/electro-thermal.js';
import { polynomial, powerLaw } from '../forms/plain-forms.js';
import { knotsOver } from '../forms/shape-correction.js';
import type { CurveAssumptions, RoughValue } from './curve-assumptions.js';
import { logNormalOf } from './curve-assumptions.js';
import type { FormProblem } from './form-problem.js';
import type { Observation } from './observation.js';
import { rangeOf } from './range-of.js';
import {
  startElectroThermal,
  startPolynomial,
  startPowerLaw,
  startReferenceVoltageV,
} from './starting-values.js';

/** The candidates that the data allow, ready to be fitted, and the others with the reason. */
export interface CandidateProblems {
  readonly allowed: readonly FormProblem[];
  readonly rejected: readonly { readonly form: CurveForm; readonly reason: string }[];
}

/** Standard deviation of the logarithm of the share of an offset that reaches the cores, before runs tell it. */
const OFFSET_EFFECT_LOG_DEVIATION = 0.1;

/** Every form with its starting values and what is assumed of it. */
export function candidateProblems(
  observations: readonly Observation[],
  reference: ReferencePoint,
  relationOffsetMv: number,
  assumptions: CurveAssumptions,
  powerLevelCount: number,
): CandidateProblems {
  const withVoltage = observations.some(({ voltage }) => voltage !== undefined);
  const knotsMHz = knotsOver(...rangeOf(observations.map(({ frequencyMHz }) => frequencyMHz)));
  const common = { observations, reference, relationOffsetMv };
  const allowed: FormProblem[] = [];
  const rejected: { form: CurveForm; reason: string }[] = [];
  const offsetsDiffer = new Set(observations.map(({ voltageOffsetMv }) => voltageOffsetMv)).size > 1;
  for (const form of [electroThermal(knotsMHz, withVoltage), powerLaw, polynomial]) {
    if (powerLevelCount < form.powerLevelsNeeded) {
      rejected.push({
        form,
        reason: `needs ${form.powerLevelsNeeded} power levels, the data hold ${powerLevelCount}`,
      });
    } else if (form.form !== 'electro-thermal' && offsetsDiffer) {
      rejected.push({ form, reason: 'knows no voltage, and the runs differ in their voltage offset' });
    } else if (form === powerLaw) {
      allowed.push({ ...common, form, start: startPowerLaw(observations, reference), information: [] });
    } else if (form === polynomial) {
      allowed.push({ ...common, form, start: startPolynomial(observations, reference), information: [] });
    } else {
      allowed.push({
        ...common,
        form,
        start: [
          ...startElectroThermal(observations, reference, assumptions, powerLevelCount),
          ...(withVoltage ? [startReferenceVoltageV(observations, relationOffsetMv), 1] : []),
          ...knotsMHz.map(() => 0),
        ],
        information: [
          ...physicalInformation(assumptions, reference),
          ...(withVoltage ? [undefined, { mean: 0, standardDeviation: OFFSET_EFFECT_LOG_DEVIATION }] : []),
        ],
      });
    }
  }
  return { allowed, rejected };
}

function physicalInformation(
  assumptions: CurveAssumptions,
  reference: ReferencePoint,
): FormProblem['information'] {
  const inLogarithm = (value: RoughValue, unit = 1) => {
    const { median, logStandardDeviation } = logNormalOf(value);
    return { mean: Math.log(median * unit), standardDeviation: logStandardDeviation };
  };
  return [
    undefined,
    inLogarithm(assumptions.exponentAboveLowest),
    inLogarithm(assumptions.exponentGrowth),
    inLogarithm(assumptions.basePowerFraction, reference.powerW),
    inLogarithm(assumptions.leakagePowerFraction, reference.powerW),
    inLogarithm(assumptions.leakageScaleK),
  ];
}
