/**
 * The part of the die's temperature that follows the air: the air at the intake, delayed by the heat capacities
 * between it and the die.
 *
 * From the air end of a ladder to its die the transfer function has the ladder's poles and no zeros; the slowest
 * pole carries almost all of it, so the air is passed through that one: y' = (T_air − y) / τ, starting settled.
 *
 * @param timeS - sample times, s, increasing; length m
 * @param ambientC - air at the intake, degrees Celsius; length m
 * @param timeConstantS - slowest time constant of the cooler, s; 0 passes the air through as it is
 * @returns degrees Celsius, length m
 */
export function airAtDie(
  timeS: ArrayLike<number>,
  ambientC: ArrayLike<number>,
  timeConstantS: number,
): Float64Array {
  const seen = Float64Array.from(ambientC);
  if (timeConstantS <= 0) return seen;
  seen[0] = meanOfFirst(timeS, ambientC, SETTLED_S);
  for (let i = 1; i < seen.length; i++) {
    // Air between two readings is their mean: the thermometer shows a course, not steps.
    const between = (ambientC[i] + ambientC[i - 1]) / 2;
    seen[i] = between + Math.exp((timeS[i - 1] - timeS[i]) / timeConstantS) * (seen[i - 1] - between);
  }
  return seen;
}

/** The air before the record is taken as the mean of its first part, s. */
const SETTLED_S = 60;

function meanOfFirst(timeS: ArrayLike<number>, values: ArrayLike<number>, spanS: number): number {
  let sum = 0;
  let count = 0;
  while (count < values.length && timeS[count] - timeS[0] <= spanS) sum += values[count++];
  return sum / count;
}
