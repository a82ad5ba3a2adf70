/** A stretch in which a column repeats one reading. */
export interface HeldStretch {
  readonly firstIndex: number;
  readonly lastIndex: number;
}

/** A reading may stay the same this long, s, and this many samples, without a reason to doubt it. */
const PLAUSIBLE_HOLD_S = 30;
const PLAUSIBLE_HOLD_COUNT = 20;

/** Sensors and stages between power and reading let the temperature answer up to this late, s. */
export const LATEST_ANSWER_S = 15;

/** Stretches in which a column repeats one reading for at least 30 s and 20 samples. */
export function heldStretches(timeS: Float64Array, values: Float64Array): readonly HeldStretch[] {
  const stretches: HeldStretch[] = [];
  let firstIndex = 0;
  for (let i = 1; i <= values.length; i++) {
    if (i < values.length && values[i] === values[firstIndex]) continue;
    const lastIndex = i - 1;
    if (
      lastIndex - firstIndex + 1 >= PLAUSIBLE_HOLD_COUNT &&
      timeS[lastIndex] - timeS[firstIndex] >= PLAUSIBLE_HOLD_S
    )
      stretches.push({ firstIndex, lastIndex });
    firstIndex = i;
  }
  return stretches;
}
