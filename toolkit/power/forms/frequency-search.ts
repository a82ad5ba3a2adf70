/** Frequencies from e^−5 to e^2 times the reference are searched. */
const LOWEST_LOG_RATIO = -5;
const HIGHEST_LOG_RATIO = 2;

/** Grid of u that starts the search: 0.3 to 1.8 times the reference frequency. */
const GRID_COUNT = 33;
const GRID_START = -1.2;
const GRID_STEP = 0.05625;

/** Power and its slope at u = ln(f/f₀), for a leakage stated at the reference voltage. */
type PowerAt = (
  u: number,
  leakageAtReferenceVoltageW: number,
) => { readonly powerW: number; readonly slopeW: number };

/**
 * The inverse of a rising power in u = ln(f/f₀): Newton's method kept inside a shrinking bracket, started from a coarse
 * grid, and bisection where a step is not half the one before, as high above the root, where the power rises too steeply
 * for Newton's steps, or where a curve is nearly flat. Power must be linear in the leakage, which temperature changes: the
 * grid is filled once.
 */
export function frequencySearch(
  powerAt: PowerAt,
): (powerW: number, leakageAtReferenceVoltageW: number) => number {
  const gridPowerW = new Float64Array(GRID_COUNT);
  const gridPerLeakage = new Float64Array(GRID_COUNT);
  for (let i = 0; i < GRID_COUNT; i++) {
    const u = GRID_START + i * GRID_STEP;
    gridPowerW[i] = powerAt(u, 0).powerW;
    gridPerLeakage[i] = powerAt(u, 1).powerW - gridPowerW[i];
  }
  const startFor = (powerW: number, leakageW: number): number => {
    const gridAt = (i: number): number => gridPowerW[i] + leakageW * gridPerLeakage[i];
    let low = 0;
    let high = GRID_COUNT - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (gridAt(middle) > powerW) high = middle;
      else low = middle;
    }
    const from = gridAt(low);
    const share = (powerW - from) / (gridAt(high) - from);
    return GRID_START + GRID_STEP * (low + Math.min(1, Math.max(0, share)));
  };
  return (powerW, leakageAtReferenceVoltageW) => {
    let low = LOWEST_LOG_RATIO;
    let high = HIGHEST_LOG_RATIO;
    let u = startFor(powerW, leakageAtReferenceVoltageW);
    let mostStep = Number.POSITIVE_INFINITY;
    for (let iteration = 0; iteration < 100; iteration++) {
      const at = powerAt(u, leakageAtReferenceVoltageW);
      if (at.powerW > powerW) high = u;
      else low = u;
      const step = (at.powerW - powerW) / at.slopeW;
      const next = u - step;
      if (Math.abs(step) < 1e-10) return next;
      if (next >= low && next <= high && Math.abs(step) <= mostStep) {
        u = next;
        mostStep = Math.abs(step) / 2;
      } else {
        u = (low + high) / 2;
        mostStep = (high - low) / 4;
      }
    }
    return u;
  };
}
