import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import * as kpw from '../../toolkit/node.js';
import { compileTexts } from '../checks/compile-texts.js';
import { publicFace } from '../checks/public-program.js';
import { type DocComment, docCommentOf } from './doc-comment.js';
import { parseExample, runExample } from './example-code.js';

const face = publicFace();
const documented = face.symbols.map((symbol) => ({ ...symbol, comment: docCommentOf(symbol.declaration) }));
const publicValues = documented.filter(({ isValue }) => isValue).map(({ name }) => name);
const examples = [
  ...documented.flatMap((symbol) => examplesOf(symbol, undefined)),
  ...face.innerSymbols.flatMap((symbol) =>
    examplesOf({ ...symbol, comment: docCommentOf(symbol.declaration) }, symbol.name),
  ),
];

/** An example, and what it calls by a name that is not public. */
interface Example {
  readonly name: string;
  readonly innerName: string | undefined;
  readonly path: string;
  readonly line: number;
  readonly code: string;
}

function examplesOf(
  { name, path, comment }: { name: string; path: string; comment: DocComment | undefined },
  innerName: string | undefined,
): readonly Example[] {
  return (comment?.examples ?? []).map(({ code, line }) => ({ name, innerName, path, line, code }));
}

describe('the public face', () => {
  it('is not empty, and the compiler sees every value the program sees', () => {
    expect(publicValues.toSorted()).toEqual(Object.keys(kpw).toSorted());
    expect(publicValues.length).toBeGreaterThan(10);
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

  for (const { name, innerName, path, line, code } of examples) {
    it(`${name} gives what it promises (${path}:${line})`, async () => {
      const inner = innerName === undefined ? {} : await import(/* @vite-ignore */ `../../${path}`);
      const scope = { ...kpw, kpw, ...(innerName === undefined ? {} : { [innerName]: inner[innerName] }) };
      const failures = await runExample(code, scope);
      expect(failures.map((failure) => `${path}:${line + failure.line} ${failure.message}`)).toEqual([]);
    });
  }
});

/** Compiles every example as a person would paste it, all public names imported; problems with file and line. */
function compileProblems(): readonly string[] {
  const types = face.symbols.map(({ name }) => name).filter((name) => !publicValues.includes(name));
  const headerOf = ({ innerName, path }: Example): string =>
    [
      "import * as kpw from '../../toolkit/node.js';",
      `import { ${publicValues.join(', ')} } from '../../toolkit/node.js';`,
      `import type { ${types.join(', ')} } from '../../toolkit/node.js';`,
      innerName === undefined ? '' : `import { ${innerName} } from '../../${path.replace(/ts$/, 'js')}';`,
      // In a block of its own, so that an example may use a public name for a variable.
      'export async function example(): Promise<void> {{',
    ].join(' ');
  const compiled = compileTexts(examples.map((example) => `${headerOf(example)}\n${example.code}\n}}`));
  return examples.flatMap(({ path, line }, index) =>
    // The header is the first line, the example begins in the second.
    compiled[index].map((problem) => `${path}:${line + problem.line - 2} ${problem.message}`),
  );
}
