import { ArgumentError, requireKind } from '../errors.js';
import type { CoolerModel } from './cooler-model.js';

const REMEDY = 'make one with fitCooler or coolerFromSteadyPoints';

/** Throws an `ArgumentError` unless the value is a cooler model. */
export function requireModel(
  value: unknown,
  caller: string,
  argument: string = 'model',
): asserts value is CoolerModel {
  requireKind(value, 'cooler-model', { caller, argument, remedy: REMEDY });
}

/** Throws an `ArgumentError` unless the value is an array of cooler models. */
export function requireModels(value: unknown, caller: string): asserts value is readonly CoolerModel[] {
  if (!Array.isArray(value))
    throw new ArgumentError({
      caller,
      argument: 'models',
      expected: 'an array of cooler models',
      received: value,
      remedy: REMEDY,
    });
  value.forEach((model: unknown, i) => {
    requireModel(model, caller, `models[${i}]`);
  });
}
