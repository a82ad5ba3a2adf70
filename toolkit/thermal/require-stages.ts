import { ArgumentError } from '../errors.js';
import type { CoolerModel } from './cooler-model.js';
import { requireModel } from './require-model.js';

/** The poles of a model that has them. */
export function requireStages(model: CoolerModel, caller: string): NonNullable<CoolerModel['poles']> {
  requireModel(model, caller);
  if (model.poles !== undefined) return model.poles;
  throw new ArgumentError({
    caller,
    argument: 'model',
    expected: 'a model with stages',
    received:
      model.method === 'steady-points'
        ? `"${model.label}", made from steady points`
        : `"${model.label}", whose stages could not be told from its start`,
    remedy:
      'fit a run with fitCooler that holds a change of power: idle before the load, or cool-down after it',
  });
}
