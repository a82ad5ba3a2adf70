/**
 * A chance or a weight in per cent: two significant digits of it, or of what is missing to 100 where that is less; never 0
 * or 100, for it comes from a few thousand draws or from a criterion.
 */
export function chancePercent(fraction: number): number | string {
  if (fraction < 0.001) return 'below 0.1';
  if (fraction > 0.999) return 'above 99.9';
  const percent = 100 * fraction;
  return Number(percent.toPrecision(percent < 90 ? 2 : 3));
}
