import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { importProblems } from './import-graph.js';
import { REPOSITORY, type SourceFile, typeScriptFiles } from './repository.js';

const manifest = JSON.parse(readFileSync(`${REPOSITORY}package.json`, 'utf8')) as Record<
  'dependencies' | 'peerDependencies' | 'devDependencies',
  Record<string, string> | undefined
>;
const packages = Object.keys({ ...manifest.dependencies, ...manifest.peerDependencies });
const packagesOfThePage = Object.keys(manifest.devDependencies ?? {});

/** Problems of a small made-up toolkit: path within `toolkit/` to text. */
function problemsOf(texts: Readonly<Record<string, string>>): readonly string[] {
  const files: readonly SourceFile[] = Object.entries(texts).map(([path, text]) => ({
    path: `toolkit/${path}`,
    text,
  }));
  return importProblems(files, ['ml-matrix'], ['@jupyterlab/notebook']);
}

describe('the imports of the toolkit', () => {
  it('follow the graph of the design, without cycles, and keep the public face free of Node', () => {
    const files = typeScriptFiles('toolkit');
    expect(files.length).toBeGreaterThan(20);
    expect(importProblems(files, packages, packagesOfThePage)).toEqual([]);
  });
});

describe('the check of imports', () => {
  it('accepts a file of each kind that keeps to the rules', () => {
    expect(
      problemsOf({
        'errors.ts': 'export class ArgumentError extends Error {}',
        'runs/run.ts':
          "import { ArgumentError } from '../errors.js'; export const x: unknown = ArgumentError;",
        'thermal/fit.ts':
          "import type { X } from '../runs/run.js'; import { Matrix } from 'ml-matrix'; export const y = Matrix;",
        'logs/read-run-node.ts': "import { readFile } from 'node:fs/promises'; export const z = readFile;",
        'thermal/check/threads-node.ts':
          "import { Worker } from 'node:worker_threads'; export const w = Worker;",
        'index.ts': "export { y } from './thermal/fit.js';",
        'node.ts': "export { z } from './logs/read-run-node.js';",
        'notebook/app/page/app.ts': "import './app.css'; import '@jupyterlab/notebook';",
      }),
    ).toEqual([]);
  });

  it.each<[string, Readonly<Record<string, string>>, RegExp]>([
    [
      'a model that imports another kind of model',
      { 'thermal/a.ts': "\nimport { b } from '../power/b.js';", 'power/b.ts': 'export const b = 1;' },
      /^toolkit\/thermal\/a\.ts:2 imports toolkit\/power\/b\.ts: thermal may import runs, errors, units, numerics, not power$/,
    ],
    [
      'the same by type only',
      { 'wear/a.ts': "import type { B } from '../thermal/b.js';", 'thermal/b.ts': 'export type B = 1;' },
      /wear may import/,
    ],
    [
      'a run that imports the log reader',
      { 'runs/a.ts': "export { b } from '../logs/b.js';", 'logs/b.ts': 'export const b = 1;' },
      /runs may import errors, units, numerics, not logs/,
    ],
    [
      'anything that imports the notebook',
      { 'report/a.ts': "import '../notebook/b.js';", 'notebook/b.ts': '' },
      /report may import .*, not notebook/,
    ],
    [
      'anything that imports the public face',
      { 'cap/a.ts': "import '../index.js';", 'index.ts': '' },
      /cap may import .*, not index/,
    ],
    [
      'an import inside a call',
      { 'runs/a.ts': "export const later = () => import('../cap/b.js');", 'cap/b.ts': '' },
      /runs may import .*, not cap/,
    ],
    [
      'an import inside a type',
      { 'runs/a.ts': "export type T = import('../cap/b.js').B;", 'cap/b.ts': 'export type B = 1;' },
      /runs may import .*, not cap/,
    ],
    [
      'a new folder',
      { 'misc/a.ts': "import '../errors.js';", 'errors.ts': '' },
      /"misc" has no place in the import graph/,
    ],
    [
      'a file that is not there',
      { 'runs/a.ts': "import './b.js';" },
      /imports \.\/b\.js, which is no file of the toolkit/,
    ],
    [
      'a package that is no dependency',
      { 'runs/a.ts': "import x from '@scope/left/deep';" },
      /imports @scope\/left, which is no dependency/,
    ],
    [
      'a module of Node',
      { 'runs/a.ts': "import { readFileSync } from 'node:fs';" },
      /imports node:fs, but this file must run in a browser/,
    ],
    [
      'a module of Node without its prefix',
      { 'runs/a.ts': "import { readFileSync } from 'fs';" },
      /imports fs, but this file/,
    ],
    [
      'worker threads in a model file of another name',
      { 'thermal/node-threads.ts': "import { Worker } from 'node:worker_threads';" },
      /thermal\/node-threads\.ts:1 imports node:worker_threads, but this file must run in a browser/,
    ],
    [
      'worker threads in another kind of model',
      { 'power/threads-node.ts': "import { Worker } from 'node:worker_threads';" },
      /power\/threads-node\.ts:1 imports node:worker_threads, but this file must run in a browser/,
    ],
    [
      'a global of Node',
      { 'runs/a.ts': '\n\nexport const x = process.argv;' },
      /^toolkit\/runs\/a\.ts:3 uses process, but this file/,
    ],
    ['a Buffer', { 'logs/a.ts': 'export const x = (b: Uint8Array) => Buffer.from(b);' }, /uses Buffer/],
    [
      'Node behind the public face',
      {
        'index.ts': "export * from './logs/a.js';",
        'logs/a.ts': "export * from './record-b.js';",
        'logs/record-b.ts': "import 'node:fs';",
      },
      /which toolkit\/index\.ts reaches: toolkit\/index\.ts → toolkit\/logs\/a\.ts → toolkit\/logs\/record-b\.ts/,
    ],
    [
      'a circle',
      {
        'runs/a.ts': "import './b.js';",
        'runs/b.ts': "import './c.js';",
        'runs/c.ts': "import type { A } from './a.js';",
      },
      /circle: toolkit\/runs\/a\.ts → toolkit\/runs\/b\.ts → toolkit\/runs\/c\.ts → toolkit\/runs\/a\.ts/,
    ],
  ])('refuses %s', (_, texts, problem) => {
    const problems = problemsOf(texts);
    expect(problems).toHaveLength(1);
    expect(problems[0]).toMatch(problem);
  });

  it('does not take a field or a local of the same name for a global of Node', () => {
    expect(
      problemsOf({
        'runs/a.ts':
          'const process = (x: { process: number }) => x.process; export const y = process({ process: 1 });',
      }),
    ).toEqual([]);
  });
});
