import type { CapChoice } from '../../cap/choose/cap-choice.js';

/** The order of every table and list of caps: the highest cap first, of equal caps the cooler die. */
export function highestCapFirst(choices: readonly CapChoice[]): readonly CapChoice[] {
  return [...choices].sort(
    (a, b) =>
      b.powerCapW - a.powerCapW || (a.steadyTemperatureC.value ?? 0) - (b.steadyTemperatureC.value ?? 0),
  );
}
