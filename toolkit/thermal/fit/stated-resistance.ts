import { effectiveDegreesOfFreedom } from '../../numerics/effective-degrees-of-freedom.js';
import type { ResistanceLaw } from '../cooler-model.js';
import { MOUNT_ALLOWANCE_FRACTION, mountSpread, nextMountVarianceFraction } from '../mount-spread.js';
import { type FittedCandidate, totalOf } from './fit-candidate.js';
import type { FitRecord } from './fit-record.js';
import { logMountFactors } from './fit-structure.js';
import type { OrderTable } from './order-table.js';
import {
  COMMON_REFERENCE_UNCERTAINTY_K,
  exponentByReference,
  referenceVarianceK2,
  unseenVariance,
} from './unseen-uncertainty.js';

/** Fewest degrees of freedom an interval is built on: below this Student's t says more about itself than the data. */
export const LEAST_DEGREES_OF_FREEDOM: number = 3;

/** The total resistance of the chosen candidate, with everything that makes it uncertain. */
export function statedResistance({
  record,
  candidates,
  table,
  covariance,
  fitDegreesOfFreedom,
  orderVariance,
  shifted,
  exponentSource,
  assumedExponentError,
}: {
  readonly record: FitRecord;
  readonly candidates: readonly FittedCandidate[];
  readonly table: OrderTable;
  /** Of the chosen candidate's parameters, [nonlinear, linear], with what the model leaves out. */
  readonly covariance: readonly (readonly number[])[];
  readonly fitDegreesOfFreedom: number;
  /** Spread between orders beyond the table's, (K/W)². */
  readonly orderVariance: number;
  /** The chosen candidate with the exponent one standard deviation higher, where it was assumed. */
  readonly shifted: FittedCandidate | undefined;
  readonly exponentSource: ResistanceLaw['exponentSource'];
  readonly assumedExponentError: number;
}): ResistanceLaw {
  const { chosen } = table;
  const { layout, structure } = chosen;
  const resistanceIndices = Array.from({ length: structure.stageCount }, (_, k) => layout.count + k);
  const total = totalOf(chosen);
  let fitVariance = 0;
  for (const a of resistanceIndices) for (const b of resistanceIndices) fitVariance += covariance[a][b];
  // The structure is not known either: the spread of the candidates' totals around the chosen one, by weight.
  fitVariance += orderVariance;
  candidates.forEach((candidate, c) => {
    fitVariance += table.opinions[c] * (totalOf(candidate) - total) ** 2;
  });
  fitVariance += referenceVarianceK2(record) / structure.atPowerW ** 2 + unseenVariance(record, chosen);
  const logFactors = logMountFactors(layout, record.mounts.length, chosen.minimum.parameters);
  const mounts = mountSpread(logFactors, record.mounts.length, MOUNT_ALLOWANCE_FRACTION);
  const mountVariance = total ** 2 * nextMountVarianceFraction(mounts);
  const standardErrorKPerW = Math.sqrt(fitVariance + mountVariance);
  const degreesOfFreedom = Math.max(
    LEAST_DEGREES_OF_FREEDOM,
    effectiveDegreesOfFreedom([
      { variance: fitVariance, degreesOfFreedom: fitDegreesOfFreedom },
      { variance: mountVariance, degreesOfFreedom: mounts.degreesOfFreedom },
    ]),
  );

  const { exponentIndex } = layout;
  const ofReference = exponentByReference(total * structure.atPowerW, chosen.powerExponent);
  const exponentStandardError =
    exponentIndex < 0
      ? assumedExponentError
      : Math.hypot(Math.sqrt(covariance[exponentIndex][exponentIndex]), ofReference);
  const exponentCovariance =
    exponentIndex >= 0
      ? resistanceIndices.reduce((sum, index) => sum + covariance[index][exponentIndex], 0) +
        (ofReference * COMMON_REFERENCE_UNCERTAINTY_K) / structure.atPowerW
      : shifted === undefined
        ? 0
        : (totalOf(shifted) - total) * exponentStandardError;
  return {
    thermalResistanceKPerW: total,
    atPowerW: structure.atPowerW,
    powerExponent: chosen.powerExponent,
    exponentSource: exponentSource,
    resistanceStandardErrorKPerW: standardErrorKPerW,
    exponentStandardError,
    correlation:
      exponentCovariance === 0
        ? 0
        : clamp(exponentCovariance / (standardErrorKPerW * exponentStandardError), -0.999, 0.999),
    degreesOfFreedom,
  };
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}
