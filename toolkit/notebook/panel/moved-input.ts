import type { CapScenario, UncertainInput } from '../../cap/scenario/cap-scenario.js';
import { formatNumber } from '../../numerics/format-estimate.js';

/** A stated enclosure, or what a measured one says to a scenario. */
export function enclosureOf(enclosure: NonNullable<CapScenario['enclosure']>): {
  readonly riseK: UncertainInput;
  readonly atPowerW?: number;
} {
  return 'scenario' in enclosure ? enclosure.scenario : enclosure;
}

/** The middle of an uncertain input. */
export function centreOf(input: UncertainInput): number {
  if (typeof input === 'number') return input;
  return 'mean' in input ? input.mean : (input.low + input.high) / 2;
}

/** The same spread about another middle, not below a bound; itself where its middle has not moved. */
export function movedTo(
  input: UncertainInput,
  centre: number,
  atLeast: number = Number.NEGATIVE_INFINITY,
): UncertainInput {
  if (typeof input === 'number') return centre;
  if (centre === centreOf(input)) return input;
  if ('mean' in input) return { ...input, mean: centre };
  const half = (input.high - input.low) / 2;
  return { low: Math.max(atLeast, tidy(centre - half)), high: tidy(centre + half) };
}

/** Without the last digits that a sum of decimal fractions has in excess: the numbers stand in code that people read. */
function tidy(value: number): number {
  return Number(value.toPrecision(12));
}

/** A label that says how uncertain its input is. */
export function withSpread(label: string, input: UncertainInput): string {
  if (typeof input === 'number') return label;
  if ('mean' in input) return `${label} (standard deviation ${formatNumber(input.standardDeviation, 'K')})`;
  return `${label} ± ${formatNumber((input.high - input.low) / 2, 'K')}`;
}
