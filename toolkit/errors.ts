/** What a caller got wrong, in parts, so that a program can read it as well as a person. */
export interface ArgumentProblem {
  /** Name of the public function that was called. */
  readonly caller: string;
  /** The argument or option at fault, as the caller would write it: `options.limitC`. */
  readonly argument: string;
  /** What it must be, completing the sentence "must be …". */
  readonly expected: string;
  /** What was received, in words or as the value itself. */
  readonly received: unknown;
  /** What to do about it, one sentence without a full stop. */
  readonly remedy?: string;
}

/**
 * The caller's mistake: an argument outside its domain.
 *
 * The text reads ``caller: `argument` must be … (received …)``, followed by the remedy where there is one.
 *
 * @example
 * const problem = new ArgumentError({
 *   caller: 'chooseCap', argument: 'options.confidence', expected: 'a number above 0 and below 1', received: 95,
 * });
 * problem.message; // => 'chooseCap: `options.confidence` must be a number above 0 and below 1 (received 95)'
 */
export class ArgumentError extends Error implements ArgumentProblem {
  readonly caller: string;
  readonly argument: string;
  readonly expected: string;
  readonly received: unknown;
  readonly remedy?: string;

  constructor(problem: ArgumentProblem) {
    const remedy = problem.remedy === undefined ? '' : `; ${problem.remedy}`;
    super(
      `${problem.caller}: \`${problem.argument}\` must be ${problem.expected} (received ${inWords(problem.received)})${remedy}`,
    );
    this.name = 'ArgumentError';
    this.caller = problem.caller;
    this.argument = problem.argument;
    this.expected = problem.expected;
    this.received = problem.received;
    if (problem.remedy !== undefined) this.remedy = problem.remedy;
  }
}

/**
 * A computation that cannot go on, although its arguments were in order: the message says where and why.
 *
 * @example
 * new NumericalError('leastSquares: the residuals overflow').name; // => 'NumericalError'
 */
export class NumericalError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'NumericalError';
  }
}

/** Throws an `ArgumentError` unless the value is a finite number within the open or closed bounds given. */
export function requireNumber(
  value: unknown,
  where: { readonly caller: string; readonly argument: string; readonly remedy?: string },
  bounds: {
    readonly above?: number;
    readonly atLeast?: number;
    readonly below?: number;
    readonly atMost?: number;
  } = {},
): asserts value is number {
  const { above, atLeast, below, atMost } = bounds;
  const fits =
    typeof value === 'number' &&
    Number.isFinite(value) &&
    (above === undefined || value > above) &&
    (atLeast === undefined || value >= atLeast) &&
    (below === undefined || value < below) &&
    (atMost === undefined || value <= atMost);
  if (fits) return;
  const limits = [
    above === undefined ? '' : `above ${above}`,
    atLeast === undefined ? '' : `at least ${atLeast}`,
    below === undefined ? '' : `below ${below}`,
    atMost === undefined ? '' : `at most ${atMost}`,
  ].filter((part) => part !== '');
  throw new ArgumentError({
    ...where,
    expected: ['a finite number', limits.join(' and ')].filter((part) => part !== '').join(' '),
    received: value,
  });
}

/**
 * All names that an object of type `T` may have, required and optional: a forgotten or a mistyped one does not compile.
 * The list stands beside the interface it belongs to.
 */
export type KnownNames<T> = { readonly [Name in keyof T]-?: true };

/**
 * Throws an `ArgumentError` unless the value is an object whose names are all among those of `names`, so that a mistyped
 * option is not taken for one that was left out. Says which name was probably meant.
 */
export function requireKnownNames(
  value: unknown,
  names: object,
  where: { readonly caller: string; readonly argument: string; readonly remedy?: string },
): void {
  if (typeof value !== 'object' || value === null || Array.isArray(value) || ArrayBuffer.isView(value))
    throw new ArgumentError({
      ...where,
      expected: `an object with ${Object.keys(names).join(', ')}`,
      received: value,
    });
  for (const name of Object.keys(value)) {
    if (Object.hasOwn(names, name)) continue;
    const near = nearestName(name, Object.keys(names));
    throw new ArgumentError({
      caller: where.caller,
      argument: `${where.argument}.${name}`,
      expected: `one of ${Object.keys(names).join(', ')}`,
      received: name,
      ...(near === undefined ? {} : { remedy: `did you mean ${near}?` }),
    });
  }
}

/** Throws an `ArgumentError` unless the value is one of our results of that kind: `cooler-model`, `power-curve` … */
export function requireKind(
  value: unknown,
  kind: string,
  where: { readonly caller: string; readonly argument: string; readonly remedy?: string },
): asserts value is object {
  const received = (value as { readonly kind?: unknown } | null | undefined)?.kind;
  if (received === kind) return;
  throw new ArgumentError({ ...where, expected: `a ${kind}`, received: received ?? value });
}

/** The known name within two letters of a misspelt one, or one that differs by capitals, dashes or its unit only. */
export function nearestName(name: string, known: readonly string[]): string | undefined {
  const plain = (text: string): string => text.toLowerCase().replace(/[^a-z]/g, '');
  let nearest: string | undefined;
  let least = Math.min(2, name.length / 3);
  for (const candidate of known) {
    const distance = Math.min(
      editDistance(plain(name), plain(candidate)),
      editDistance(plain(name), plain(candidate.replace(UNIT_AT_END, ''))),
    );
    // Of equally near ones the first.
    if (distance > least || (distance === least && nearest !== undefined)) continue;
    nearest = candidate;
    least = distance;
  }
  return nearest;
}

/** What people forget at the end of a name. */
const UNIT_AT_END = /(?:KPerMin|KPerW|JPerK|MHz|Rpm|Db|Count|Fraction|Ratio|C|K|S|W)$/;

/** Letters left out, added, replaced or exchanged with their neighbour (optimal string alignment). */
function editDistance(a: string, b: string): number {
  let before: number[] = [];
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      const exchanged = i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1];
      next.push(
        Math.min(
          row[j] + 1,
          next[j - 1] + 1,
          row[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1),
          exchanged ? before[j - 2] + 1 : Number.POSITIVE_INFINITY,
        ),
      );
    }
    before = row;
    row = next;
  }
  return row[b.length];
}

function inWords(value: unknown): string {
  if (typeof value === 'string') {
    const text = value.length > 80 ? `${value.slice(0, 77)}…` : value;
    // What quotes a name in words, as `"noon" twice`, is not quoted once more.
    return /^"[^"]+"[, ]/.test(text) ? text : JSON.stringify(text);
  }
  if (value === null || ['number', 'boolean', 'undefined', 'bigint'].includes(typeof value))
    return String(value);
  if (Array.isArray(value)) return `an array of ${value.length}`;
  if (ArrayBuffer.isView(value)) return `a ${value.constructor.name}`;
  return typeof value === 'object' ? 'an object' : `a ${typeof value}`;
}
