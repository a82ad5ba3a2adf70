import { ArgumentError, requireNumber } from '../errors.js';
import type { CoolerModel } from './cooler-model.js';
import type { FanCurve } from './fan-law.js';

/** The fan curve of a model that has one. */
export function requireFanCurve(model: CoolerModel, caller: string, argument: string): FanCurve {
  if (model.fanCurve !== undefined) return model.fanCurve;
  throw new ArgumentError({
    caller,
    argument,
    expected: 'left out for a model without a fan curve',
    received: `a fan speed for "${model.label}"`,
    remedy: 'fit runs at several logged fan speeds together with fitCooler',
  });
}

/** A fan speed above 0, revolutions per minute. */
export function requireFanSpeed(value: unknown, caller: string, argument: string): number {
  requireNumber(value, { caller, argument }, { above: 0 });
  return value;
}
