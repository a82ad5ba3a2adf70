import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import ts from 'typescript';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import * as kpw from '../../toolkit/node.js';
import { publicFace } from '../checks/public-program.js';
import { REPOSITORY } from '../checks/repository.js';
import { docCommentOf } from './doc-comment.js';
import { parseExample, runExample } from './example-code.js';

const face = publicFace();
const documented = face.symbols.map((symbol) => ({ ...symbol, comment: docCommentOf(symbol.declaration) }));
const examples = documented.flatMap(({ name, path, nodeOnly, comment }) =>
  (comment?.examples ?? []).map(({ code, line }) => ({ name, path, nodeOnly, code, line })),
);
const scope = { ...kpw, kpw };

describe('the public face', () => {
  it('is not empty, and the compiler sees every value the program sees', () => {
    const values = documented.filter(({ isValue }) => isValue).map(({ name }) => name);
    expect(values.sort()).toEqual(Object.keys(kpw).sort());
    expect(values.length).toBeGreaterThan(10);
  });

  it('has a doc comment for every name', () => {
    const bare = documented.filter(({ comment }) => comment === undefined || comment.description === '');
    expect(bare.map(({ name, path, line }) => `${path}:${line} ${name} has no doc comment`)).toEqual([]);
  });

  it('has an example for every function, class and constant', () => {
    const lacking = documented.filter(({ isValue, comment }) => isValue && comment?.examples.length === 0);
    expect(lacking.map(({ name, path, line }) => `${path}:${line} ${name} has no @example`)).toEqual([]);
  });

  it('promises something in every example, so that it can fail', () => {
    const empty = examples.filter(({ code }) => parseExample(code).expectations.length === 0);
    expect(
      empty.map(({ name, path, line }) => `${path}:${line} the example of ${name} has no // =>`),
    ).toEqual([]);
  });

  it('has examples that compile as they stand', () => {
    expect(compileProblems()).toEqual([]);
  }, 120_000);
});

describe('the example of', () => {
  let folder: string;
  const home = process.cwd();
  beforeEach(() => {
    // Examples that write files do it here.
    folder = mkdtempSync(join(tmpdir(), 'kelvin-per-watt-example-'));
    process.chdir(folder);
  });
  afterEach(() => {
    process.chdir(home);
    rmSync(folder, { recursive: true, force: true });
  });

  for (const { name, path, line, code } of examples) {
    it(`${name} gives what it promises (${path}:${line})`, async () => {
      const failures = await runExample(code, scope);
      expect(failures.map((failure) => `${path}:${line + failure.line} ${failure.message}`)).toEqual([]);
    });
  }
});

/** Compiles every example as a person would paste it, all public names imported; problems with file and line. */
function compileProblems(): readonly string[] {
  const names = face.symbols.map(({ name }) => name);
  const values = Object.keys(kpw);
  const header = [
    `import * as kpw from '../../toolkit/node.js';`,
    `import { ${values.join(', ')} } from '../../toolkit/node.js';`,
    `import type { ${names.filter((name) => !values.includes(name)).join(', ')} } from '../../toolkit/node.js';`,
    'export async function example(): Promise<void> {{ ',
  ].join(' ');
  const texts = new Map(
    examples.map(({ code }, index) => [
      `${REPOSITORY}tests/examples/example-${index}.ts`,
      `${header}\n${code}\n}}`,
    ]),
  );
  const options: ts.CompilerOptions = {
    ...face.options,
    noUnusedLocals: false,
    noUnusedParameters: false,
    isolatedDeclarations: false,
    declaration: false,
  };
  const host = ts.createCompilerHost(options);
  const { fileExists, readFile, getSourceFile } = host;
  host.fileExists = (path) => texts.has(path) || fileExists.call(host, path);
  host.readFile = (path) => texts.get(path) ?? readFile.call(host, path);
  host.getSourceFile = (path, version, ...rest) => {
    const text = texts.get(path);
    return text === undefined
      ? getSourceFile.call(host, path, version, ...rest)
      : ts.createSourceFile(path, text, version, true);
  };
  const program = ts.createProgram([...texts.keys()], options, host);
  return [...texts.keys()].flatMap((path, index) => {
    const source = program.getSourceFile(path)!;
    const { path: file, line } = examples[index]!;
    return [...program.getSyntacticDiagnostics(source), ...program.getSemanticDiagnostics(source)]
      .filter(({ code }) => !UNUSED_VALUE.has(code))
      .map(({ start, messageText }) => {
        // The header is line 0 of the compiled text, the example begins in line 1.
        const offset = source.getLineAndCharacterOfPosition(start ?? 0).line - 1;
        return `${file}:${line + offset} ${ts.flattenDiagnosticMessageText(messageText, ' ')}`;
      });
  });
}

/** An expression whose value is only promised in a comment is unused to the compiler (codes of TypeScript). */
const UNUSED_VALUE: ReadonlySet<number> = new Set([2695, 7027]);
