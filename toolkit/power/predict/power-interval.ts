/** Powers are searched up to this factor from the answer; a band that is wider tells nothing. */
const WIDEST_RATIO = 4;
const STEP_RATIO = 1.03;
const BISECTIONS = 50;

/**
 * Fieller's interval for the power that gives a frequency: all powers whose frequency differs from it by no more than
 * the curve's band there [Fieller1954]. On a straight line it is that of `inverseOfLine`; on a curve it is not symmetric.
 *
 * @param departureMHz - frequency of a power minus the one asked for; rising
 * @param halfBandMHz - half the width of the 95 % band at a power
 * @param powerW - where the departure is 0
 * @returns undefined where the band does not leave the frequency within a factor of 4 of the power
 */
export function powerInterval(
  departureMHz: (powerW: number) => number,
  halfBandMHz: (powerW: number) => number,
  powerW: number,
): readonly [low: number, high: number] | undefined {
  const edge = (direction: -1 | 1): number | undefined => {
    const inside = (at: number): boolean => direction * departureMHz(at) < halfBandMHz(at);
    let within = powerW;
    for (let beyond = powerW; ; within = beyond) {
      beyond *= STEP_RATIO ** direction;
      if (beyond > powerW * WIDEST_RATIO || beyond < powerW / WIDEST_RATIO) return undefined;
      if (inside(beyond)) continue;
      for (let k = 0; k < BISECTIONS; k++) {
        const middle = (within + beyond) / 2;
        if (inside(middle)) within = middle;
        else beyond = middle;
      }
      return (within + beyond) / 2;
    }
  };
  const low = edge(-1);
  const high = edge(1);
  return low === undefined || high === undefined ? undefined : [low, high];
}
