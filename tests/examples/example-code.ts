import ts from 'typescript';

/** What an example says about the value of one of its statements. */
interface Expectation {
  /** Index of the statement. */
  readonly statement: number;
  readonly expected: string;
  /** Absolute tolerance of every number; without it 1e-9 relative. */
  readonly within?: number;
  readonly throws: boolean;
  /** Line in the example, 0-based. */
  readonly line: number;
}

/** An example taken apart; `problems` say what cannot be read, with lines of the example, 0-based. */
export interface ParsedExample {
  readonly statements: readonly string[];
  readonly expectations: readonly Expectation[];
  readonly problems: readonly { readonly line: number; readonly message: string }[];
}

/**
 * Takes an example apart: an expression statement followed by `// => <expression>`, on its last line or the next,
 * promises the value of that statement; ` within <tolerance>` at the end is for its numbers; `throws /…/` promises
 * a message.
 */
export function parseExample(code: string): ParsedExample {
  const source = ts.createSourceFile('example.ts', code, ts.ScriptTarget.Latest, true, ts.ScriptKind.TS);
  const problems = syntaxProblems(source);
  const expectations: Expectation[] = [];
  const statements = source.statements.map((statement, index) => {
    const comment = promiseAfter(code, statement.end);
    if (comment !== undefined) {
      const line = source.getLineAndCharacterOfPosition(comment.position).line;
      if (!ts.isExpressionStatement(statement))
        problems.push({
          line,
          message: 'only the value of an expression can be promised, not a declaration',
        });
      else expectations.push({ statement: index, line, ...readPromise(comment.text) });
    }
    return ts.isExpressionStatement(statement)
      ? code.slice(statement.expression.getStart(source), statement.expression.end)
      : code.slice(statement.getStart(source), statement.end);
  });
  const promised = code.split('\n').filter((line) => line.includes('// =>')).length;
  if (promised > expectations.length + problems.length)
    problems.push({ line: 0, message: 'a promise (// => …) follows no statement' });
  return { statements, expectations, problems };
}

function syntaxProblems(source: ts.SourceFile): { line: number; message: string }[] {
  const { diagnostics } = ts.transpileModule(source.text, {
    reportDiagnostics: true,
    compilerOptions: { target: ts.ScriptTarget.ES2022, module: ts.ModuleKind.ESNext },
  });
  return (diagnostics ?? []).map(({ start, messageText }) => ({
    line: source.getLineAndCharacterOfPosition(start ?? 0).line,
    message: ts.flattenDiagnosticMessageText(messageText, '\n'),
  }));
}

function promiseAfter(
  code: string,
  end: number,
): { readonly text: string; readonly position: number } | undefined {
  const match = /^[ \t]*(?:\n[ \t]*)?\/\/ =>[ \t]*(.*)/.exec(code.slice(end));
  if (match === null) return undefined;
  return { text: match[1].trim(), position: end + match[0].indexOf('// =>') };
}

function readPromise(text: string): Pick<Expectation, 'expected' | 'within' | 'throws'> {
  const thrown = /^throws (\/.*\/[a-z]*)$/.exec(text);
  if (thrown !== null) return { expected: thrown[1], throws: true };
  const tolerated = /^(.*\S) within (\d\S*)$/.exec(text);
  if (tolerated !== null) return { expected: tolerated[1], within: Number(tolerated[2]), throws: false };
  return { expected: text, throws: false };
}

const AsyncFunction = Object.getPrototypeOf(async () => {}).constructor as new (
  ...parts: readonly string[]
) => (...values: readonly unknown[]) => Promise<void>;

/** Runs an example with these names in scope; returns what went otherwise than promised, line by line. */
export async function runExample(
  code: string,
  scope: Readonly<Record<string, unknown>>,
): Promise<readonly { readonly line: number; readonly message: string }[]> {
  const { statements, expectations, problems } = parseExample(code);
  if (problems.length > 0) return problems;
  const failures: { line: number; message: string }[] = [];
  const check = async (
    index: number,
    value: () => Promise<unknown>,
    expected: () => unknown,
  ): Promise<void> => {
    const message = await difference(expectations[index], value, expected);
    if (message !== undefined) failures.push({ line: expectations[index].line, message });
  };
  const body = statements.map((statement, at) => {
    const index = expectations.findIndex((expectation) => expectation.statement === at);
    if (index < 0) return `${statement};`;
    return `await promise$(${index}, async () => (${statement}), () => (${expectations[index].expected}));`;
  });
  // In a block of its own, so that an example may use a public name for a variable.
  const script = ts.transpileModule(`async function example$() {{\n${body.join('\n')}\n}}`, {
    compilerOptions: { target: ts.ScriptTarget.ES2022, module: ts.ModuleKind.ESNext },
  }).outputText;
  const run = new AsyncFunction(...Object.keys(scope), 'promise$', `${script}\nawait example$();`);
  try {
    await run(...Object.values(scope), check);
  } catch (error) {
    failures.push({ line: 0, message: `threw ${error instanceof Error ? error.message : String(error)}` });
  }
  return failures;
}

async function difference(
  { expected: text, within, throws }: Expectation,
  value: () => Promise<unknown>,
  expected: () => unknown,
): Promise<string | undefined> {
  let actual: unknown;
  try {
    actual = await value();
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    if (!throws) return `promised ${text}, but threw ${message}`;
    return (expected() as RegExp).test(message)
      ? undefined
      : `promised to throw ${text}, but threw ${message}`;
  }
  if (throws) return `promised to throw ${text}, but gave ${inWords(actual)}`;
  const where = mismatch(actual, expected(), within, '');
  return where === undefined ? undefined : `promised ${text}, but ${where}`;
}

/** Where a value differs from what was promised, in words; undefined where it does not. */
export function mismatch(
  actual: unknown,
  expected: unknown,
  within: number | undefined,
  path: string,
): string | undefined {
  const here = path === '' ? 'the value' : path;
  if (typeof expected === 'number' && typeof actual === 'number') {
    const tolerance = within ?? 1e-9 * Math.abs(expected);
    const agrees = Object.is(actual, expected) || Math.abs(actual - expected) <= tolerance;
    return agrees ? undefined : `${here} is ${actual}, not ${expected} to ${tolerance}`;
  }
  if (isList(expected)) {
    if (!isList(actual)) return `${here} is ${inWords(actual)}, not a list`;
    if (actual.length !== expected.length)
      return `${here} has length ${actual.length}, not ${expected.length}`;
    return firstOf(Array.from(expected), (item, i) => mismatch(actual[i], item, within, `${path}[${i}]`));
  }
  if (typeof expected === 'object' && expected !== null) {
    if (typeof actual !== 'object' || actual === null) return `${here} is ${inWords(actual)}, not an object`;
    return firstOf(Object.entries(expected), ([key, item]) =>
      mismatch((actual as Record<string, unknown>)[key], item, within, path === '' ? key : `${path}.${key}`),
    );
  }
  return Object.is(actual, expected) ? undefined : `${here} is ${inWords(actual)}, not ${inWords(expected)}`;
}

function firstOf<T>(
  items: readonly T[],
  find: (item: T, index: number) => string | undefined,
): string | undefined {
  for (const [index, item] of items.entries()) {
    const found = find(item, index);
    if (found !== undefined) return found;
  }
  return undefined;
}

function isList(value: unknown): value is ArrayLike<unknown> {
  return Array.isArray(value) || (ArrayBuffer.isView(value) && !(value instanceof DataView));
}

function inWords(value: unknown): string {
  if (typeof value === 'string') return JSON.stringify(value);
  if (isList(value)) return `a list of ${value.length}`;
  return typeof value === 'object' && value !== null
    ? `an object with ${Object.keys(value).join(', ')}`
    : String(value);
}
