import type { CapChoice } from '../../cap/choose/cap-choice.js';
import { ArgumentError } from '../../errors.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { CoolerComparison } from '../../thermal/compare/cooler-comparison.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { exactJson } from './exact-json.js';
import { modelShapes } from './model-shapes.js';
import { isRecord } from './shape.js';

/** A result that can be saved, by its `kind`. */
export interface SavableModels {
  readonly 'cooler-model': CoolerModel;
  readonly 'power-curve': PowerCurve;
  readonly 'cap-choice': CapChoice;
  readonly 'cooler-comparison': CoolerComparison;
}

/** Any result that can be saved. */
export type SavableModel = SavableModels[keyof SavableModels];

/** First field of a model file. */
export const modelFormat = 'kelvin-per-watt model';

/** Version of the model file this release writes and reads. */
export const modelFormatVersion = 1;

/**
 * A model, power curve, cap choice or comparison as text to keep or to pass on: JSON with a format name and a version.
 *
 * `loadModel` gives back exactly the same value, to the last bit of every number.
 *
 * @param model - what `fitCooler`, `fitPowerCurve`, `chooseCap`, `compareCoolers` or their steady-point twins returned
 * @returns the text of the file, ending in a line feed
 * @throws ArgumentError naming the path of a field that is missing, of the wrong kind, or not a finite number
 * @example
 * const model = coolerFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55 },
 *   { powerW: 90, temperatureC: 71 },
 * ]);
 * loadModel(saveModel(model)); // => model
 */
export function saveModel(model: SavableModel): string {
  const kind: unknown = isRecord(model) ? model.kind : undefined;
  if (typeof kind !== 'string' || !Object.hasOwn(modelShapes, kind)) {
    throw new ArgumentError({
      caller: 'saveModel',
      argument: 'model',
      expected: 'a cooler model, power curve, cap choice or comparison of coolers',
      received: model,
      remedy: 'pass the result of fitCooler, fitPowerCurve, chooseCap or compareCoolers as it is',
    });
  }
  const mismatch = modelShapes[kind as keyof SavableModels](model, 'model');
  if (mismatch !== undefined)
    throw new ArgumentError({ caller: 'saveModel', ...mismatch, argument: mismatch.path });
  const envelope = { format: modelFormat, version: modelFormatVersion, kind, model };
  return `${exactJson(envelope, { caller: 'saveModel', argument: '' })}\n`;
}
