import { ArgumentError } from '../errors.js';
import type { Conditions, Run } from '../runs/run.js';
import { type ConditionSchema, conditionsSchema } from './conditions-schema.js';
import { findJsonFault } from './json-fault.js';
import { type LogIssue, LogFormatError } from './log-format-error.js';

/** A condition that can be asked for by name. */
export type ConditionName = keyof Conditions;

const NAMES: readonly string[] = Object.keys(conditionsSchema.properties).filter(
  (name) => name !== '$schema',
);

/**
 * Reads the text of a conditions file and checks it against `conditionsSchema`.
 *
 * @param text - JSON text: one object, every entry optional
 * @param source - the file's name, for messages
 * @returns the conditions
 * @throws LogFormatError if the text is no JSON (with line and column), or for every entry that is unknown,
 *   of the wrong type or out of range (with its path)
 * @example
 * parseConditions('{ "ambientC": 23.5, "cooler": "flat 41 mm" }', 'run.conditions.json').ambientC; // => 23.5
 * parseConditions('{ "ambientC": 250 }', 'run.conditions.json'); // => throws /ambientC must be a number from -40 to 70/
 */
export function parseConditions(text: string, source: string): Conditions {
  const plain = text.replace(/^\uFEFF/, '');
  const fault = findJsonFault(plain);
  if (fault !== undefined) {
    throw new LogFormatError([
      {
        code: 'json-syntax',
        source,
        line: fault.line,
        column: fault.column,
        message: `expected ${fault.expected}`,
        remedy: 'write JSON, such as { "ambientC": 23.5, "cooler": "flat 41 mm" }',
      },
    ]);
  }
  const value: unknown = JSON.parse(plain);
  const issues = conditionIssues(value);
  if (issues.length > 0) throw new LogFormatError(issues.map((issue) => ({ ...issue, source })));
  const { $schema: _, ...conditions } = value as Conditions & { readonly $schema?: string };
  return conditions;
}

/** Checks conditions given in code by the same rules as those in a file. */
export function requireValidConditions(
  conditions: unknown,
  caller: string,
): asserts conditions is Conditions {
  const issue = conditionIssues(conditions)[0];
  if (issue === undefined) return;
  const name = (issue.path ?? '').slice(1);
  throw new ArgumentError({
    caller,
    argument: name === '' ? 'options.conditions' : `options.conditions.${name}`,
    expected: issue.message.replace(/^must be /, '').replace(/ \(received.*$/s, ''),
    received: name === '' ? conditions : (conditions as Record<string, unknown>)[name],
    ...(issue.remedy === undefined ? {} : { remedy: issue.remedy }),
  });
}

function conditionIssues(value: unknown): readonly LogIssue[] {
  if (value === null || typeof value !== 'object' || Array.isArray(value)) {
    return [
      {
        code: 'condition-type',
        path: '',
        message: `must be an object such as { "ambientC": 23.5 } (received ${inWords(value)})`,
      },
    ];
  }
  return Object.entries(value).flatMap(([name, entry]): LogIssue[] => {
    // JSON Pointer escapes [RFC6901, sec. 3].
    const path = `/${name.replaceAll('~', '~0').replaceAll('/', '~1')}`;
    const schema = Object.hasOwn(conditionsSchema.properties, name)
      ? conditionsSchema.properties[name]
      : undefined;
    if (schema === undefined) {
      const near = nearestName(name);
      return [
        {
          code: 'condition-unknown',
          path,
          message: `must be one of the known conditions: ${NAMES.join(', ')}`,
          ...(near === undefined ? {} : { remedy: `did you mean ${near}?` }),
        },
      ];
    }
    // In code, an option passed on as undefined is one that was not given.
    if (entry === undefined) return [];
    const expected = expectedBy(schema);
    return fits(entry, schema)
      ? []
      : [{ code: 'condition-value', path, message: `must be ${expected} (received ${inWords(entry)})` }];
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

function expectedBy({ type, description, minimum, exclusiveMinimum, maximum }: ConditionSchema): string {
  const meaning = withoutCapital(description);
  if (type === 'string') return `a text, not empty: ${meaning}`;
  const range =
    exclusiveMinimum === undefined
      ? `from ${minimum} to ${maximum}`
      : `above ${exclusiveMinimum} and at most ${maximum}`;
  return `a number ${range}: ${meaning}`;
}

/** A description as it goes on inside a sentence. */
function withoutCapital(description: string): string {
  return `${description.charAt(0).toLowerCase()}${description.slice(1).replace(/\.$/, '')}`;
}

function inWords(value: unknown): string {
  if (value === null || typeof value === 'number' || typeof value === 'boolean' || value === undefined)
    return String(value);
  if (typeof value === 'string') return JSON.stringify(value);
  return Array.isArray(value) ? 'an array' : `an ${typeof value}`;
}

/** The known name within two letters of a misspelt one, or one that differs by capitals, dashes or its unit only. */
function nearestName(name: string): string | undefined {
  const plain = (text: string): string => text.toLowerCase().replace(/[^a-z]/g, '');
  const distances = NAMES.map((known) => {
    const shorter = plain(known.replace(/(?:C|W|Rpm)$/, ''));
    return {
      known,
      distance: Math.min(editDistance(plain(name), plain(known)), editDistance(plain(name), shorter)),
    };
  }).sort((a, b) => a.distance - b.distance);
  const [nearest] = distances;
  return nearest !== undefined && nearest.distance <= Math.min(2, name.length / 3)
    ? nearest.known
    : undefined;
}

function editDistance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      next.push(Math.min(row[j]! + 1, next[j - 1]! + 1, row[j - 1]! + (a[i - 1] === b[j - 1] ? 0 : 1)));
    }
    row = next;
  }
  return row[b.length]!;
}

/**
 * Makes sure that a run says what is needed about its conditions; asks for what is missing, never guesses.
 *
 * `ambientC` counts as known where the run has a measured column of it, `fanSpeedRpm` likewise.
 *
 * @param run - the run
 * @param names - the conditions that are needed
 * @throws ArgumentError that names what is missing and shows the file to write
 * @example
 * const bare = parseRun('time_s,temperature_c,power_w\n0,30,65\n1,31,65', { label: 'evening' });
 * requireConditions(bare, ['ambientC']); // => throws /evening\.conditions\.json/
 */
export function requireConditions(
  run: Pick<Run, 'label' | 'conditions' | 'ambientC' | 'fanSpeedRpm'>,
  names: readonly ConditionName[],
): void {
  const missing = names.filter(
    (name) =>
      run.conditions[name] === undefined &&
      !((name === 'ambientC' || name === 'fanSpeedRpm') && run[name] !== undefined),
  );
  if (missing.length === 0) return;
  const schemas = conditionsSchema.properties;
  const meanings = missing.map((name) => `${name} (${withoutCapital(schemas[name]!.description)})`);
  const lines = missing.map((name) => `  "${name}": ${schemas[name]!.type === 'string' ? '"…"' : '…'}`);
  throw new ArgumentError({
    caller: 'requireConditions',
    argument: 'run.conditions',
    expected: `complete; the log of "${run.label}" cannot say ${meanings.join(', ')}`,
    received: run.conditions,
    remedy: `write this into the conditions file beside the log (${run.label}.csv has ${run.label}.conditions.json), with values in place of the dots, or give it as the option conditions:\n{\n${lines.join(',\n')}\n}`,
  });
}
