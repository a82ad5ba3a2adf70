import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { parseConditions } from '../../../toolkit/logs/conditions.js';
import { conditionsSchema } from '../../../toolkit/runs/conditions-schema.js';
import type { Conditions } from '../../../toolkit/runs/run.js';

const FULL: Required<Conditions> = {
  ambientC: 23.5,
  cooler: 'flat 41 mm',
  processor: 'twelve-core',
  enclosure: 'drawer',
  mount: 'remounted',
  fanSpeedRpm: 1800,
  powerCapW: 95,
  defaultCapW: 118,
  voltageOffsetMv: -60,
  workload: 'cue rendering on all twelve cores',
};

describe('parseConditions', () => {
  it('reads all conditions, and none', () => {
    expect(parseConditions(JSON.stringify(FULL), 'run.conditions.json')).toEqual(FULL);
    expect(parseConditions('\uFEFF{}', 'run.conditions.json')).toEqual({});
  });

  it('leaves the reference to the schema out of the conditions', () => {
    expect(parseConditions('{"$schema": "./conditions.schema.json", "ambientC": 20}', 'x')).toEqual({
      ambientC: 20,
    });
  });

  it.each([
    [
      '{ "ambientC": 250 }',
      "run.conditions.json: /ambientC must be a number from -40 to 70: air temperature at the cooler's intake, degrees Celsius, where the log has no column of it (received 250)",
    ],
    [
      '{ "ambientC": 295 }',
      'where the log has no column of it (received 295); 295 looks like kelvin: subtract 273.15, which gives 21.85 °C',
    ],
    ['{ "ambientC": "23" }', '/ambientC must be a number from -40 to 70'],
    ['{ "ambientC": null }', '(received null)'],
    [
      '{ "powerCapW": 0 }',
      '/powerCapW must be a number above 0 and at most 2000: power cap in force during the run, W (received 0)',
    ],
    ['{ "cooler": 41 }', '/cooler must be a text, not empty: name of the cooler (received 41)'],
    ['{ "cooler": " " }', '/cooler must be a text, not empty'],
    [
      '{ "ambient": 23 }',
      '/ambient must be one of the known conditions: ambientC, cooler, processor, enclosure, mount, fanSpeedRpm, powerCapW, defaultCapW, voltageOffsetMv, workload; did you mean ambientC?',
    ],
    ['{ "power_cap_w": 95 }', 'did you mean powerCapW?'],
    ['{ "coolr": "flat" }', 'did you mean cooler?'],
    ['{ "a/b~": 1 }', '/a~1b~0 must be one of the known conditions'],
    ['{ "__proto__": 1 }', '/__proto__ must be one of the known conditions'],
    ['[]', 'run.conditions.json: must be an object such as { "ambientC": 23.5 } (received an array)'],
    [
      '{\n  "ambientC": 23,5\n}',
      'run.conditions.json: line 2, column 18: expected a name in double quotes; write decimals with a point; write JSON, such as',
    ],
  ])('names what is wrong with %s', (text, message) => {
    expect(() => parseConditions(text, 'run.conditions.json')).toThrow(message);
  });

  it('suggests nothing where nothing is near', () => {
    expect(() => parseConditions('{ "puppets": 12 }', 'x')).toThrow(/workload$/);
  });

  it('names every mistake at once', () => {
    expect(() => parseConditions('{ "ambientC": 250, "mount": 1 }', 'x')).toThrow(
      /x: \/ambientC must[\s\S]*\nx: \/mount must/,
    );
  });
});

describe('conditionsSchema', () => {
  it('is shipped as JSON word for word', () => {
    const file = new URL('../../../toolkit/logs/conditions.schema.json', import.meta.url);
    expect(JSON.parse(readFileSync(file, 'utf8'))).toEqual(conditionsSchema);
  });

  it('describes every condition there is, with examples that pass', () => {
    expect(Object.keys(conditionsSchema.properties).sort()).toEqual(['$schema', ...Object.keys(FULL)].sort());
    for (const [name, { examples }] of Object.entries(conditionsSchema.properties)) {
      for (const example of examples) {
        expect(() => parseConditions(JSON.stringify({ [name]: example }), 'x'), name).not.toThrow();
      }
    }
  });
});
