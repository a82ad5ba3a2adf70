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

function inWords(value: unknown): string {
  if (typeof value === 'string') return JSON.stringify(value.length > 80 ? `${value.slice(0, 77)}…` : value);
  if (value === null || ['number', 'boolean', 'undefined', 'bigint'].includes(typeof value))
    return String(value);
  if (Array.isArray(value)) return `an array of ${value.length}`;
  if (ArrayBuffer.isView(value)) return `a ${value.constructor.name}`;
  return typeof value === 'object' ? 'an object' : `a ${typeof value}`;
}
