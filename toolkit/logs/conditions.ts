import { type ConditionProblem, conditionProblems } from '../runs/conditions-check.js';
import type { Conditions } from '../runs/run.js';
import { findJsonFault } from './json-fault.js';
import { LogFormatError, type LogIssue } from './log-format-error.js';

/** A condition by its name. */
export type ConditionName = keyof Conditions;

/**
 * Reads the text of a conditions file and checks it against the schema of conditions.
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
  const { conditions, issues } = checkedConditions(text, source);
  if (issues.length > 0) throw new LogFormatError(issues);
  return conditions;
}

/** What a conditions file says as far as it can be read, and every mistake in it. */
export interface CheckedConditions {
  readonly conditions: Conditions;
  readonly issues: readonly LogIssue[];
}

/** Reads the text of a conditions file as `parseConditions` does, and leaves out the entries at fault. */
export function checkedConditions(text: string, source: string): CheckedConditions {
  const plain = text.replace(/^\uFEFF/, '');
  const fault = findJsonFault(plain);
  if (fault !== undefined) {
    const example = 'write JSON, such as { "ambientC": 23.5, "cooler": "flat 41 mm" }';
    const issue: LogIssue = {
      code: 'json-syntax',
      source,
      line: fault.line,
      column: fault.column,
      message: `expected ${fault.expected}`,
      remedy: fault.remedy === undefined ? example : `${fault.remedy}; ${example}`,
    };
    return { conditions: {}, issues: [issue] };
  }
  const value: unknown = JSON.parse(plain);
  const problems = conditionProblems(value);
  const issues = problems.map((problem) => ({ ...issueOf(problem), source }));
  if (problems.some(({ name }) => name === undefined)) return { conditions: {}, issues };
  const atFault = new Set(['$schema', ...problems.map(({ name }) => name)]);
  const entries = Object.entries(value as object).filter(([name]) => !atFault.has(name));
  return { conditions: Object.fromEntries(entries), issues };
}

/** One problem as an issue of the file, its path as a JSON Pointer [RFC6901, sec. 3]. */
function issueOf({ code, name, expected, received, remedy }: ConditionProblem): LogIssue {
  return {
    code,
    path: name === undefined ? '' : `/${name.replaceAll('~', '~0').replaceAll('/', '~1')}`,
    // An unknown name is the fault itself, whatever stands behind it.
    message: `must be ${expected}${code === 'condition-unknown' ? '' : ` (received ${inWords(received)})`}`,
    ...(remedy === undefined ? {} : { remedy }),
  };
}

function inWords(value: unknown): string {
  if (value === null || typeof value === 'number' || typeof value === 'boolean' || value === undefined)
    return String(value);
  if (typeof value === 'string') return JSON.stringify(value);
  return Array.isArray(value) ? 'an array' : `an ${typeof value}`;
}
