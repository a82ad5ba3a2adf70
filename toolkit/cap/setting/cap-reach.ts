import { NumericalError } from '../../errors.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';

/** A cap may leave the tested range by this share of its end before it counts as extrapolated. */
const EXTRAPOLATION_TOLERANCE = 0.02;
/**
 * Beyond this ratio to the nearest power logged an answer is provisional, and beyond its square none is given: the
 * law R ∝ P^−q with one exponent is a description of the powers logged, not of all powers.
 */
const PROVISIONAL_RATIO = 2;
const REFUSED_RATIO = PROVISIONAL_RATIO ** 2;

type Range = readonly [lowW: number, highW: number];

/** Whether a power lies outside a tested range by more than 2 %. */
export function liesOutside(powerW: number, [lowW, highW]: Range): boolean {
  return powerW < lowW * (1 - EXTRAPOLATION_TOLERANCE) || powerW > highW * (1 + EXTRAPOLATION_TOLERANCE);
}

/** Whether a power lies below half of what was logged, or above twice that. */
export function liesFarOutside(powerW: number, [lowW, highW]: Range): boolean {
  return powerW < lowW / PROVISIONAL_RATIO || powerW > highW * PROVISIONAL_RATIO;
}

/** The powers logged, in words. */
export function rangeInWords([lowW, highW]: Range): string {
  const [low, high] = [formatNumber(lowW), formatNumber(highW)];
  return low === high ? `${low} W` : `${low} to ${high} W`;
}

/**
 * The highest power logged, W: with this cooler or, where the curve is of the same processor, with any. What the
 * processor has drawn before says more about what it, its board and its supply may draw than what a cooler could carry.
 */
export function highestPowerLogged(cooler: CoolerModel, curve: PowerCurve | undefined): number {
  const ofCooler = cooler.testedRange.powerW[1];
  return curve === undefined || areOfDifferentProcessors(cooler, curve)
    ? ofCooler
    : Math.max(ofCooler, curve.testedRange.powerW[1]);
}

/** Whether both name a processor, and not the same. */
export function areOfDifferentProcessors(cooler: CoolerModel, curve: PowerCurve): boolean {
  return (
    cooler.processor !== undefined && curve.processor !== undefined && cooler.processor !== curve.processor
  );
}

/** The lowest cap that the data can carry, W: a quarter of the least power logged. */
export function lowestWithinReach({ testedRange }: CoolerModel): number {
  return testedRange.powerW[0] / REFUSED_RATIO;
}

/** Whether the data can carry a cap: it lies within a quarter of the least and four times the highest power logged. */
export function liesWithinReach(cooler: CoolerModel, powerCapW: number): boolean {
  return powerCapW >= lowestWithinReach(cooler) && powerCapW <= cooler.testedRange.powerW[1] * REFUSED_RATIO;
}

/** Throws a `NumericalError` where a cap lies so far from the powers logged that the data cannot carry it. */
export function requireReach(cooler: CoolerModel, powerCapW: number, caller: string): void {
  if (liesWithinReach(cooler, powerCapW)) return;
  const { powerW } = cooler.testedRange;
  const isLow = powerCapW < powerW[0];
  const side = isLow ? 'less than a quarter of' : 'more than four times';
  throw new NumericalError(
    `${caller}: a cap of about ${formatNumber(powerCapW)} W would follow for '${cooler.label}', ${side} the ${rangeInWords(powerW)} it was logged at, which these data cannot carry; ` +
      `log a run at about that power, ${isLow ? 'give `minCapW`, the lowest cap of use, ' : ''}or check the limit, the room air and the enclosure`,
  );
}
