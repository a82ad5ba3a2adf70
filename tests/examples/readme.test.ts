import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import ts from 'typescript';
import { describe, expect, it } from 'vitest';
import { parseConditions } from '../../toolkit/logs/conditions.js';
import { decideHelp, parseCommandOptions } from '../../toolkit/notebook/commands/command-options.js';
import { compileTexts } from '../checks/compile-texts.js';
import { REPOSITORY } from '../checks/repository.js';

const read = (path: string): string => readFileSync(join(REPOSITORY, path), 'utf8');
const readme = read('README.md');
const { scripts } = JSON.parse(read('package.json')) as { scripts: Readonly<Record<string, string>> };

/** The one code block of a language. */
function blockOf(language: string): string {
  const blocks = [...readme.matchAll(new RegExp(`^\`\`\`${language}\\n([\\s\\S]*?)^\`\`\``, 'gm'))];
  expect(blocks).toHaveLength(1);
  return blocks[0][1];
}

describe("the README's TypeScript", () => {
  it('compiles as it stands', () => {
    const source = blockOf('ts')
      .replaceAll("'kelvin-per-watt/node'", "'../../toolkit/node.js'")
      .replaceAll("'kelvin-per-watt'", "'../../toolkit/index.js'");
    expect(compileTexts([source])).toEqual([[]]);
  }, 120_000);

  it('runs on the built package, by its name, and gives a cap', () => {
    expect(existsSync(join(REPOSITORY, 'dist/toolkit/node.js')), 'run `npm run build` first').toBe(true);
    const { outputText } = ts.transpileModule(blockOf('ts'), {
      compilerOptions: { target: ts.ScriptTarget.ES2022, module: ts.ModuleKind.ESNext },
    });
    const { status, stdout, stderr } = spawnSync(
      process.execPath,
      ['--input-type=module', '--eval', outputText],
      { cwd: REPOSITORY, encoding: 'utf8' },
    );
    expect(stderr).toBe('');
    expect(status).toBe(0);
    expect(stdout).toMatch(
      /^Set the cap to \d+ W\. .* at or below 85 °C with 95 % confidence .* default cap of 118 W/,
    );
    expect(stdout).toMatch(/kind: 'estimated'/);
  }, 60_000);
});

describe("the README's conditions file", () => {
  it('is a valid one and names every entry there is, except a fixed fan and a lowered voltage', () => {
    const conditions = parseConditions(blockOf('json'), 'README.md');
    const schema = JSON.parse(read('toolkit/logs/conditions.schema.json')) as {
      properties: Readonly<Record<string, unknown>>;
    };
    const known = Object.keys(schema.properties).filter((name) => name !== '$schema');
    const special = ['fanSpeedRpm', 'voltageOffsetMv'];
    expect(Object.keys(conditions).sort()).toEqual(known.filter((name) => !special.includes(name)).sort());
  });
});

describe("the README's pictures", () => {
  const pictures = [...readme.matchAll(/!\[([^\]]*)\]\(([^)]+)\)/g)].map(([, alt, path]) => ({
    alt: alt,
    path: path,
  }));

  it('are three, described for those who do not see them, and light', () => {
    expect(pictures).toHaveLength(3);
    for (const { alt, path } of pictures) {
      expect(alt.length, path).toBeGreaterThan(40);
      expect(statSync(join(REPOSITORY, path)).size, path).toBeLessThan(200_000);
    }
  });

  it('are the ones that the script makes', () => {
    const script = read('tests/pictures/make-pictures.ts');
    for (const { path } of pictures) expect(script).toContain(`'${path.split('/').at(-1)}'`);
  });
});

describe("the README's commands", () => {
  it('take the options they show', () => {
    const [, typed] = /^npm start -- (my-logs\/.*)$/m.exec(readme)!;
    expect(parseCommandOptions(typed.split(' '), 'npm start')).toMatchObject({ limitC: 85, ambientC: 23 });
    const shown = [...readme.matchAll(/`(--[a-z][a-z-]*)[^`]*`/g)].map(([, option]) => option);
    expect(shown).toContain('--enclosure-rise');
    const helps = `${decideHelp}${read('toolkit/notebook/commands/report-command.ts')}`;
    expect(shown.filter((option) => !helps.includes(option))).toEqual([]);
  });
});

describe.each(['README.md', 'DEVELOPERS.md', 'datasets-demo/README.md'])('%s', (path) => {
  const text = read(path);

  it('links to files that exist', () => {
    const links = [...text.matchAll(/\]\(([^)\s#]+)/g)].map(([, link]) => link);
    const relative = links.filter((link) => !/^[a-z]+:/i.test(link));
    if (path !== 'datasets-demo/README.md') expect(relative.length).toBeGreaterThan(0);
    expect(relative.filter((link) => !existsSync(join(REPOSITORY, dirname(path), link)))).toEqual([]);
  });

  it('names scripts that exist', () => {
    const named = [...text.matchAll(/npm run ([a-z:]+)/g)].map(([, name]) => name);
    expect(named.filter((name) => scripts[name] === undefined)).toEqual([]);
  });
});
