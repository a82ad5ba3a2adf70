import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import { studentTCdf } from '../../numerics/distributions.js';
import type { EstimatedNumber } from '../../numerics/estimate.js';
import { estimated } from '../../numerics/estimates.js';
import { holmAdjustedPValues } from '../../numerics/holm.js';
import type { CoolerModel } from '../cooler-model.js';
import { MOUNT_ALLOWANCE_FRACTION } from '../mount-spread.js';
import { requireModels } from '../require-model.js';
import { comparisonFindings } from './comparison-findings.js';
import { summariseComparison, summarisePair } from './comparison-summary.js';
import type { ComparedCooler, CoolerComparison, CoolerPair } from './cooler-comparison.js';
import { type EqualSound, fanSettingOf, requireEqualSound } from './equal-sound.js';
import { mountsToTell } from './mounts-to-tell.js';
import {
  combinedError,
  partsAfter,
  type ResistanceParts,
  resistancePartsOf,
  withoutCommon,
} from './resistance-parts.js';
import { untoldGroups } from './untold-groups.js';

/** Options of `compareCoolers`. */
export interface CompareCoolersOptions {
  /** Package power at which all are compared, W. */
  readonly powerW: number;
  /** Air at the intake, degrees Celsius, where steady temperatures are wanted beside the rises. */
  readonly ambientC?: number;
  /**
   * Standard deviation of the resistance from one mount to the next, as a fraction of it, for coolers of which one
   * mount was logged. Default 0.025. With 0 the comparison is of these very mounts, not of the coolers.
   */
  readonly mountAllowanceFraction?: number;
  /**
   * Compare at equal sound level: the level, and for the label of each model how loud that cooler is at one fan speed and
   * how its resistance goes with the fan speed. Default: each cooler at the fan speed it was logged with.
   */
  readonly equalSound?: EqualSound;
  /** Confidence of all verdicts together. Default 0.95. */
  readonly confidence?: number;
}

const OPTION_NAMES: KnownNames<CompareCoolersOptions> = {
  powerW: true,
  ambientC: true,
  mountAllowanceFraction: true,
  equalSound: true,
  confidence: true,
};

/**
 * Defaults of `CompareCoolersOptions`.
 *
 * @example
 * COMPARE_COOLERS_DEFAULTS; // => ({ mountAllowanceFraction: 0.025, confidence: 0.95 })
 */
const COMPARE_COOLERS_DEFAULTS: {
  readonly mountAllowanceFraction: number;
  readonly confidence: number;
} = { mountAllowanceFraction: MOUNT_ALLOWANCE_FRACTION, confidence: 0.95 };

/**
 * Which cooler is better at equal power and equal air, and which are not told apart by their runs.
 *
 * What is compared is the resistance R of the middle of all mounts of each cooler, and the steady rise P · R. Its
 * variance is u² = u²_fit + (s R)² / m: the fit at that power, and the spread s between mounts over the m mounts
 * logged. From one mount, s is the allowance. From several it is the logged spread pooled with the allowance by degrees
 * of freedom (m − 1 and 4), and never less than was logged. A pair's difference has the sum of both variances; its
 * interval is Student's with the degrees of freedom of Welch and Satterthwaite [JCGM100, G.4]. Errors that two fits
 * share (one thermometer for the air, say) cancel in a difference: models of one joint fit state them and they are left
 * out; between models fitted apart they are counted in full, which widens it.
 *
 * With k coolers there are k (k − 1) / 2 pairs, and one in twenty of equal ones would look different by chance. The
 * verdicts go by p-values after Holm's method: the chance that any of them wrongly says better or worse is at most
 * 1 − confidence, whatever the pairs have in common [Holm1979]. The intervals stay those of each pair alone, because
 * they answer how large that one difference is.
 *
 * The default allowance, 2.5 % of the resistance as one standard deviation, good to about 35 % itself, is an
 * assumption: paste, pressure and seating differ from mount to mount. Log each cooler in two mounts or more
 * (`conditions.mount`) to replace it by what is seen.
 *
 * Equal power and equal air is not equal sound: without `equalSound` each cooler is taken at the fan speed it was logged
 * with. With it, the fan speed of each at that level follows from its reference by the fan laws, n = n₀ · 10^((L − L₀) / 50 dB),
 * and the resistance there from the ratio of its fan curve at the two speeds. What curve and level leave open is added to the
 * variance; no further mount makes it smaller.
 *
 * @param models - two or more, from `fitCooler` or `coolerFromSteadyPoints`, with distinct labels
 * @param options - power, air, sound, allowance, confidence; see `CompareCoolersOptions`
 * @returns coolers, pairs, ranking; resistances in K/W, rises in K
 * @throws ArgumentError if there are fewer than two models, two share a label, an option is out of range, or a cooler lacks
 * what equal sound needs
 * @example
 * const model = (label: string, temperatureC: number) =>
 *   coolerFromSteadyPoints([{ powerW: 80, temperatureC, ambientC: 22 }], { label, temperatureUncertaintyK: 0.5 });
 * const { pairs, ranking } = compareCoolers(
 *   [model('flat 41 mm', 78), model('flat 58 mm', 75), model('tower 88 mm', 52)], { powerW: 80 },
 * );
 * ranking; // => [['tower 88 mm'], ['flat 58 mm', 'flat 41 mm']]
 * pairs[0].verdict; // => 'not told apart'
 * pairs[0].moreMountsOfEachCount; // => 5
 */
export function compareCoolers(
  models: readonly CoolerModel[],
  options: CompareCoolersOptions,
): CoolerComparison {
  const caller = 'compareCoolers';
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const { powerW, ambientC, mountAllowanceFraction, equalSound, confidence } = {
    ...COMPARE_COOLERS_DEFAULTS,
    ...options,
  };
  requireNumber(powerW, { caller, argument: 'options.powerW' }, { above: 0 });
  if (ambientC !== undefined)
    requireNumber(ambientC, { caller, argument: 'options.ambientC' }, { above: -273.15 });
  requireNumber(
    mountAllowanceFraction,
    {
      caller,
      argument: 'options.mountAllowanceFraction',
      remedy: 'give a fraction of the resistance: 0.025 is 2.5 %',
    },
    { atLeast: 0, atMost: 0.5 },
  );
  requireNumber(confidence, { caller, argument: 'options.confidence' }, { atLeast: 0.5, below: 1 });
  if (equalSound !== undefined) requireEqualSound(equalSound, caller);
  requireComparable(models, caller);

  const significance = 1 - confidence;
  const fans = models.map((model) =>
    equalSound === undefined ? undefined : fanSettingOf(model, equalSound, caller),
  );
  const parts = models.map((model, i) => {
    const fan = fans[i];
    return resistancePartsOf(model, {
      powerW,
      allowanceFraction: mountAllowanceFraction,
      ...(fan === undefined ? {} : { fan }),
      caller,
    });
  });
  const indices = models.map((_, i) => i);
  const couples = indices.flatMap((i) => indices.slice(i + 1).map((j) => [i, j] as const));
  const differences = couples.map(([i, j]) =>
    differenceOf(...withoutCommon([parts[i], parts[j]], [models[i], models[j]])),
  );
  const adjusted = holmAdjustedPValues(differences.map(({ pValue }) => pValue));
  const pairs = couples.map(([i, j], c): CoolerPair => {
    const { differenceKPerW, pValue } = differences[c];
    const apart = adjusted[c] <= significance;
    const pair: Omit<CoolerPair, 'summary'> = {
      first: models[i].label,
      second: models[j].label,
      differenceKPerW,
      riseDifferenceK: scaled(differenceKPerW, powerW),
      verdict: !apart ? 'not told apart' : differenceKPerW.value < 0 ? 'better' : 'worse',
      pValue,
      adjustedPValue: adjusted[c],
      // Planned at the strictest level of the method, so that the plan holds in whatever order the pairs come.
      moreMountsOfEachCount: apart ? 0 : mountsToTell(parts[i], parts[j], significance / couples.length),
    };
    return { ...pair, summary: summarisePair(pair, { powerW, significance, pairCount: couples.length }) };
  });

  const order = indices.toSorted((a, b) => parts[a].resistanceKPerW - parts[b].resistanceKPerW);
  const apart = (a: number, b: number): boolean =>
    couples.some(
      ([i, j], c) => i === Math.min(a, b) && j === Math.max(a, b) && pairs[c].verdict !== 'not told apart',
    );
  const coolers = order.map((index, place) =>
    comparedCooler(
      models[index].label,
      parts[index],
      { powerW, ambientC, fanSpeedRpm: fans[index]?.fanSpeedRpm },
      [
        1 + order.slice(0, place).filter((other) => apart(index, other)).length,
        order.length - order.slice(place + 1).filter((other) => apart(index, other)).length,
      ],
    ),
  );
  const ranking = untoldGroups(order.length, (a, b) => apart(order[a], order[b])).map((group) =>
    group.map((member) => models[order[member]].label),
  );
  const sound = equalSound === undefined ? {} : { soundLevelDb: equalSound.soundLevelDb };
  const findings = comparisonFindings(models, parts, { powerW, mountAllowanceFraction, ...sound, fans });
  const provisional = findings.some(({ severity }) => severity === 'serious');
  return {
    kind: 'cooler-comparison',
    powerW,
    ...(ambientC === undefined ? {} : { ambientC }),
    ...sound,
    confidence,
    mountAllowanceFraction,
    summary: summariseComparison(coolers, ranking, { powerW, ...sound, provisional }),
    coolers,
    pairs,
    ranking,
    findings,
  };
}

function differenceOf(
  first: ResistanceParts,
  second: ResistanceParts,
): { readonly differenceKPerW: EstimatedNumber; readonly pValue: number } {
  const difference = first.resistanceKPerW - second.resistanceKPerW;
  const { standardError, degreesOfFreedom } = combinedError([
    ...partsAfter(first, 0),
    ...partsAfter(second, 0),
  ]);
  const t = Math.abs(difference) / standardError;
  return {
    differenceKPerW: estimated(difference, standardError, {
      degreesOfFreedom,
      extrapolated: first.extrapolated || second.extrapolated,
    }),
    // Without any error a difference is certain, and none is none.
    pValue: standardError > 0 ? 2 * studentTCdf(-t, degreesOfFreedom) : difference === 0 ? 1 : 0,
  };
}

function comparedCooler(
  label: string,
  parts: ResistanceParts,
  at: { readonly powerW: number; readonly ambientC?: number; readonly fanSpeedRpm?: number },
  places: readonly [number, number],
): ComparedCooler {
  const { standardError, degreesOfFreedom } = combinedError(partsAfter(parts, 0));
  const resistance = estimated(parts.resistanceKPerW, standardError, {
    degreesOfFreedom,
    extrapolated: parts.extrapolated,
  });
  const rise = scaled(resistance, at.powerW);
  return {
    label,
    thermalResistanceKPerW: resistance,
    steadyRiseK: rise,
    ...(at.ambientC === undefined ? {} : { steadyTemperatureC: shifted(rise, at.ambientC) }),
    ...(at.fanSpeedRpm === undefined ? {} : { fanSpeedRpm: at.fanSpeedRpm }),
    mountCount: parts.mounts.mountCount,
    mountSpreadFraction: parts.mounts.usedFraction,
    mountSpreadSource: parts.mounts.mountCount > 1 ? 'logged' : 'allowed',
    places,
  };
}

function scaled(estimate: EstimatedNumber, factor: number): EstimatedNumber {
  const { value, standardError, interval95 } = estimate;
  return {
    ...estimate,
    value: value * factor,
    standardError: standardError * factor,
    interval95: [interval95[0] * factor, interval95[1] * factor],
  };
}

function shifted(estimate: EstimatedNumber, by: number): EstimatedNumber {
  const { value, interval95 } = estimate;
  return { ...estimate, value: value + by, interval95: [interval95[0] + by, interval95[1] + by] };
}

function requireComparable(models: readonly CoolerModel[], caller: string): void {
  requireModels(models, caller);
  if (models.length < 2) {
    throw new ArgumentError({
      caller,
      argument: 'models',
      expected: 'two cooler models or more',
      received: models,
    });
  }
  const labels = models.map((model) => model.label);
  const twice = labels.find((label, i) => labels.indexOf(label) !== i);
  if (twice === undefined) return;
  throw new ArgumentError({
    caller,
    argument: 'models',
    expected: 'models with distinct labels',
    received: `"${twice}" twice`,
    remedy:
      'fit all mounts of one cooler together as fitCooler([run, remounted]), or name each model with fitCooler(runs, { label })',
  });
}
