import { ArgumentError, requireKind, requireNumber } from '../../errors.js';
import type { PowerCurve } from '../power-curve.js';

const REMEDY = 'make one with fitPowerCurve or curveFromSteadyPoints';

/** Throws an `ArgumentError` unless the value is a power curve whose numbers can be computed with. */
export function requireCurve(
  value: unknown,
  caller: string,
  argument: string = 'curve',
  remedy: string = REMEDY,
): asserts value is PowerCurve {
  requireKind(value, 'power-curve', { caller, argument, remedy });
  // Plain data: one that was changed by hand or came back damaged is refused before it answers with NaN.
  const { parameters, degreesOfFreedom } = value as PowerCurve;
  requireNumber(
    degreesOfFreedom,
    { caller, argument: `${argument}.degreesOfFreedom`, remedy: REMEDY },
    { above: 0 },
  );
  requireKnownParameters(parameters, caller, `${argument}.parameters`);
}

function requireKnownParameters(parameters: unknown, caller: string, argument: string): void {
  if (typeof parameters !== 'object' || parameters === null)
    throw new ArgumentError({
      caller,
      argument,
      expected: 'the parameters of the form by name',
      received: parameters,
      remedy: REMEDY,
    });
  const numbers = parameters as Readonly<Record<string, unknown>>;
  for (const name in numbers)
    if (!Number.isFinite(numbers[name]))
      requireNumber(numbers[name], { caller, argument: `${argument}.${name}`, remedy: REMEDY });
}
