import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  pathsFromDisk,
  REPOSITORY,
  repositoryPaths,
  type SourceFile,
  typeScriptFiles,
} from './repository.js';
import { citationsIn, commentsOf, TOP_LEVEL, unfinishedLines } from './top-level.js';

const paths = repositoryPaths();
const TEXT = /\.([cm]?[jt]sx?|json|md|css|html|ya?ml|ipynb|csv)$|^(LICENSE|\.gitignore|\.ci\/.*)$/;

function fileAt(path: string): SourceFile {
  return { path, text: readFileSync(REPOSITORY + path, 'utf8') };
}

describe('the repository', () => {
  it('has at its top what the design lists, and nothing else', () => {
    const top = [...new Set(paths.map((path) => path.split('/')[0]))].sort();
    expect(top.filter((name) => !TOP_LEVEL.includes(name))).toEqual([]);
    expect(TOP_LEVEL.filter((name) => !top.includes(name))).toEqual([]);
  });

  it('is listed alike from disk, where there is no git', () => {
    const fromDisk = pathsFromDisk();
    expect(paths.filter((path) => !fromDisk.includes(path))).toEqual([]);
    expect(
      [...new Set(fromDisk.map((path) => path.split('/')[0]))].filter((name) => !TOP_LEVEL.includes(name)),
    ).toEqual([]);
  });

  it('does not tie the lock file to any one registry', () => {
    const lock = JSON.parse(readFileSync(`${REPOSITORY}package-lock.json`, 'utf8')) as {
      packages: Record<string, { resolved?: string; link?: boolean }>;
    };
    expect(Object.keys(lock.packages).length).toBeGreaterThan(10);
    const tied = Object.entries(lock.packages).filter(
      ([, { resolved, link }]) => link !== true && resolved !== undefined && resolved !== '',
    );
    expect(tied.map(([name]) => name)).toEqual([]);
  });

  it('holds no merge marks and no notes about unfinished work', () => {
    const texts = paths.filter((path) => TEXT.test(path) && path !== 'package-lock.json').map(fileAt);
    expect(texts.length).toBeGreaterThan(50);
    expect(texts.flatMap(unfinishedLines)).toEqual([]);
  });

  it('names its files in kebab-case', () => {
    const odd = typeScriptFiles('toolkit', 'tests', 'datasets-demo')
      .map(({ path }) => path)
      .filter(
        (path) => !/^([a-z0-9]+(-[a-z0-9]+)*\/)*[a-z0-9]+(-[a-z0-9]+)*(\.(test|bench|d))?\.tsx?$/.test(path),
      );
    expect(odd).toEqual([]);
  });
});

describe('citations', () => {
  const references = readFileSync(`${REPOSITORY}toolkit/references.md`, 'utf8');
  const listed = [...references.matchAll(/^- \[([^\]]+)\]/gm)].map((match) => match[1]);
  const cited = typeScriptFiles('toolkit').flatMap(({ path, text }) =>
    citationsIn(commentsOf(text)).map(({ key, line }) => ({ key, where: `${path}:${line}` })),
  );

  it('resolve in toolkit/references.md', () => {
    expect(cited.length).toBeGreaterThan(10);
    const lost = cited.filter(({ key }) => !listed.includes(key));
    expect(
      lost.map(({ key, where }) => `${where} cites [${key}], which toolkit/references.md does not list`),
    ).toEqual([]);
  });

  it('are listed once each', () => {
    expect(listed.filter((key, index) => listed.indexOf(key) !== index)).toEqual([]);
  });
});

describe('the checks of texts', () => {
  it.each([
    [`a\n${'<'.repeat(7)} ours\n`, 'x.md:2 holds a merge mark'],
    [`${'='.repeat(7)}\n`, 'x.md:1 holds a merge mark'],
    [`${'>'.repeat(7)} theirs\n`, 'x.md:1 holds a merge mark'],
    [`// ${'TO'}${'DO'}: later`, `x.md:1 says ${'TO'}${'DO'}`],
    [`fine\n/* ${'FIX'}${'ME'} */`, `x.md:2 says ${'FIX'}${'ME'}`],
  ])('see %j', (text, problem) => {
    expect(unfinishedLines({ path: 'x.md', text })).toEqual([problem]);
  });

  it('let headings and tables pass', () => {
    expect(unfinishedLines({ path: 'x.md', text: 'Title\n=====\n| a |\n>> quoted\n' })).toEqual([]);
  });

  it('read citations with their parts, in comments only, and no links', () => {
    const text = [
      '/** After [Bergman2011, ch. 5] and [JESD51-14]. */',
      "const x = a[B1] + 'see [Other2001]'; // [JCGM100, F.2.2.1]",
      '// a [Link2003](https://example.org) and [a list]',
    ].join('\n');
    expect(citationsIn(commentsOf(text))).toEqual([
      { key: 'Bergman2011', line: 1 },
      { key: 'JESD51-14', line: 1 },
      { key: 'JCGM100', line: 2 },
    ]);
  });
});
