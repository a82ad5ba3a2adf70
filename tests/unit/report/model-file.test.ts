import { describe, expect, it } from 'vitest';
import { loadModel } from '../../../toolkit/report/models/load-model.js';
import { type SavableModel, saveModel } from '../../../toolkit/report/models/save-model.js';
import { capChoice, coolerModel, powerCurve, theatreComparison } from '../figures/puppet-theatre.js';

const models: readonly SavableModel[] = [
  coolerModel(),
  powerCurve(),
  capChoice(),
  { ...capChoice(), bindingConstraint: 'tested-range' },
  theatreComparison(),
];

/** A saved cooler model with one field changed by its path. */
function changed(path: readonly (string | number)[], value: unknown): string {
  const file = JSON.parse(saveModel(coolerModel())) as Record<string, unknown>;
  let at = file as Record<string | number, unknown>;
  for (const step of path.slice(0, -1)) at = at[step] as Record<string | number, unknown>;
  at[path.at(-1)!] = value;
  return JSON.stringify(file);
}

describe('saveModel and loadModel', () => {
  it.each(models.map((model) => [model.kind, model] as const))('give a %s back exactly', (_, model) => {
    expect(loadModel(saveModel(model))).toEqual(model);
  });

  it('keep every bit of a number, the sign of zero included', () => {
    const model = {
      ...coolerModel(),
      findings: [{ code: 'x', severity: 'note' as const, message: 'x', rangeS: [-0, 0.1 + 0.2] as const }],
    };
    const loaded = loadModel(saveModel(model), { kind: 'cooler-model' });
    expect(Object.is(loaded.findings[0]?.rangeS?.[0], -0)).toBe(true);
    expect(loaded.findings[0]?.rangeS?.[1]).toBe(0.30000000000000004);
  });

  it('keep fields they do not know', () => {
    const model = { ...coolerModel(), remark: 'by hand' };
    expect(loadModel(saveModel(model))).toEqual(model);
  });

  it('write a file that says what it is', () => {
    expect(saveModel(coolerModel())).toMatch(
      /^\{\n {2}"format": "kelvin-per-watt model",\n {2}"version": 1,\n {2}"kind": "cooler-model",/,
    );
  });

  it('type the result by the kind asked for, and refuse another', () => {
    const text = saveModel(powerCurve());
    expect(loadModel(text, { kind: 'power-curve' }).testedRange.powerW).toEqual([64, 118]);
    expect(() => loadModel(text, { kind: 'cooler-model' })).toThrow(
      'loadModel: `text.kind` must be \'cooler-model\' (received "power-curve"); load the file that holds what is asked for here',
    );
  });

  it('read a file that begins with a byte-order mark', () => {
    expect(loadModel(`\ufeff${saveModel(coolerModel())}`)).toEqual(coolerModel());
  });
});

describe('loadModel', () => {
  it.each([
    ['', 'loadModel: `text` must be the text of a model file (received ""); the file is empty'],
    [
      '{"format": "kelvin',
      'loadModel: `text` must be JSON (received "{\\"format\\": \\"kelvin"); it cannot be read: ',
    ],
    ['[1, 2]', 'loadModel: `text` must be a model file, a JSON object (received an array of 2)'],
    [
      '{"a": 1}',
      "loadModel: `text.format` must be 'kelvin-per-watt model' (received undefined); give the text that saveModel returned",
    ],
    [
      changed(['version'], 2),
      'loadModel: `text.version` must be 1 (received 2); the file comes from a newer release of kelvin-per-watt; update to read it',
    ],
    [
      changed(['kind'], 'fan'),
      "loadModel: `text.kind` must be 'cooler-model', 'power-curve', 'cap-choice' or 'cooler-comparison' (received \"fan\")",
    ],
    [
      changed(['model', 'stages', 1, 'timeConstantS', 'value'], null),
      'loadModel: `text.model.stages[1].timeConstantS.value` must be a finite number (received null); the file was changed or cut short; save the model again',
    ],
    [
      changed(['model', 'stages', 0, 'resistanceKPerW', 'kind'], 'guessed'),
      "loadModel: `text.model.stages[0].resistanceKPerW.kind` must be 'estimated' or 'unavailable' (received \"guessed\")",
    ],
    [
      changed(['model', 'thermalResistanceKPerW', 'interval95'], [0.6, 0.5]),
      'loadModel: `text.model.thermalResistanceKPerW.interval95` must be a pair with the lower number first',
    ],
    [
      changed(['model', 'thermalResistanceKPerW', 'interval95'], [0.6]),
      'loadModel: `text.model.thermalResistanceKPerW.interval95` must be an array of 2 (received an array of 1)',
    ],
    [
      changed(['model', 'covariance', 'matrix'], [[1, 2]]),
      'loadModel: `text.model.covariance.matrix` must be 4 rows of 4 numbers, one per parameter',
    ],
    [
      changed(['model', 'resistanceLaw', 'atPowerW'], -3),
      'loadModel: `text.model.resistanceLaw.atPowerW` must be a finite number above 0 (received -3)',
    ],
    [
      changed(['model', 'ladder'], {}),
      'loadModel: `text.model.ladder` must be an array (received an object)',
    ],
    [changed(['model', 'cooler'], 58), 'loadModel: `text.model.cooler` must be a text (received 58)'],
    [
      changed(['model', 'termination', 'converged'], 'yes'),
      'loadModel: `text.model.termination.converged` must be true or false (received "yes")',
    ],
    [
      changed(['model', 'kind'], 'power-curve'),
      'loadModel: `text.model.kind` must be \'cooler-model\' (received "power-curve")',
    ],
    [changed(['model'], 7), 'loadModel: `text.model` must be an object (received 7)'],
    [
      changed(['model', 'evaluationCount'], 1.5),
      'loadModel: `text.model.evaluationCount` must be a whole number at or above 0 (received 1.5)',
    ],
  ])('says by path what is wrong (%#)', (text, message) => {
    expect(() => loadModel(text)).toThrow(message);
  });

  it('takes no field from the prototype of a hostile file', () => {
    const text = changed(['model', '__proto__'], 0)
      .replace('"__proto__":0,', '')
      .replace('"label":"Flat 58 mm",', '"__proto__":{"label":"x"},');
    expect(() => loadModel(text)).toThrow(
      'loadModel: `text.model.label` must be a text (received undefined)',
    );
  });
});

describe('saveModel', () => {
  it('refuses a number that JSON cannot hold, by its path', () => {
    const model = coolerModel();
    const broken = { ...model, noise: { ...model.noise, peakAboveMeanK: Number.NaN } };
    expect(() => saveModel(broken)).toThrow(
      'saveModel: `model.noise.peakAboveMeanK` must be a finite number (received NaN)',
    );
    const extra = { ...model, extra: [1, Number.POSITIVE_INFINITY] };
    expect(() => saveModel(extra)).toThrow(
      'saveModel: `model.extra[1]` must be plain data: an object, array, text, finite number, boolean or null (received Infinity)',
    );
    const typed = { ...model, extra: new Float64Array(2) };
    expect(() => saveModel(typed)).toThrow('saveModel: `model.extra` must be plain data');
  });

  it('refuses what is no model', () => {
    expect(() => saveModel({ kind: 'run' } as unknown as SavableModel)).toThrow(
      'saveModel: `model` must be a cooler model, power curve, cap choice or comparison of coolers (received an object); pass the result of fitCooler, fitPowerCurve, chooseCap or compareCoolers as it is',
    );
    expect(() => saveModel(undefined as unknown as SavableModel)).toThrow('saveModel: `model` must be');
  });
});
