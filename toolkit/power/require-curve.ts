import { requireKind } from '../errors.js';
import type { PowerCurve } from './power-curve.js';

/** Throws an `ArgumentError` unless the value is a power curve. */
export function requireCurve(value: unknown, caller: string): asserts value is PowerCurve {
  requireKind(value, 'power-curve', {
    caller,
    argument: 'curve',
    remedy: 'make one with fitPowerCurve or curveFromSteadyPoints',
  });
}
