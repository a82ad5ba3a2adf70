import { studentTQuantile } from '../../numerics/distributions.js';
import { effectiveDegreesOfFreedom } from '../../numerics/effective-degrees-of-freedom.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { type CoolerNumbers, riseAfter } from '../../thermal/cooler-numbers.js';
import {
  BOARD_SHARE,
  COMMON_REFERENCE_UNCERTAINTY_K,
  UNSETTLED_SHARE,
} from '../../thermal/fit/unseen-uncertainty.js';
import {
  ALLOWANCE_DEGREES_OF_FREEDOM,
  MOUNT_ALLOWANCE_FRACTION,
  mountSpreadOf,
  nextMountVarianceFraction,
} from '../../thermal/mount-spread.js';

/** Where one number stands for the air of a whole run, a run's own air is open by this much, K, as in the fit. */
const MOST_RUN_AIR_K = 0.3;
/** With an air column at least this much of its drift is open, K. */
const LEAST_RUN_AIR_K = 0.03;
/** How well the idle power before a run is known beforehand, W. */
const START_POWER_SPREAD_W = 10;
/** Instants that stand for a record: its information is a smooth function of time. */
const INSTANT_COUNT = 48;
/** Two powers count as different from this ratio on, as in the fit. */
const DISTINCT_POWER_RATIO = 1.1;

/**
 * What is known of a cooler as a normal distribution of everything its temperature depends on: log time constants, log
 * sensor lag, resistances, exponent, and the common offset of the reference. Runs that have not been logged yet are added
 * by their expected information.
 */
export interface CoolerKnowledge {
  readonly numbers: CoolerNumbers;
  readonly startPowerW: number;
  /** Of the parameters: stages' log time constants, log lag where there is one, resistances, exponent, reference. */
  readonly covariance: Float64Array;
  readonly count: number;
  readonly noise: { readonly standardDeviationK: number; readonly independentS: number };
  /** What each run's own air leaves open, K. */
  readonly runAirK: number;
  /** Longest uninterrupted record, s. */
  readonly longestS: number;
  /** Whether it is of transients: then the board and what had not settled leave a share open that no noise shows. */
  readonly ofTransients: boolean;
  readonly degreesOfFreedom: number;
  /** Powers logged, W. */
  readonly powersW: readonly [lowW: number, highW: number];
  /** Whether runs at several powers tell the exponent; from one power it stays as it was assumed. */
  readonly exponentKnown: boolean;
  /** Spread between mounts as a share of the resistance, and what it rests on; absent: the mount as it was logged. */
  readonly mounts?: {
    readonly mountCount: number;
    readonly usedFraction: number;
    readonly degreesOfFreedom: number;
  };
}

/** A run that could be logged. */
export interface RunToLog {
  readonly powerW: number;
  readonly durationS: number;
  /** Whether the cooler is taken off and mounted again before it. */
  readonly remounted: boolean;
}

/**
 * States a model's knowledge. Its law's standard error is split into what the covariance of the fit holds, what is
 * common to all runs, the spread between mounts, and the rest: that of the air of each run as far as it is plausible as
 * such, beyond that a common factor (other candidate structures).
 *
 * @param sampleS - how often the further runs will be sampled, s
 * @param forNextMount - whether the answer shall hold for the next mount, too; a model of several mounts does anyway
 */
export function knowledgeOf(
  model: CoolerModel,
  options: { readonly sampleS: number; readonly forNextMount: boolean },
): CoolerKnowledge {
  const law = model.resistanceLaw;
  const numbers = numbersOf(model);
  const stageCount = numbers.timeConstantsS.length;
  const lagCount = numbers.sensorLagS === undefined ? 0 : 1;
  const firstResistance = stageCount + lagCount;
  const exponent = firstResistance + stageCount;
  const reference = exponent + 1;
  const count = reference + 1;
  const covariance = new Float64Array(count * count);
  const places = [
    ...numbers.timeConstantsS.map((_, k) => `logTimeConstantS[${k + 1}]`),
    ...(lagCount === 1 ? ['logSensorLagS'] : []),
    ...numbers.resistancesKPerW.map((_, k) => `resistanceKPerW[${k + 1}]`),
    'powerExponent',
  ].map((name) => model.covariance.parameters.indexOf(name));
  for (let a = 0; a < reference; a++)
    for (let b = 0; b < reference; b++)
      if (places[a] >= 0 && places[b] >= 0)
        covariance[a * count + b] = model.covariance.matrix[places[a]][places[b]];

  const total = law.thermalResistanceKPerW;
  const ofTotal = (a: number): number => {
    let sum = 0;
    for (let k = 0; k < stageCount; k++) sum += covariance[a * count + firstResistance + k];
    return sum;
  };
  let fitVariance = 0;
  for (let k = 0; k < stageCount; k++) fitVariance += ofTotal(firstResistance + k);
  if (places[exponent] < 0) {
    // An exponent that was assumed goes with the total as the law says, and with the rest as the total does.
    const covarianceWithTotal =
      law.correlation * law.resistanceStandardErrorKPerW * law.exponentStandardError;
    const most = 0.99 * law.exponentStandardError * Math.sqrt(fitVariance);
    const share = fitVariance === 0 ? 0 : Math.min(most, Math.max(-most, covarianceWithTotal)) / fitVariance;
    for (let a = 0; a < exponent; a++) {
      const value = share * ofTotal(a);
      covariance[a * count + exponent] = value;
      covariance[exponent * count + a] = value;
    }
    covariance[exponent * count + exponent] = law.exponentStandardError ** 2;
  }

  const mountSpread = mountSpreadOf(model, MOUNT_ALLOWANCE_FRACTION);
  const mountVariance = total ** 2 * nextMountVarianceFraction(mountSpread);
  const commonKPerW = COMMON_REFERENCE_UNCERTAINTY_K / law.atPowerW;
  const { durationS: longestS } = model.testedRange;
  const ofTransients = model.poles !== undefined;
  const unseenKPerW = ofTransients ? total * unseenFraction(numbers, longestS) : 0;
  const rest = Math.max(
    0,
    law.resistanceStandardErrorKPerW ** 2 - fitVariance - mountVariance - commonKPerW ** 2 - unseenKPerW ** 2,
  );
  const runCount = Math.max(1, model.runLabels.length);
  const restOfRunK = Math.sqrt(rest * runCount) * law.atPowerW;
  // Resistances that were read with a reference too warm came out too low.
  const open = rest + commonKPerW ** 2;
  for (let k = 0; k < stageCount; k++) {
    const share = numbers.resistancesKPerW[k] / total;
    for (let l = 0; l < stageCount; l++)
      covariance[(firstResistance + k) * count + firstResistance + l] +=
        open * share * (numbers.resistancesKPerW[l] / total);
    const withReference = -commonKPerW * COMMON_REFERENCE_UNCERTAINTY_K * share;
    covariance[(firstResistance + k) * count + reference] = withReference;
    covariance[reference * count + firstResistance + k] = withReference;
  }
  covariance[reference * count + reference] = COMMON_REFERENCE_UNCERTAINTY_K ** 2;

  const startsW = model.starts.flatMap(({ startPowerW }) => startPowerW);
  return {
    numbers,
    startPowerW: Math.max(
      0,
      startsW.length === 0
        ? 0.1 * law.atPowerW
        : startsW.reduce((sum, powerW) => sum + powerW, 0) / startsW.length,
    ),
    covariance,
    count,
    noise: {
      standardDeviationK: Math.max(0.02, model.noise.standardDeviationK),
      independentS: options.sampleS * Math.max(1, model.noise.samplesPerIndependentSample),
    },
    longestS,
    ofTransients,
    runAirK: Math.min(MOST_RUN_AIR_K, Math.max(LEAST_RUN_AIR_K, restOfRunK)),
    degreesOfFreedom: law.degreesOfFreedom,
    powersW: model.testedRange.powerW,
    exponentKnown: places[exponent] >= 0 || law.exponentSource === 'fitted',
    ...(options.forNextMount || mountSpread.mountCount > 1
      ? {
          mounts: {
            mountCount: mountSpread.mountCount,
            usedFraction: mountSpread.usedFraction,
            degreesOfFreedom: mountSpread.degreesOfFreedom,
          },
        }
      : {}),
  };
}

/** The knowledge as it is expected to be after one more run: the update of a normal distribution, instant by instant. */
export function afterRun(knowledge: CoolerKnowledge, run: RunToLog): CoolerKnowledge {
  const { count, noise, runAirK, mounts } = knowledge;
  const [lowW, highW] = knowledge.powersW;
  // Within one run a resistance that falls as it warms up looks like one more stage: the fit takes the exponent from
  // runs at several powers alone, and until then carries it along as it was assumed.
  const exponentKnown =
    knowledge.exponentKnown ||
    run.powerW > DISTINCT_POWER_RATIO * lowW ||
    run.powerW < highW / DISTINCT_POWER_RATIO;
  // Unknown of this run alone: where it started, its own air, and its mount where it is a new one.
  const ownVariances = [START_POWER_SPREAD_W ** 2, runAirK ** 2];
  const size = count + ownVariances.length;
  const covariance = new Float64Array(size * size);
  for (let a = 0; a < count; a++)
    for (let b = 0; b < count; b++) covariance[a * size + b] = knowledge.covariance[a * count + b];
  ownVariances.forEach((variance, k) => {
    covariance[(count + k) * size + count + k] = variance;
  });
  let fromS = 0;
  for (let i = 1; i <= INSTANT_COUNT; i++) {
    // Closer together at first, where the temperature changes fastest.
    const toS = run.durationS * (i / INSTANT_COUNT) ** 2;
    const slopes = slopesAt(knowledge, run.powerW, (fromS + toS) / 2);
    const variance = (noise.standardDeviationK ** 2 * noise.independentS) / (toS - fromS);
    condition(covariance, size, slopes, variance, exponentKnown ? -1 : count - 2);
    fromS = toS;
  }
  const kept = new Float64Array(count * count);
  for (let a = 0; a < count; a++)
    for (let b = 0; b < count; b++) kept[a * count + b] = covariance[a * size + b];
  return {
    ...knowledge,
    covariance: kept,
    longestS: Math.max(knowledge.longestS, run.durationS),
    powersW: [Math.min(lowW, run.powerW), Math.max(highW, run.powerW)],
    exponentKnown,
    degreesOfFreedom: knowledge.degreesOfFreedom + run.durationS / noise.independentS,
    ...(mounts === undefined || !run.remounted
      ? {}
      : {
          mounts: {
            ...mounts,
            mountCount: mounts.mountCount + 1,
            degreesOfFreedom: ALLOWANCE_DEGREES_OF_FREEDOM + mounts.mountCount,
          },
        }),
  };
}

/** Relative standard error of the resistance at a power, the half-width factor of its 95 % interval, and its parts. */
export function resistanceSpreadAt(
  knowledge: CoolerKnowledge,
  powerW: number,
): { readonly standardErrorFraction: number; readonly halfWidthFraction: number } {
  const { count, numbers, covariance, mounts, degreesOfFreedom } = knowledge;
  const stageCount = numbers.timeConstantsS.length;
  const exponent = count - 2;
  const total = numbers.resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
  const weights = new Float64Array(count);
  for (let k = 0; k < stageCount; k++) weights[exponent - stageCount + k] = 1 / total;
  weights[exponent] = -Math.log(powerW / numbers.atPowerW);
  let fit = 0;
  for (let a = 0; a < count; a++)
    for (let b = 0; b < count; b++) fit += weights[a] * weights[b] * covariance[a * count + b];
  fit = Math.max(0, fit) + (knowledge.ofTransients ? unseenFraction(numbers, knowledge.longestS) ** 2 : 0);
  const mounting = mounts === undefined ? 0 : mounts.usedFraction ** 2 * (1 + 1 / mounts.mountCount);
  const standardErrorFraction = Math.sqrt(fit + mounting);
  const freedom = Math.max(
    3,
    effectiveDegreesOfFreedom([
      { variance: fit, degreesOfFreedom },
      { variance: mounting, degreesOfFreedom: mounts?.degreesOfFreedom ?? 1 },
    ]),
  );
  return {
    standardErrorFraction,
    halfWidthFraction: studentTQuantile(0.975, Math.min(freedom, 1e6)) * standardErrorFraction,
  };
}

/** Share of the resistance that no record shows, as the fit takes it: the board, and what had not settled. */
function unseenFraction({ timeConstantsS, resistancesKPerW }: CoolerNumbers, longestS: number): number {
  const slowest = timeConstantsS.length - 1;
  const total = resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
  const unsettled = (resistancesKPerW[slowest] / total) * Math.exp(-longestS / timeConstantsS[slowest]);
  return Math.hypot(BOARD_SHARE, UNSETTLED_SHARE * unsettled);
}

/** A model without stages is one whose runs have settled: a single fast stage stands for it. */
function numbersOf(model: CoolerModel): CoolerNumbers {
  const { atPowerW, powerExponent, thermalResistanceKPerW } = model.resistanceLaw;
  const { poles } = model;
  return {
    timeConstantsS: poles?.timeConstantsS ?? [1],
    resistancesKPerW: poles?.resistancesKPerW ?? [thermalResistanceKPerW],
    ...(poles?.sensorLagS === undefined ? {} : { sensorLagS: poles.sensorLagS }),
    powerExponent,
    atPowerW,
  };
}

/** What the measured rise of a run changes by with each parameter, its start, and its own air. */
function slopesAt(knowledge: CoolerKnowledge, powerW: number, elapsedS: number): Float64Array {
  const { numbers, startPowerW, count } = knowledge;
  const stageCount = numbers.timeConstantsS.length;
  const rise = (changed: Partial<CoolerNumbers>, startW: number = startPowerW): number =>
    riseAfter(
      { ...numbers, ...changed },
      powerW,
      numbers.timeConstantsS.map(() => startW),
      elapsedS,
    );
  const slopes = new Float64Array(count + 2);
  const step = 1e-4;
  let at = 0;
  const central = (high: number, low: number, width: number): void => {
    slopes[at++] = (high - low) / width;
  };
  for (let k = 0; k < stageCount; k++) {
    const moved = (factor: number) => ({
      timeConstantsS: numbers.timeConstantsS.map((value, l) => (l === k ? value * factor : value)),
    });
    central(rise(moved(1 + step)), rise(moved(1 - step)), 2 * step);
  }
  const { sensorLagS } = numbers;
  if (sensorLagS !== undefined)
    central(
      rise({ sensorLagS: sensorLagS * (1 + step) }),
      rise({ sensorLagS: sensorLagS * (1 - step) }),
      2 * step,
    );
  for (let k = 0; k < stageCount; k++) {
    const moved = (change: number) => ({
      resistancesKPerW: numbers.resistancesKPerW.map((value, l) => (l === k ? value + change : value)),
    });
    central(rise(moved(step)), rise(moved(-step)), 2 * step);
  }
  const { powerExponent } = numbers;
  central(
    rise({ powerExponent: powerExponent + step }),
    rise({ powerExponent: powerExponent - step }),
    2 * step,
  );
  slopes[at++] = 1; // common reference
  central(rise({}, startPowerW + 0.1), rise({}, startPowerW - 0.1), 0.2);
  slopes[at] = 1; // the run's own air
  return slopes;
}

/**
 * Conditions a normal distribution on one measurement, Σ − Σh hᵀΣ / (hᵀΣh + v); a parameter that is carried along keeps
 * its own variance (a Schmidt update: its gain is 0).
 */
function condition(
  covariance: Float64Array,
  size: number,
  slopes: Float64Array,
  variance: number,
  carriedIndex: number,
): void {
  const product = new Float64Array(size);
  let total = variance;
  for (let a = 0; a < size; a++) {
    let sum = 0;
    for (let b = 0; b < size; b++) sum += covariance[a * size + b] * slopes[b];
    product[a] = sum;
    total += slopes[a] * sum;
  }
  for (let a = 0; a < size; a++)
    for (let b = 0; b < size; b++)
      if (a !== carriedIndex || b !== carriedIndex)
        covariance[a * size + b] -= (product[a] * product[b]) / total;
}
