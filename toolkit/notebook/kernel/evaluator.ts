import { inspect, types } from 'node:util';
import { displayBundles } from '../display-bundle.js';
import { type CellPosition, CellPositions, excerptOf, isInCell } from './cell-positions.js';
import type { CellOutput, ErrorOutput } from './outputs.js';
import { type ConvertResult, createTslabExecutor } from './tslab-parts.js';

/** Evaluates cells in one growing scope. Text goes to the process's standard streams, everything else to `output`. */
export interface Evaluator {
  /** Runs a cell; a failure is an error output and `'error'`, never an exception. Call it for one cell at a time. */
  evaluate(code: string, executionCount: number): Promise<'ok' | 'error'>;
  /** Describes a failure that happened outside `evaluate`, in a timer or a promise nobody awaited. */
  describeError(error: unknown): ErrorOutput;
  /** Ends pending awaits of the running cell. */
  interrupt(): void;
  close(): void;
}

// Both entries are one namespace: "kelvin-per-watt/node" holds everything "kelvin-per-watt" does.
const preamble = 'import * as kpw from "kelvin-per-watt/node";';

/**
 * An evaluator around tslab's converter and executor, with the toolkit ready as `kpw`.
 *
 * One per process: the executor keeps its scope in a global variable and resolves modules from the working directory.
 */
export async function createTslabEvaluator(options: {
  readonly output: (output: CellOutput) => void;
}): Promise<Evaluator> {
  const positions = new CellPositions();
  let cell = 0;
  let code = '';
  let problems: ConvertResult['diagnostics'] = [];
  let failure: { readonly error: unknown } | undefined;

  const executor = createTslabExecutor({
    workingDirectory: process.cwd(),
    onConvert(convert) {
      const { result, maps } = convert();
      problems = result.diagnostics;
      if (!result.output) return result;
      const name = positions.remember(cell, code, {
        output: result.output,
        hasTopLevelAwait: result.hasToplevelAwait === true,
        ...(maps === undefined ? {} : { maps }),
      });
      return { ...result, output: result.output + name };
    },
    onValue(value) {
      const bundles = displayBundles(value);
      for (const [index, data] of bundles.entries())
        options.output(
          index < bundles.length - 1
            ? { output_type: 'display_data', data, metadata: {} }
            : { output_type: 'execute_result', data, metadata: {}, execution_count: cell },
        );
    },
    onError(error) {
      // Compile problems arrive here too, as formatted text; `problems` has them with their positions.
      if (problems.length === 0) failure ??= { error };
    },
  });

  async function run(source: string, executionCount: number): Promise<ErrorOutput | undefined> {
    cell = executionCount;
    code = source;
    problems = [];
    failure = undefined;
    try {
      if (await executor.execute(source)) return undefined;
    } catch (error) {
      // A value whose display or inspection throws, or the converter itself.
      return describeThrown(error, positions);
    }
    return problems.length > 0
      ? describeProblems(problems, source, executionCount)
      : describeThrown((failure as { error: unknown } | undefined)?.error, positions);
  }

  const broken = await run(preamble, 0);
  if (broken !== undefined)
    throw new Error(`the toolkit cannot be loaded into the notebook kernel: ${broken.evalue}`);

  return {
    async evaluate(source, executionCount) {
      const error = await run(source, executionCount);
      if (error === undefined) return 'ok';
      options.output(error);
      return 'error';
    },
    describeError: (error) => describeThrown(error, positions),
    interrupt: () => executor.interrupt(),
    close: () => executor.close(),
  };
}

function describeProblems(problems: ConvertResult['diagnostics'], code: string, cell: number): ErrorOutput {
  const lines = code.split('\n');
  let shown = '';
  const traceback = problems.flatMap((problem) => {
    const position = { cell, line: problem.start.line + 1, column: problem.start.character + 1 };
    const place = problem.fileName ?? '';
    const here = `${place}:${position.line}:${position.column}`;
    // One mistake often comes with a chain of explanations: the place is shown once.
    if (here === shown) return [`    because ${problem.messageText}`];
    shown = here;
    if (place !== '')
      return [`${place}, line ${position.line}, column ${position.column}: ${problem.messageText}`];
    return [
      `${inWords(position)}: ${problem.messageText}`,
      ...excerptOf(lines[position.line - 1] ?? '', position),
    ];
  });
  return {
    output_type: 'error',
    ename: 'TypeScriptError',
    evalue: problems[0]?.messageText ?? 'the cell does not compile',
    traceback,
  };
}

function describeThrown(thrown: unknown, positions: CellPositions): ErrorOutput {
  if (!isError(thrown)) {
    const text = inspect(thrown, { depth: 2 });
    return { output_type: 'error', ename: 'Thrown', evalue: text, traceback: [`Thrown: ${text}`] };
  }
  const head = [`${thrown.name}: ${thrown.message}`];
  const frames = framesOf(thrown)
    .map((frame) => ({ frame, position: positions.ofFrame(frame) }))
    .filter(({ frame, position }) => (position !== undefined && position.cell > 0) || isOwnFile(frame));
  const [first] = frames;
  if (first?.position !== undefined) head.push(...positions.excerpt(first.position));
  const stack = frames.map(({ frame, position }) =>
    position === undefined ? `    ${frame}` : `    ${functionOf(frame)}${inWords(position)}`,
  );
  const cause = isError(thrown.cause) ? [`caused by ${thrown.cause.name}: ${thrown.cause.message}`] : [];
  return {
    output_type: 'error',
    ename: thrown.name,
    evalue: thrown.message,
    traceback: [...head, ...stack, ...cause],
  };
}

function isError(value: unknown): value is Error {
  return value instanceof Error || types.isNativeError(value);
}

/** The frames down to the cell that was run; what is below called the evaluator. */
function framesOf(error: Error): string[] {
  const frames = (error.stack ?? '')
    .split('\n')
    .filter((line) => /^\s+at /.test(line))
    .map((line) => line.trim());
  const lastInCell = frames.findLastIndex(isInCell);
  return lastInCell === -1 ? frames : frames.slice(0, lastInCell + 1);
}

/** A file beside the notebook, as opposed to the toolkit's, the packages' or the runtime's inner workings. */
function isOwnFile(frame: string): boolean {
  return /\.[cm]?[jt]s:\d+:\d+\)?$/.test(frame) && !/node:|node_modules|\/toolkit\/|\\toolkit\\/.test(frame);
}

function functionOf(frame: string): string {
  const name = /^at (?:async )?(.+?) \(/.exec(frame)?.[1];
  // A function of an earlier cell is called through the executor's scope, which is a proxy.
  return name === undefined || name === 'eval' ? 'at ' : `at ${name.replace(/^Proxy\./, '')}, `;
}

function inWords(position: CellPosition): string {
  return `cell ${position.cell}, line ${position.line}, column ${position.column}`;
}
