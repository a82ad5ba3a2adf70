import { ArgumentError, nearestName } from '../errors.js';
import { type ConditionSchema, conditionsSchema } from './conditions-schema.js';
import type { Conditions } from './run.js';

/** What is wrong with conditions, in parts, so that a file and code can name it each in their own way. */
export interface ConditionProblem {
  readonly code: 'condition-type' | 'condition-unknown' | 'condition-value';
  /** Name of the entry at fault; absent where the conditions as a whole are. */
  readonly name?: string;
  /** What it must be, completing the sentence "must be …". */
  readonly expected: string;
  readonly received: unknown;
  readonly remedy?: string;
}

const NAMES: readonly string[] = Object.keys(conditionsSchema.properties).filter(
  (name) => name !== '$schema',
);

/** Checks conditions given in code by the same rules as those in a file. */
export function requireValidConditions(
  conditions: unknown,
  caller: string,
): asserts conditions is Conditions {
  const problem = conditionProblems(conditions)[0];
  if (problem === undefined) return;
  const { name, expected, received, remedy } = problem;
  throw new ArgumentError({
    caller,
    argument: name === undefined ? 'options.conditions' : `options.conditions.${name}`,
    expected,
    received,
    ...(remedy === undefined ? {} : { remedy }),
  });
}

/** Every entry that is unknown, of the wrong type or out of range, by `conditionsSchema`. */
export function conditionProblems(value: unknown): readonly ConditionProblem[] {
  if (value === null || typeof value !== 'object' || Array.isArray(value)) {
    return [{ code: 'condition-type', expected: 'an object such as { "ambientC": 23.5 }', received: value }];
  }
  return Object.entries(value).flatMap(([name, entry]): ConditionProblem[] => {
    const schema = Object.hasOwn(conditionsSchema.properties, name)
      ? conditionsSchema.properties[name]
      : undefined;
    if (schema === undefined) {
      const near = nearestName(name, NAMES);
      return [
        {
          code: 'condition-unknown',
          name,
          expected: `one of the known conditions: ${NAMES.join(', ')}`,
          received: entry,
          ...(near === undefined ? {} : { remedy: `did you mean ${near}?` }),
        },
      ];
    }
    // In code, an option passed on as undefined is one that was not given.
    if (entry === undefined || fits(entry, schema)) return [];
    const remedy = name === 'ambientC' && typeof entry === 'number' ? kelvinHint(entry, schema) : undefined;
    return [
      {
        code: 'condition-value',
        name,
        expected: expectedBy(schema),
        received: entry,
        ...(remedy === undefined ? {} : { remedy }),
      },
    ];
  });
}

function fits(value: unknown, schema: ConditionSchema): boolean {
  if (schema.type === 'string')
    return typeof value === 'string' && value.trim().length >= (schema.minLength ?? 0);
  return (
    typeof value === 'number' &&
    Number.isFinite(value) &&
    value >= (schema.minimum ?? Number.NEGATIVE_INFINITY) &&
    value > (schema.exclusiveMinimum ?? Number.NEGATIVE_INFINITY) &&
    value <= (schema.maximum ?? Number.POSITIVE_INFINITY)
  );
}

function kelvinHint(value: number, schema: ConditionSchema): string | undefined {
  const celsius = Number((value - 273.15).toFixed(2));
  return fits(celsius, schema)
    ? `${value} looks like kelvin: subtract 273.15, which gives ${celsius} °C`
    : undefined;
}

function expectedBy({ type, description, minimum, exclusiveMinimum, maximum }: ConditionSchema): string {
  const meaning = insideSentence(description);
  if (type === 'string') return `a text, not empty: ${meaning}`;
  const range =
    exclusiveMinimum === undefined
      ? `from ${minimum} to ${maximum}`
      : `above ${exclusiveMinimum} and at most ${maximum}`;
  return `a number ${range}: ${meaning}`;
}

/** A description as it goes on inside a sentence. */
function insideSentence(description: string): string {
  return `${description.charAt(0).toLowerCase()}${description.slice(1).replace(/\.$/, '')}`;
}
