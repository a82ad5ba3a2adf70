/**
 * Variance that rounding leaves in an average of many readings.
 *
 * Readings that scatter over more than a step average their rounding out; readings that all fall on one value keep
 * the uniform variance step²/12. Between the two, for a Gaussian scatter s, the rounding of the mean is periodic
 * with variance Σₖ step²/(2π²k²)·e^(−4π²k²s²/step²) [WidrowKollar2008, ch. 4].
 *
 * @param step - rounding step, in the unit of the readings; 0 for none
 * @param readingVariance - variance of the rounded readings, unit²
 * @returns variance of the average's rounding, unit²
 */
export function roundingVariance(step: number, readingVariance: number): number {
  if (step <= 0) return 0;
  const scatter = Math.max(0, readingVariance - (step * step) / 12) / (step * step);
  if (scatter === 0) return (step * step) / 12;
  let sum = 0;
  for (let k = 1; k <= 50; k++) sum += Math.exp(-4 * Math.PI ** 2 * k * k * scatter) / (k * k);
  return ((step * step) / (2 * Math.PI ** 2)) * sum;
}

/**
 * Variance of the rounding that all averages of one segment have in common.
 *
 * Readings that change between two neighbouring values, a share p of them above, tell where the true value lies only as far
 * as their scatter is known: with none it stands at the threshold between the two, (p − ½)·step off their mean, with much of
 * it at their mean. Anywhere between is as likely, so the variance is ((p − ½)·step)²/3 = step²/12 − p·(1 − p)·step²/3, which
 * is the uniform one where all readings fall on one value. Readings that scatter wider follow `roundingVariance`. More
 * averages of the same segment cure none of it.
 *
 * @param step - rounding step, in the unit of the readings; 0 for none
 * @param readingVariance - variance of all the segment's rounded readings, unit²
 * @returns variance of the rounding in the segment's mean, unit²
 */
export function sharedRoundingVariance(step: number, readingVariance: number): number {
  return Math.max(roundingVariance(step, readingVariance), (step * step) / 12 - readingVariance / 3);
}
