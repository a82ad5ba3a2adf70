/**
 * Root of an increasing function between two bounds, by regula falsi with the Illinois modification and bisection
 * where that is slow; to 1e-12 of the bounds' distance. The bounds' own values must not both lie on one side.
 */
export function increasingRoot(f: (x: number) => number, low: number, high: number): number {
  let a = low;
  let b = high;
  let fa = f(a);
  let fb = f(b);
  if (fa >= 0) return a;
  if (fb <= 0) return b;
  const tolerance = 1e-12 * (high - low);
  let stayed: 'low' | 'high' | undefined;
  for (let round = 0; round < 200 && b - a > tolerance; round++) {
    // Every third step halves, so that the interval shrinks whatever the function.
    const x = round % 3 === 2 ? (a + b) / 2 : b - (fb * (b - a)) / (fb - fa);
    const fx = f(x);
    if (fx === 0) return x;
    if (fx < 0) {
      a = x;
      fa = fx;
      // An end that stays twice is weighted down, or the straight line would creep up from one side.
      if (stayed === 'high') fb /= 2;
      stayed = 'high';
    } else {
      b = x;
      fb = fx;
      if (stayed === 'low') fa /= 2;
      stayed = 'low';
    }
  }
  return (a + b) / 2;
}
