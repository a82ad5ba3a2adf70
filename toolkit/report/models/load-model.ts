import { ArgumentError } from '../../errors.js';
import { modelShapes } from './model-shapes.js';
import { modelFormat, modelFormatVersion, type SavableModel, type SavableModels } from './save-model.js';
import { isRecord, type Mismatch, oneOf } from './shape.js';

/**
 * Reads back what `saveModel` wrote, after checking every field.
 *
 * @param text - the text of a model file
 * @returns the model, curve or choice, exactly as saved
 * @throws ArgumentError if the text is not JSON, not a model file, of a newer version, or if a field is missing or wrong; the message names the field by its path
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55, frequencyMHz: 3100 },
 *   { powerW: 90, temperatureC: 70, frequencyMHz: 3520 },
 *   { powerW: 118, temperatureC: 84, frequencyMHz: 3810 },
 * ]);
 * loadModel(saveModel(curve)).kind; // => 'power-curve'
 * loadModel('{}'); // => throws /`text.format` must be 'kelvin-per-watt model'/
 */
export function loadModel(text: string): SavableModel;
/**
 * Reads back a model of one kind.
 *
 * @param text - the text of a model file
 * @param expected - `kind`: what the file must contain; the result has that type
 * @returns the model, curve or choice, exactly as saved
 * @throws ArgumentError as above, and if the file holds another kind than expected
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55, frequencyMHz: 3100 },
 *   { powerW: 90, temperatureC: 70, frequencyMHz: 3520 },
 *   { powerW: 118, temperatureC: 84, frequencyMHz: 3810 },
 * ]);
 * loadModel(saveModel(curve), { kind: 'power-curve' }).testedRange.powerW; // => [60, 118]
 * loadModel(saveModel(curve), { kind: 'cooler-model' }); // => throws /must be 'cooler-model'/
 */
export function loadModel<Kind extends keyof SavableModels>(
  text: string,
  expected: { readonly kind: Kind },
): SavableModels[Kind];
export function loadModel(text: string, expected?: { readonly kind: keyof SavableModels }): SavableModel {
  const file = parsed(text);
  if (!isRecord(file)) throw wrong({ path: 'text', expected: 'a model file, a JSON object', received: file });
  if (file['format'] !== modelFormat) {
    throw wrong(
      { path: 'text.format', expected: `'${modelFormat}'`, received: file['format'] },
      'give the text that saveModel returned',
    );
  }
  const version = file['version'];
  if (version !== modelFormatVersion) {
    throw wrong(
      { path: 'text.version', expected: String(modelFormatVersion), received: version },
      typeof version === 'number' && version > modelFormatVersion
        ? 'the file comes from a newer release of kelvin-per-watt; update to read it'
        : undefined,
    );
  }
  const kinds = Object.keys(modelShapes);
  const kind = file['kind'];
  const unknownKind = oneOf(...kinds)(kind, 'text.kind');
  if (unknownKind !== undefined) throw wrong(unknownKind);
  if (expected !== undefined && kind !== expected.kind)
    throw wrong(
      { path: 'text.kind', expected: `'${expected.kind}'`, received: kind },
      'load the file that holds what is asked for here',
    );
  const { model } = file;
  const mismatch = modelShapes[kind as keyof SavableModels](model, 'text.model');
  if (mismatch !== undefined)
    throw wrong(mismatch, 'the file was changed or cut short; save the model again');
  return model as SavableModel;
}

function parsed(text: string): unknown {
  if (typeof text !== 'string')
    throw wrong({ path: 'text', expected: 'the text of a model file', received: text });
  // A file from an editor may begin with a byte-order mark.
  const json = text.startsWith('\ufeff') ? text.slice(1) : text;
  if (json.trim() === '')
    throw wrong({ path: 'text', expected: 'the text of a model file', received: text }, 'the file is empty');
  try {
    return JSON.parse(json);
  } catch (cause) {
    const reason = cause instanceof Error ? cause.message : String(cause);
    throw wrong({ path: 'text', expected: 'JSON', received: text }, `it cannot be read: ${reason}`);
  }
}

function wrong(mismatch: Mismatch, remedy?: string): ArgumentError {
  return new ArgumentError({
    caller: 'loadModel',
    argument: mismatch.path,
    expected: mismatch.expected,
    received: mismatch.received,
    ...(remedy === undefined ? {} : { remedy }),
  });
}
