import type { ResidualFunction } from './residual-function.js';

/** Step of a central difference, as a share of the parameter, at which rounding and truncation weigh the same. */
const differenceStep = Math.cbrt(Number.EPSILON);

/** Second-order differences that stay within the bounds; returns the number of evaluations. */
export function differenceJacobian(
  residuals: ResidualFunction,
  x: Float64Array,
  f: Float64Array,
  out: Float64Array,
  lower: Float64Array,
  upper: Float64Array,
  work: {
    readonly above: Float64Array;
    readonly below: Float64Array;
    readonly scales?: ArrayLike<number>;
  },
): number {
  const n = x.length;
  const m = f.length;
  const { above, below } = work;
  let evaluations = 0;
  for (let j = 0; j < n; j += 1) {
    const centre = x[j];
    const width = upper[j] - lower[j];
    if (width === 0) {
      for (let i = 0; i < m; i += 1) out[i * n + j] = 0;
      continue;
    }
    const size = work.scales ? Math.max(Math.abs(centre), work.scales[j]) : Math.abs(centre) || 1;
    const wanted = Math.min(differenceStep * size, width / 4);
    // The step that is really taken is the difference of two floating-point numbers.
    const up = centre + wanted - centre;
    const down = centre - (centre - wanted);
    if (centre + up <= upper[j] && centre - down >= lower[j]) {
      x[j] = centre + up;
      residuals(x, above);
      x[j] = centre - down;
      residuals(x, below);
      const span = up + down;
      for (let i = 0; i < m; i += 1) out[i * n + j] = (above[i] - below[i]) / span;
    } else {
      const near = centre + up <= upper[j] ? up : -down;
      x[j] = centre + near;
      residuals(x, below);
      x[j] = centre + 2 * near;
      residuals(x, above);
      for (let i = 0; i < m; i += 1) out[i * n + j] = (4 * below[i] - 3 * f[i] - above[i]) / (2 * near);
    }
    evaluations += 2;
    x[j] = centre;
  }
  return evaluations;
}
