import { existsSync } from 'node:fs';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import {
  createTslabEvaluator,
  type Evaluator,
} from '../../../../../toolkit/notebook/kernel/evaluator/evaluator.js';
import type { CellOutput, ErrorOutput } from '../../../../../toolkit/notebook/kernel/messages/outputs.js';

let evaluator: Evaluator;
let outputs: CellOutput[];
let executionCount = 0;

async function run(code: string): Promise<'ok' | 'error'> {
  outputs = [];
  executionCount += 1;
  const result = await evaluator.evaluate(code, executionCount);
  if (result.status === 'error') outputs.push(result.error);
  return result.status;
}

async function failureOf(code: string): Promise<ErrorOutput> {
  expect(await run(code)).toBe('error');
  const failure = outputs.find((output): output is ErrorOutput => output.output_type === 'error');
  if (failure === undefined) throw new Error('the cell failed without an error output');
  return failure;
}

function valueInWords(): unknown {
  const [result] = outputs;
  return result?.output_type === 'execute_result' ? result.data['text/plain'] : undefined;
}

beforeAll(async () => {
  if (!existsSync('dist/toolkit/node.js'))
    throw new Error(
      'the notebook imports the built toolkit, and dist/ is missing: run `npm run build` first',
    );
  // The test runner writes stack traces of its own; a kernel process has the engine's.
  Error.prepareStackTrace = undefined as never;
  evaluator = await createTslabEvaluator({ output: (output) => outputs.push(output) });
});

// Undefined where the start failed: that failure is the one to read.
afterAll(() => (evaluator as typeof evaluator | undefined)?.close());

beforeEach(() => {
  outputs = [];
});

describe('the toolkit in a cell', () => {
  it('is ready as kpw in the first cell, without an import', async () => {
    expect(await run('typeof kpw.show + typeof kpw.ArgumentError')).toBe('ok');
    expect(valueInWords()).toBe('functionfunction');
  });

  it('can be imported by name from both entries, with types', async () => {
    expect(
      await run(
        'import { ArgumentError } from "kelvin-per-watt";\nimport { show } from "kelvin-per-watt/node";',
      ),
    ).toBe('ok');
    expect(await run('ArgumentError === kpw.ArgumentError && show === kpw.show')).toBe('ok');
    expect(valueInWords()).toBe('true');
    const failure = await failureOf(
      'const wrong: number = new ArgumentError({ caller: "a", argument: "b", expected: "c", received: 1 }).caller;',
    );
    expect(failure.evalue).toBe("Type 'string' is not assignable to type 'number'.");
  });

  it.each([
    ['import { gzipSync } from "node:zlib";\nconst size: string = gzipSync("x").length;', 'size'],
    ['import { connect } from "http2";\nconst open: number = connect;', 'open'],
    ['import { Session } from "node:inspector/promises";\nconst post: number = new Session().post;', 'post'],
  ])('knows the types of modules that few cells import: %s', async (code, name) => {
    const { ename, evalue } = await failureOf(code);
    expect(ename).toBe('TypeScriptError');
    expect(evalue).toMatch(/^Type '.+' is not assignable to type '(string|number)'\.$/);
    expect(await run(code.replace(/: (?:string|number) =/, ' ='))).toBe('ok');
    expect(await run(`${name};`)).toBe('ok');
  });

  it('keeps the toolkit when a cell declares a name twice', async () => {
    await run('const limitC = 85;');
    await run('const limitC = 90;');
    expect(await run('limitC + Object.keys(kpw).length * 0')).toBe('ok');
    expect(valueInWords()).toBe('90');
  });
});

describe('values', () => {
  it('shows the last value, and nothing for a declaration or undefined', async () => {
    await run('1 + 1');
    expect(outputs).toEqual([
      {
        output_type: 'execute_result',
        data: { 'text/plain': '2' },
        metadata: {},
        execution_count: executionCount,
      },
    ]);
    await run('const quiet = 3;');
    expect(outputs).toEqual([]);
    await run('void 0');
    expect(outputs).toEqual([]);
  });

  it('awaits at the top of a cell', async () => {
    expect(
      await run('const later = await new Promise<number>((r) => setTimeout(() => r(7), 1));\nlater'),
    ).toBe('ok');
    expect(valueInWords()).toBe('7');
  });

  it('waits in a loop at the top of a cell, with the right lines', async () => {
    const steps = 'async function* steps() {\n  yield 1;\n  yield 2;\n}\n';
    expect(await run(`${steps}let sum = 0;\nfor await (const step of steps()) sum += step;\nsum`)).toBe('ok');
    expect(valueInWords()).toBe('3');
    const failure = await failureOf('for await (const step of steps())\n  throw new Error(String(step));');
    expect(failure.traceback.join('\n')).toContain(`cell ${executionCount}, line 2, column 9`);
    // Inside a function it is the function that waits.
    await run('async () => {\n  for await (const step of steps()) step;\n}');
    expect(valueInWords()).toBe('[AsyncFunction (anonymous)]');
  });

  it('shows the beginning of a text that is too long for any page', async () => {
    await run('"x".repeat(3_000_000)');
    expect(String(valueInWords())).toMatch(/^x{1000000}\n… 2,000,000 more characters: write the text/);
  });
});

describe('failures', () => {
  it('name the line and column of the cell where it does not compile', async () => {
    const failure = await failureOf('const a = 1;\n\nconst b: string =\n  a;');
    expect(failure.ename).toBe('TypeScriptError');
    expect(failure.traceback[0]).toBe(
      `cell ${executionCount}, line 3, column 7: Type 'number' is not assignable to type 'string'.`,
    );
    expect(failure.traceback.slice(1)).toEqual(['  3 | const b: string =', '    |       ^']);
  });

  it("name the cell's own line at run time, however much the types above it shrink", async () => {
    const failure = await failureOf(
      [
        'interface Point {',
        '  readonly powerW: number;',
        '}',
        '',
        '// A comment.',
        'type Points = readonly Point[];',
        'function first(points: Points): number {',
        '',
        '  return points[0].powerW;',
        '}',
        'first([]);',
      ].join('\n'),
    );
    expect(failure.ename).toBe('TypeError');
    expect(failure.evalue).toMatch(/Cannot read properties of undefined \(reading 'powerW'\)/);
    expect(failure.traceback).toEqual([
      `TypeError: ${failure.evalue}`,
      '  9 |   return points[0].powerW;',
      '    |                    ^',
      `    at first, cell ${executionCount}, line 9, column 20`,
      `    at cell ${executionCount}, line 11, column 1`,
    ]);
  });

  it('name the line after an import, an await and a blank line', async () => {
    const failure = await failureOf(
      'import { basename } from "node:path";\n\nawait null;\nconst name = basename("/a/b");\n\n  throw new RangeError(name);',
    );
    expect(failure.traceback.slice(1)).toEqual([
      '  6 |   throw new RangeError(name);',
      '    |         ^',
      `    at cell ${executionCount}, line 6, column 9`,
    ]);
  });

  it('name both cells where a function of an earlier cell fails', async () => {
    await run('\nfunction fails(): never {\n  throw new Error("on purpose");\n}');
    const earlier = executionCount;
    const failure = await failureOf('const unused = 1;\nfails();');
    expect(failure.traceback.slice(-2)).toEqual([
      `    at fails, cell ${earlier}, line 3, column 9`,
      `    at cell ${executionCount}, line 2, column 1`,
    ]);
  });

  it("leave out the toolkit's and the kernel's inner frames and keep the cause", async () => {
    const failure = await failureOf(
      'throw new Error("outer", { cause: new kpw.ArgumentError({ caller: "f", argument: "x", expected: "good", received: 1 }) });',
    );
    expect(failure.traceback.join('\n')).not.toMatch(/node_modules|node:|executor|toolkit/);
    expect(failure.traceback.at(-1)).toBe('caused by ArgumentError: f: `x` must be good (received 1)');
  });

  it('describe thrown values that are no errors', async () => {
    expect(await failureOf('throw { code: 5 };')).toEqual({
      output_type: 'error',
      ename: 'Thrown',
      evalue: '{ code: 5 }',
      traceback: ['Thrown: { code: 5 }'],
    });
  });

  it('leave the scope usable', async () => {
    await run('const kept = 11;');
    await run('kept.oops');
    await run('throw new Error("no")');
    expect(await run('kept')).toBe('ok');
    expect(valueInWords()).toBe('11');
  });
});
