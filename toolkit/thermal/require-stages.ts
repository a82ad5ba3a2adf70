import { ArgumentError } from '../errors.js';
import type { CoolerModel } from './cooler-model.js';

/** The poles of a model that has them. */
export function requireStages(model: CoolerModel, caller: string): NonNullable<CoolerModel['poles']> {
  if (model.poles !== undefined) return model.poles;
  throw new ArgumentError({
    caller,
    argument: 'model',
    expected: 'a model with stages',
    received: `"${model.label}", made from steady points`,
    remedy: 'averages carry no time constants; fit a logged run with fitCooler',
  });
}
