import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import * as kpw from '../../toolkit/node.js';
import { compileTexts } from '../checks/compile-texts.js';
import { publicFace } from '../checks/public-program.js';
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
  const values = Object.keys(kpw);
  const types = face.symbols.map(({ name }) => name).filter((name) => !values.includes(name));
  const header = [
    "import * as kpw from '../../toolkit/node.js';",
    `import { ${values.join(', ')} } from '../../toolkit/node.js';`,
    `import type { ${types.join(', ')} } from '../../toolkit/node.js';`,
    // In a block of its own, so that an example may use a public name for a variable.
    'export async function example(): Promise<void> {{',
  ].join(' ');
  const compiled = compileTexts(examples.map(({ code }) => `${header}\n${code}\n}}`));
  return examples.flatMap(({ path, line }, index) =>
    // The header is the first line, the example begins in the second.
    compiled[index]!.map((problem) => `${path}:${line + problem.line - 2} ${problem.message}`),
  );
}
