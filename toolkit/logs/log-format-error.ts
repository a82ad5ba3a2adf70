/** One thing that is wrong with a log or the conditions file beside it. */
export interface LogIssue {
  /** Stable name for programs, in kebab-case: `ambiguous-column`, `not-numbers` … */
  readonly code: string;
  /** What is wrong, one sentence without a full stop. */
  readonly message: string;
  /** What to do about it. */
  readonly remedy?: string;
  /** Line in the text, 1-based, where there is one to point at. */
  readonly line?: number;
  /** Column of the table, or character of the line in a conditions file, 1-based. */
  readonly column?: number;
  /** The file or the label of the run. */
  readonly source?: string;
  /** Which quantity, where the issue is about the column of one: `temperature`. */
  readonly role?: string;
  /** Where in a conditions file, as a JSON Pointer [RFC6901]: `/ambientC`. */
  readonly path?: string;
}

/**
 * A log, or the conditions file beside it, that cannot be read without guessing. `issues` holds every reason with
 * its place; the message holds them all in words.
 *
 * @example
 * new LogFormatError([{ code: 'x', line: 3, column: 2, message: 'no number', remedy: 'write one' }]).message;
 * // => 'line 3, column 2: no number; write one'
 */
export class LogFormatError extends Error {
  readonly issues: readonly LogIssue[];

  constructor(issues: readonly LogIssue[]) {
    super(issues.map(issueInWords).join('\n'));
    this.name = 'LogFormatError';
    this.issues = issues;
  }

  /** The same error, with the file named in every issue that names none. */
  from(source: string): LogFormatError {
    return new LogFormatError(this.issues.map((issue) => ({ source, ...issue })));
  }
}

function issueInWords(issue: LogIssue): string {
  const place = [
    issue.line === undefined ? '' : `line ${issue.line}`,
    issue.column === undefined ? '' : `column ${issue.column}`,
  ].filter((part) => part !== '');
  const where = [issue.source ?? '', place.join(', ')].filter((part) => part !== '');
  const what = (issue.path ?? '') === '' ? issue.message : `${issue.path} ${issue.message}`;
  return `${[...where, what].join(': ')}${issue.remedy === undefined ? '' : `; ${issue.remedy}`}`;
}
