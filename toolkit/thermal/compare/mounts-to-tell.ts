import { studentTQuantile } from '../../numerics/distributions.js';
import { combinedError, partsAfter, type ResistanceParts } from './resistance-parts.js';

/** More mounts than this of each of two coolers nobody makes to tell them apart. */
const MOST_MOUNTS = 20;

/** Chance with which the planned mounts shall tell two coolers apart that differ as they seem to. */
const PLANNED_POWER = 0.8;

/**
 * How many further mounts of each of two coolers, each logged with a run of its own, would tell them apart with a
 * chance of 80 % if they differ by as much as they now seem to.
 *
 * The smallest n with |Δ| ≥ (t₁₋α/₂(ν) + t₀.₈(ν)) · u(n): the usual two-sample plan [Cohen1988, ch. 2], with the standard
 * error u and its degrees of freedom ν as they will be after n more mounts.
 */
export function mountsToTell(
  first: ResistanceParts,
  second: ResistanceParts,
  significance: number,
): number | 'no reasonable number' {
  const difference = Math.abs(first.resistanceKPerW - second.resistanceKPerW);
  for (let count = 1; count <= MOST_MOUNTS; count++) {
    const { standardError, degreesOfFreedom } = combinedError([
      ...partsAfter(first, count),
      ...partsAfter(second, count),
    ]);
    const factor =
      studentTQuantile(1 - significance / 2, degreesOfFreedom) +
      studentTQuantile(PLANNED_POWER, degreesOfFreedom);
    if (difference > 0 && difference >= factor * standardError) return count;
  }
  return 'no reasonable number';
}
