import { ArgumentError, requireNumber } from '../../errors.js';
import type { UniformDraws } from '../draws/standard-draws.js';
import type { UncertainInput } from './cap-scenario.js';

/** Throws an `ArgumentError` unless the value is one of the three forms of an uncertain input, within the bounds. */
export function requireUncertainInput(
  value: unknown,
  where: { readonly caller: string; readonly argument: string; readonly remedy?: string },
  bounds: { readonly atLeast?: number } = {},
): asserts value is UncertainInput {
  if (typeof value === 'number') {
    requireNumber(value, where, bounds);
    return;
  }
  const part = (name: string) => ({ ...where, argument: `${where.argument}.${name}` });
  if (hasExactly(value, ['low', 'high'])) {
    const { low, high } = value;
    requireNumber(low, part('low'), bounds);
    requireNumber(high, part('high'));
    if (low > high)
      throw new ArgumentError({
        caller: where.caller,
        argument: where.argument,
        expected: 'a range whose `low` is not above its `high`',
        received: `low ${low}, high ${high}`,
        remedy: 'exchange the two if that is what you mean',
      });
    return;
  }
  if (hasExactly(value, ['mean', 'standardDeviation'])) {
    requireNumber(value['mean'], part('mean'), bounds);
    requireNumber(value['standardDeviation'], part('standardDeviation'), { atLeast: 0 });
    return;
  }
  throw new ArgumentError({
    caller: where.caller,
    argument: where.argument,
    expected: 'a number, { low, high } or { mean, standardDeviation }',
    received:
      typeof value === 'object' && value !== null
        ? `{ ${Object.keys(value).join(', ')} }`
        : (value as unknown),
    ...(where.remedy === undefined ? {} : { remedy: where.remedy }),
  });
}

function hasExactly(value: unknown, names: readonly string[]): value is Readonly<Record<string, unknown>> {
  return (
    typeof value === 'object' &&
    value !== null &&
    Object.keys(value).length === names.length &&
    names.every((name) => name in value)
  );
}

/** The expected value of an uncertain input, in its own unit. */
export function centreOf(input: UncertainInput): number {
  if (typeof input === 'number') return input;
  return 'mean' in input ? input.mean : (input.low + input.high) / 2;
}

/** The highest value an uncertain input states: its number, its upper bound, its mean. */
export function highestOf(input: UncertainInput): number {
  if (typeof input === 'number') return input;
  return 'mean' in input ? input.mean : input.high;
}

/** An uncertain input in words, with its unit: `26 °C`, `20 to 30 °C`, `26 ± 2 °C (one standard deviation)`. */
export function describeInput(input: UncertainInput, unit: string): string {
  if (typeof input === 'number') return `${tidy(input)} ${unit}`;
  if ('mean' in input)
    return input.standardDeviation === 0
      ? `${tidy(input.mean)} ${unit}`
      : `${tidy(input.mean)} ± ${tidy(input.standardDeviation)} ${unit} (one standard deviation)`;
  return input.low === input.high
    ? `${tidy(input.low)} ${unit}`
    : `${tidy(input.low)} to ${tidy(input.high)} ${unit}`;
}

const tidy = (value: number): string => String(Number(value.toFixed(1)));

/**
 * Draws of an uncertain input, added to what `sums` holds: x = F⁻¹(u), from uniform draws and their normal scores.
 */
export function addDraws(input: UncertainInput, draws: UniformDraws, sums: Float64Array): void {
  if (typeof input === 'number') {
    for (let i = 0; i < sums.length; i++) sums[i] += input;
  } else if ('mean' in input) {
    const { mean, standardDeviation } = input;
    const scores = draws.normalScores();
    for (let i = 0; i < sums.length; i++) sums[i] += mean + standardDeviation * scores[i];
  } else {
    const { low, high } = input;
    const { uniforms } = draws;
    for (let i = 0; i < sums.length; i++) sums[i] += low + (high - low) * uniforms[i];
  }
}
