import { ArgumentError } from '../../errors.js';
import { studentTQuantile } from '../../numerics/distributions.js';
import { propagate } from '../../numerics/propagation.js';
import type { CoolerModel } from '../cooler-model.js';
import { ladderFromPoles, type Pole } from '../ladder.js';
import { requireStages } from '../require-stages.js';
import { stageUncertaintyOf } from '../stage-uncertainty.js';

/** Lower and upper end of a 95 % interval for each rung. */
export type RungIntervals = readonly (readonly [low: number, high: number])[];

/** The way of the heat from the die to the air, rung by rung. Plain data: survives JSON. */
export interface StructureFunction {
  readonly kind: 'structure-function';
  /** Resistance from the die up to the far end of each rung, R₁ + … + Rₖ; the last is the total. Length n. */
  readonly cumulativeResistanceKPerW: readonly number[];
  /** Heat capacity from the die up to and with each rung, C₁ + … + Cₖ. Length n. */
  readonly cumulativeHeatCapacityJPerK: readonly number[];
  /** Differential structure function on each rung, K = dC/dR: Cₖ / Rₖ. Length n. */
  readonly differentialJWPerK2: readonly number[];
  /** 95 % intervals of the three; missing where the model does not hold the covariance of its stages. */
  readonly cumulativeResistanceIntervalsKPerW?: RungIntervals;
  readonly cumulativeHeatCapacityIntervalsJPerK?: RungIntervals;
  readonly differentialIntervalsJWPerK2?: RungIntervals;
}

/**
 * Cumulative and differential structure function of a model's ladder [JESD51-14].
 *
 * The cumulative one is the heat capacity passed, CΣ = C₁ + … + Cₖ, against the resistance passed from the die,
 * RΣ = R₁ + … + Rₖ; on the way through rung k it stands at its CΣ, and beyond the last resistance lies the air, whose
 * heat capacity has no end. The differential one is its slope, K = dC/dR, on each rung Cₖ / Rₖ: high where much metal
 * conducts well, low in a contact.
 *
 * A fit of a few stages gives a few steps, not a curve: a rung is a lump, and its edge need not be the edge of a part.
 * Structure at the die itself needs a transient logged in milliseconds. Intervals are those of the logarithm, to first
 * order from the covariance of the stages [JCGM100, eq. 13]; what air, mounts and number of stages add to the total
 * resistance scales all resistances and divides all capacities.
 *
 * @param model - a model with stages, from `fitCooler`
 * @returns arrays over the n rungs, die first
 * @throws ArgumentError if the model has no stages
 * @example
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 80)), temperatureC: timeS.map((t) => 22 + 40 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * const { cumulativeHeatCapacityJPerK } = structureFunction(fitCooler(run, { stageCount: 1, powerExponent: 0 }));
 * cumulativeHeatCapacityJPerK; // => [120] within 0.1
 */
export function structureFunction(model: CoolerModel): StructureFunction {
  const caller = 'structureFunction';
  const { timeConstantsS, resistancesKPerW } = requireStages(model, caller);
  const count = model.ladder.length;
  if (count === 0) {
    throw new ArgumentError({
      caller,
      argument: 'model.ladder',
      expected: 'a ladder of one rung or more',
      received: `"${model.label}", whose stages are not identified`,
      remedy: 'log the warm-up itself: idle, then load at once, for several of the slowest time constants',
    });
  }
  const plain = functionsOf(model.ladder);
  const result: StructureFunction = {
    kind: 'structure-function',
    cumulativeResistanceKPerW: plain.slice(0, count),
    cumulativeHeatCapacityJPerK: plain.slice(count, 2 * count),
    differentialJWPerK2: plain.slice(2 * count),
  };
  const uncertainty = stageUncertaintyOf(model);
  if (uncertainty === undefined) return result;

  // In logarithms of all parameters, so that a step of one standard error never leaves the positive numbers.
  const stageCount = timeConstantsS.length;
  const logScale = (i: number): number => (i < stageCount ? 1 : resistancesKPerW[i - stageCount]);
  const logCovariance = uncertainty.covariance.map((row, i) =>
    row.map((value, j) => value / (logScale(i) * logScale(j))),
  );
  const values = [...timeConstantsS, ...resistancesKPerW].map(Math.log);
  const factor = studentTQuantile(0.975, model.resistanceLaw.degreesOfFreedom);
  const intervalOf = (index: number): readonly [number, number] => {
    const { standardError } = propagate(
      (logs) => Math.log(functionsOf(ladderFromPoles(polesOf(logs)))[index]),
      values,
      logCovariance,
    );
    // A common factor on all resistances leaves the time constants alone and divides the capacities.
    const sensitivity = index < 2 * count ? 1 : 2;
    const spread = Math.exp(
      factor * Math.hypot(standardError, sensitivity * Math.sqrt(uncertainty.scaleVariance)),
    );
    return [plain[index] / spread, plain[index] * spread];
  };
  const intervals = plain.map((_, index) => intervalOf(index));
  return {
    ...result,
    cumulativeResistanceIntervalsKPerW: intervals.slice(0, count),
    cumulativeHeatCapacityIntervalsJPerK: intervals.slice(count, 2 * count),
    differentialIntervalsJWPerK2: intervals.slice(2 * count),
  };
}

/** Cumulative resistances, then cumulative heat capacities, then the slopes. */
function functionsOf(
  ladder: readonly { readonly heatCapacityJPerK: number; readonly resistanceKPerW: number }[],
): number[] {
  let resistance = 0;
  let capacity = 0;
  const resistances = ladder.map((rung) => {
    resistance += rung.resistanceKPerW;
    return resistance;
  });
  const capacities = ladder.map((rung) => {
    capacity += rung.heatCapacityJPerK;
    return capacity;
  });
  return [
    ...resistances,
    ...capacities,
    ...ladder.map((rung) => rung.heatCapacityJPerK / rung.resistanceKPerW),
  ];
}

function polesOf(logs: Float64Array): Pole[] {
  const count = logs.length / 2;
  return Array.from({ length: count }, (_, k) => ({
    timeConstantS: Math.exp(logs[k]),
    resistanceKPerW: Math.exp(logs[count + k]),
  }));
}
