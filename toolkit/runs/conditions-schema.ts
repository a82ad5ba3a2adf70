/** What one property of a conditions file may be. */
export interface ConditionSchema {
  readonly type: 'number' | 'string';
  readonly description: string;
  readonly minimum?: number;
  readonly exclusiveMinimum?: number;
  readonly maximum?: number;
  readonly minLength?: number;
  readonly examples: readonly (number | string)[];
}

/**
 * JSON Schema (draft 2020-12) of the file of conditions beside a log, `run.conditions.json` for `run.csv`. The same
 * text is shipped as `conditions.schema.json`, for editors that check a file while it is written.
 *
 * @example
 * conditionsSchema.properties.ambientC.maximum; // => 70
 */
export const conditionsSchema: {
  readonly $schema: string;
  readonly title: string;
  readonly description: string;
  readonly type: 'object';
  readonly additionalProperties: false;
  readonly properties: Readonly<Record<string, ConditionSchema>>;
} = {
  $schema: 'https://json-schema.org/draft/2020-12/schema',
  title: 'Conditions of a load run',
  description:
    'What the log of a load run cannot say about itself. Saved beside the log: run.csv and run.conditions.json. Every entry is optional.',
  type: 'object',
  additionalProperties: false,
  properties: {
    $schema: {
      type: 'string',
      description: 'Where this schema lies, for editors that check the file while it is written.',
      examples: ['./node_modules/kelvin-per-watt/toolkit/logs/conditions.schema.json'],
    },
    ambientC: {
      type: 'number',
      description:
        "Air temperature at the cooler's intake, degrees Celsius, where the log has no column of it.",
      minimum: -40,
      maximum: 70,
      examples: [23.5],
    },
    cooler: {
      type: 'string',
      description: 'Name of the cooler.',
      minLength: 1,
      examples: ['flat 41 mm'],
    },
    processor: {
      type: 'string',
      description: 'Name of the processor.',
      minLength: 1,
      examples: ['twelve-core'],
    },
    enclosure: {
      type: 'string',
      description: 'Name of the enclosure, or "open bench".',
      minLength: 1,
      examples: ['drawer', 'open bench'],
    },
    mount: {
      type: 'string',
      description: 'Which mounting of the cooler this was.',
      minLength: 1,
      examples: ['first', 'remounted'],
    },
    fanSpeedRpm: {
      type: 'number',
      description: 'Fan speed, revolutions per minute, where it was fixed.',
      minimum: 0,
      maximum: 40000,
      examples: [1800],
    },
    powerCapW: {
      type: 'number',
      description: 'Power cap in force during the run, W.',
      exclusiveMinimum: 0,
      maximum: 2000,
      examples: [95],
    },
    defaultCapW: {
      type: 'number',
      description: "The maker's default power cap of the processor, W.",
      exclusiveMinimum: 0,
      maximum: 2000,
      examples: [118],
    },
    voltageOffsetMv: {
      type: 'number',
      description:
        "Offset of the core voltage set by hand, mV against the maker's voltages: -60 for 60 mV less.",
      minimum: -400,
      maximum: 0,
      examples: [-60],
    },
    workload: {
      type: 'string',
      description: 'What the processor was doing.',
      minLength: 1,
      examples: ['cue rendering on all twelve cores'],
    },
  },
};
