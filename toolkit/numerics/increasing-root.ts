/**
 * Root of an increasing function between two bounds, by inverse quadratic interpolation where three points allow it and by
 * bisection where they do not [Chandrupatla1997]; to 1e-12 of the bounds' distance. The bounds' own values must not both
 * lie on one side.
 */
export function increasingRoot(f: (x: number) => number, low: number, high: number): number {
  // The root lies between a, the latest point, and b; c is the one before them.
  let [a, b, c] = [low, high, high];
  let [fa, fb, fc] = [f(a), f(b), 0];
  if (fa >= 0) return low;
  if (fb <= 0) return high;
  const tolerance = 1e-12 * (high - low);
  let step = fa / (fa - fb);
  for (let round = 0; round < 200; round++) {
    const x = a + step * (b - a);
    const fx = f(x);
    if (fx === 0) return x;
    if (fx < 0 === fa < 0) [c, fc] = [a, fa];
    else [c, fc, b, fb] = [b, fb, a, fa];
    [a, fa] = [x, fx];
    const least = tolerance / Math.abs(b - a);
    if (least > 0.5) break;
    const place = (a - b) / (c - b);
    const share = (fa - fb) / (fc - fb);
    step =
      share ** 2 < place && (1 - share) ** 2 < 1 - place
        ? ((fa / (fb - fa)) * fc) / (fb - fc) + ((((c - a) / (b - a)) * fa) / (fc - fa)) * (fb / (fc - fb))
        : 0.5;
    step = Math.min(1 - least, Math.max(least, step));
  }
  return Math.abs(fa) < Math.abs(fb) ? a : b;
}
