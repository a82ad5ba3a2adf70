/**
 * The largest multiple of `stepW` that is not above `powerW`, W.
 *
 * A value within 1e-9 W below a multiple is that multiple: computed caps carry rounding of that order.
 */
export function stepDown(powerW: number, stepW: number): number {
  const nearest = Math.round(powerW / stepW);
  const steps = Math.abs(powerW - nearest * stepW) <= 1e-9 ? nearest : Math.floor(powerW / stepW);
  return Number((steps * stepW).toPrecision(12)); // 3 · 0.1 is 0.3, not 0.30000000000000004
}
