import { inspect, types } from 'node:util';
import { MessageChannel } from 'node:worker_threads';
import { displayBundles } from '../../display/display-bundle.js';
import type { CellOutput, ErrorOutput, MimeBundle } from '../messages/outputs.js';
import { type CellPosition, CellPositions, excerptOf, isInCell } from './cell-positions.js';
import { type Completion, completionOf } from './completion.js';
import { type Documentation, documentationOf, placesToInspect } from './documentation.js';
import { type Completeness, type ConvertResult, completenessOf, createTslabExecutor } from './tslab-parts.js';

/** How a cell ended. */
export type CellResult =
  | { readonly status: 'ok' }
  | { readonly status: 'error'; readonly error: ErrorOutput };

/** An expression's value as a display bundle. */
export type ExpressionResult =
  | { readonly status: 'ok'; readonly data: MimeBundle }
  | { readonly status: 'error'; readonly error: ErrorOutput };

/** What the evaluator is doing: while it converts, stopping it by force would break its compiler. */
export type EvaluatorPhase = 'idle' | 'converting' | 'running';

/** Evaluates cells in one growing scope. Text goes to the process's standard streams, everything else to `output`. */
export interface Evaluator {
  /** Runs a cell; a failure is a result, never an exception. Call it for one cell at a time. */
  evaluate(code: string, executionCount: number): Promise<CellResult>;
  /** Describes a failure that happened outside `evaluate`, in a timer or a promise nobody awaited. */
  describeError(error: unknown): ErrorOutput;
  /** The value of an expression as a display bundle; `cell` is the number of the cell it is asked beside. */
  valueOf(expression: string, cell: number): Promise<ExpressionResult>;
  /** What could stand at a position of the code. */
  complete(code: string, position: number): Completion;
  /** Type and documentation of what stands at a position of the code or is called there. */
  inspect(code: string, position: number): Documentation | undefined;
  /** Whether the code could be run as it stands. */
  checkComplete(code: string): Completeness;
  /** Prepares the compiler for the first cell, if no cell was run yet; takes a third of a second. */
  warmUp(): void;
  /** Ends the running cell, which then fails; what it awaits goes on unseen. Between cells it does nothing. */
  interrupt(): void;
  close(): void;
}

/** The running cell. */
interface Run {
  readonly code: string;
  readonly cell: number;
  problems: ConvertResult['diagnostics'];
  failure?: { readonly error: unknown };
  readonly stop: (reason: Interruption) => void;
  readonly onValue: (bundles: readonly MimeBundle[]) => void;
}

/**
 * An evaluator around tslab's converter and executor, with the toolkit ready as `kpw`.
 *
 * One per process: the executor keeps its scope in a global variable and resolves modules from the working directory.
 */
export async function createTslabEvaluator(options: {
  readonly output: (output: CellOutput) => void;
  readonly onPhase?: (phase: EvaluatorPhase) => void;
}): Promise<Evaluator> {
  const positions = new CellPositions();
  const ownTurn = createOwnTurn();
  const enter = options.onPhase ?? (() => {});
  let current: Run | undefined;

  const executor = createTslabExecutor({
    workingDirectory: process.cwd(),
    onConvert(convert) {
      if (current === undefined) return convert().result;
      enter('converting');
      const { result, maps } = orUnfit(convert);
      enter('running');
      current.problems = result.diagnostics;
      if (!result.output) return result;
      const name = positions.remember(current.cell, current.code, {
        output: result.output,
        hasTopLevelAwait: result.hasToplevelAwait === true,
        ...(maps === undefined ? {} : { maps }),
      });
      return { ...result, output: result.output + name };
    },
    onValue: (value) => current?.onValue(displayBundles(withoutInnerName(value))),
    onError(error) {
      // Compile problems arrive here too, as formatted text; `problems` has them with their positions. What an
      // interrupted cell still says is not the next cell's failure.
      if (current !== undefined && current.problems.length === 0) current.failure ??= { error };
    },
  });

  /** Shows a cell's value: what is above the last item goes out by itself. */
  function showValue(bundles: readonly MimeBundle[], cell: number): void {
    for (const [index, data] of bundles.entries())
      options.output(
        index < bundles.length - 1
          ? { output_type: 'display_data', data, metadata: {} }
          : { output_type: 'execute_result', data, metadata: {}, execution_count: cell },
      );
  }

  async function run(
    call: () => Promise<boolean>,
    code: string,
    cell: number,
    onValue: Run['onValue'] = (bundles) => showValue(bundles, cell),
  ): Promise<ErrorOutput | undefined> {
    let stop: Run['stop'] = () => {};
    const stopped = new Promise<never>((_, reject) => {
      stop = reject;
    });
    const here: Run = { code, cell, problems: [], stop, onValue };
    current = here;
    try {
      if (await Promise.race([ownTurn(call), stopped])) return undefined;
    } catch (error) {
      // The interruption, a value whose display or inspection throws, or the converter itself.
      return describeThrown(error, positions);
    } finally {
      current = undefined;
      enter('idle');
    }
    return here.problems.length > 0
      ? describeProblems(here.problems, code, cell)
      : describeThrown(here.failure?.error, positions);
  }

  const broken = await run(() => executor.loadToolkit(), '', 0);
  if (broken !== undefined)
    throw new Error(`the toolkit cannot be loaded into the notebook kernel: ${broken.evalue}`);

  return {
    async evaluate(code, executionCount) {
      const error = await run(() => executor.execute(code), code, executionCount);
      return error === undefined ? { status: 'ok' } : { status: 'error', error };
    },
    async valueOf(expression, cell) {
      const asked = `(${expression})`;
      let data: MimeBundle = { 'text/plain': 'undefined' };
      const error = await run(
        () => executor.execute(asked),
        asked,
        cell,
        ([first = data]) => {
          data = first;
        },
      );
      return error === undefined ? { status: 'ok', data } : { status: 'error', error };
    },
    describeError: (error) => describeThrown(error, positions),
    warmUp() {
      if (current !== undefined) return; // a cell is running: that warms it up
      enter('converting');
      executor.warmUp();
      enter('idle');
    },
    complete: (code, position) => completionOf(executor.complete(code, position)),
    inspect(code, position) {
      for (const place of placesToInspect(code, position)) {
        const documentation = documentationOf(executor.inspect(code, place));
        if (documentation !== undefined) return documentation;
      }
      return undefined;
    },
    checkComplete: completenessOf,
    interrupt() {
      current?.stop(new Interruption());
      executor.interrupt();
    },
    close() {
      ownTurn.close();
      executor.close();
    },
  };
}

/** A function or class without a name got that of the variable which the executor keeps a cell's value in. */
function withoutInnerName(value: unknown): unknown {
  if (typeof value === 'function' && /^tsLastExpr\d*$/.test(value.name))
    Object.defineProperty(value, 'name', { value: '' });
  return value;
}

/** A compiler that throws is broken: what a cell says wrong it reports. */
function orUnfit<T>(convert: () => T): T {
  try {
    return convert();
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    throw new Error(
      `the cell could not be compiled (${reason}); if every cell fails so, an earlier one has changed what the compiler needs: restart the kernel`,
    );
  }
}

/** Why an interrupted cell failed. */
class Interruption extends Error {
  constructor() {
    super('the cell was stopped');
    this.name = 'Interrupted';
    this.stack = '';
  }
}

/**
 * Calls functions from the event loop instead of from the caller, one at a time. Code stopped by force takes every
 * frame below it along: with none of ours there, the caller lives on. A message port survives that, timers do not.
 */
function createOwnTurn(): (<T>(call: () => Promise<T>) => Promise<T>) & { close: () => void } {
  const { port1, port2 } = new MessageChannel();
  let next: (() => void) | undefined;
  port2.on('message', () => next?.());
  port2.unref();
  const ownTurn = <T>(call: () => Promise<T>): Promise<T> =>
    new Promise((resolve, reject) => {
      next = () => {
        next = undefined;
        call().then(resolve, reject);
      };
      port1.postMessage(null);
    });
  return Object.assign(ownTurn, { close: () => port1.close() });
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
  if (isInterruption(thrown)) thrown = new Interruption();
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

/** Ours, or the runtime's own when a signal stopped the cell. */
function isInterruption(value: unknown): boolean {
  return isError(value) && 'code' in value && value.code === 'ERR_SCRIPT_EXECUTION_INTERRUPTED';
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
