import { type ChildProcess, spawn } from 'node:child_process';
import { copyFile, readFile, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { build } from 'esbuild';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { kernelIs, runCell, writeCell } from '../browser/app-in-browser.js';
import { launchBrowser } from '../browser/browser.js';
import { REPOSITORY } from '../checks/repository.js';
import { installedBytes, manifestOf, type PackedProject, packedProject } from './packed-project.js';

// Packing, compilers, a kernel and a browser; the machine may be shared.
vi.setConfig({ testTimeout: 240_000, hookTimeout: 240_000 });

let project: PackedProject;

beforeAll(async () => {
  await stat(join(REPOSITORY, 'dist/page/app.js')).catch(() => {
    throw new Error('the packed package is the built one: run `npm run build` first');
  });
  project = await packedProject();
  for (const power of [118, 95])
    await copyFile(
      join(REPOSITORY, `datasets-demo/tower-88-at-${power}w.csv`),
      join(project.folder, `at-${power}w.csv`),
    );
});

afterAll(() => project?.remove());

// Conditions are given in code: the project has the logs alone.
const decide = `
const cooler = fitCooler(runs);
const curve = fitPowerCurve(runs);
const choice = chooseCap(cooler, curve, { limitC: 85, ambientC: { low: 22, high: 27 }, enclosure: { riseK: 9, atPowerW: 95 }, defaultCapW: 118 });
const again = chooseCap(loadModel(saveModel(cooler)), loadModel(saveModel(curve)), choice.scenario);
`;

describe('the packed package', () => {
  it('holds what it runs on: both entries, the page of the app, the panel, the template, the schema and the notes', () => {
    for (const path of [
      'dist/toolkit/index.js',
      'dist/toolkit/index.d.ts',
      'dist/toolkit/node.js',
      'dist/toolkit/node.d.ts',
      'dist/toolkit/notebook/commands/start.js',
      'dist/toolkit/notebook/panel/panel-script.js',
      'dist/toolkit/notebook/jupyter/register.js',
      'dist/page/app.js',
      'dist/page/app.css',
      'dist/page/theme-first.js',
      'dist/page/build-stamp.json',
      'notebooks/01-from-logs-to-a-cap.ipynb',
      'toolkit/logs/conditions.schema.json',
      'toolkit/notebook/jupyter/logo.svg',
      'toolkit/references.md',
      'toolkit/thermal/METHOD.md',
      'toolkit/power/METHOD.md',
      'toolkit/cap/METHOD.md',
      'CHANGELOG.md',
      'LICENSE',
      'README.md',
    ])
      expect(project.files.paths).toContain(path);
  });

  it('holds no maps, tests, demo logs, sources or settings of the tools', () => {
    const unwanted = project.files.paths.filter(
      (path) =>
        /\.map$|(^|\/)tests?\/|datasets-demo|(^|\/)\.config|tsconfig|tsbuildinfo|package-lock/.test(path) ||
        (/\.ts$/.test(path) && !/\.d\.ts$/.test(path)),
    );
    expect(unwanted).toEqual([]);
  });

  it('is built afresh before it is packed, so that nothing of files that are gone is in it', async () => {
    const { scripts } = await manifestOf(REPOSITORY);
    expect(scripts?.['prepack']).toMatch(/rmSync\('dist'.* && npm run build\b/);
  });

  it('takes less than 150 MB with all that it brings at run time', async () => {
    const { dependencies } = await manifestOf(project.packageFolder);
    const sizes = await installedBytes(Object.keys(dependencies ?? {}));
    const brought = [...sizes.values()].reduce((sum, bytes) => sum + bytes, 0);
    const totalMb = (brought + project.files.unpackedBytes) / 1e6;
    const largest = [...sizes]
      .sort(([, a], [, b]) => b - a)
      .slice(0, 8)
      .map(([name, bytes]) => `${name}: ${(bytes / 1e6).toFixed(1)} MB`);
    expect(
      totalMb,
      `${totalMb.toFixed(1)} MB in ${sizes.size} packages and our own of ${(project.files.unpackedBytes / 1e6).toFixed(1)} MB; the largest: ${largest.join(', ')}`,
    ).toBeLessThan(150);
    // The compiler and the wire of notebooks alone take more than this: a smaller total means that something was not counted.
    expect(totalMb).toBeGreaterThan(60);
    expect([...sizes.keys()].join()).not.toMatch(/danfojs|tensorflow|@jupyterlab|chromium/);
  });
});

describe('in Node', () => {
  it('reads, fits, chooses, saves and loads, by both entries', async () => {
    await project.write(
      'in-node.mjs',
      `import assert from 'node:assert/strict';
import * as face from 'kelvin-per-watt';
import { readRuns } from 'kelvin-per-watt/node';
const { chooseCap, fitCooler, fitPowerCurve, loadModel, saveModel } = face;
const runs = (await readRuns(['at-118w.csv', 'at-95w.csv'], { conditions: { cooler: 'tower 88 mm', ambientC: 22.5, defaultCapW: 118 } }));
${decide}
assert.equal(again.powerCapW, choice.powerCapW);
console.log(choice.summary);`,
    );
    const { stdout, stderr } = await project.node('in-node.mjs');
    expect(stderr).toBe('');
    expect(stdout).toMatch(/^Set the cap to \d+ W\. /);
  });

  it('is found by require as well', async () => {
    await project.write(
      'required.cjs',
      `console.log(typeof require('kelvin-per-watt').fitCooler, typeof require('kelvin-per-watt/node').readRun);`,
    );
    const { stdout } = await project.node('required.cjs');
    expect(stdout).toBe('function function\n');
  });

  it('shows nothing of its inside', async () => {
    await project.write('inside.mjs', `await import('kelvin-per-watt/dist/toolkit/errors.js');`);
    await expect(project.node('inside.mjs')).rejects.toThrow(/ERR_PACKAGE_PATH_NOT_EXPORTED/);
  });

  it('gives a figure as a page, with the drawing library that it brings', async () => {
    await project.write(
      'report.mjs',
      `import { figureOfRun } from 'kelvin-per-watt';
import { readRun, writeReport } from 'kelvin-per-watt/node';
await writeReport('report.html', [{ kind: 'figure', figure: figureOfRun(await readRun('at-95w.csv')) }], { title: 'One run' });`,
    );
    await project.node('report.mjs');
    expect(await readFile(join(project.folder, 'report.html'), 'utf8')).toMatch(/^<!doctype html>/i);
  });
});

describe('for TypeScript', () => {
  const consumer = `import { chooseCap, fitCooler, fitPowerCurve, loadModel, saveModel, type CapChoice, type CoolerModel, type Estimate, type Run } from 'kelvin-per-watt';
import { readRuns } from 'kelvin-per-watt/node';
export async function capOf(paths: readonly string[]): Promise<CapChoice> {
  const runs: readonly Run[] = await readRuns(paths);
  const times: Float64Array = runs[0]!.timeS;
  const cooler: CoolerModel = fitCooler(runs);
  const resistance: Estimate = cooler.thermalResistanceKPerW;
  const width: number = resistance.kind === 'estimated' ? resistance.interval95[1] - resistance.interval95[0] : times.length;
  // @ts-expect-error: the unit is watts, and it is in the name
  chooseCap(cooler, fitPowerCurve(runs), { limitC: 85, ambientC: width, defaultCapMw: 118_000 });
  // @ts-expect-error: an estimate is no number until its kind is asked for
  resistance.value.toFixed(3);
  void [loadModel, saveModel];
  return chooseCap(cooler, fitPowerCurve(runs), { limitC: 85, ambientC: 23, defaultCapW: 118 });
}
`;
  const ours = join(REPOSITORY, 'node_modules/typescript/lib/tsc.js');
  // The one that reads the types in a notebook.
  const ofNotebooks = join(REPOSITORY, 'node_modules/@tslab/typescript-for-tslab/lib/tsc.js');
  const node10 = { module: 'commonjs', moduleResolution: 'node' };

  it.each([
    { compiler: ofNotebooks, version: /^Version 5\.0\./, ...node10 },
    { compiler: ofNotebooks, version: /^Version 5\.0\./, module: 'esnext', moduleResolution: 'bundler' },
    { compiler: ofNotebooks, version: /^Version 5\.0\./, module: 'nodenext', moduleResolution: 'nodenext' },
    { compiler: ours, version: /^Version 6\./, module: 'esnext', moduleResolution: 'bundler' },
    { compiler: ours, version: /^Version 6\./, module: 'nodenext', moduleResolution: 'nodenext' },
  ])('types are right in strict: $version, $moduleResolution', async ({ compiler, version, ...how }) => {
    await project.write('consumer.ts', consumer);
    await project.write(
      'tsconfig.json',
      JSON.stringify({
        // Declarations are checked too, and Node's own types need not be there.
        compilerOptions: {
          ...how,
          target: 'es2022',
          lib: ['es2022', 'dom'],
          types: [],
          strict: true,
          skipLibCheck: false,
          noEmit: true,
        },
        files: ['consumer.ts'],
      }),
    );
    expect((await project.node(compiler, '--version')).stdout).toMatch(version);
    const { stdout } = await project
      .node(compiler, '-p', '.')
      .catch((problem: { stdout: string }) => problem);
    expect(stdout).toBe('');
  });
});

describe('in a bundler and in a browser page', () => {
  const bundle = async (name: string, text: string): Promise<{ code: string; warnings: unknown[] }> => {
    const { outputFiles, warnings } = await build({
      entryPoints: [await project.write(name, text)],
      absWorkingDir: project.folder,
      bundle: true,
      minify: true,
      write: false,
      format: 'iife',
      platform: 'browser',
      target: 'es2022',
      logLevel: 'silent',
    });
    return { code: outputFiles[0].text, warnings };
  };

  it('bundles for a browser without warnings and without Node', async () => {
    const { code, warnings } = await bundle('all.js', `export * from 'kelvin-per-watt';`);
    expect(warnings).toEqual([]);
    expect(code).not.toMatch(/["']node:/);
  });

  it('leaves out what is not used', async () => {
    const all = await bundle('all.js', `import * as kpw from 'kelvin-per-watt'; console.log(kpw);`);
    const one = await bundle(
      'one.js',
      `import { countCycles } from 'kelvin-per-watt'; console.log(countCycles);`,
    );
    // A count of cycles needs a few of our files; nine tenths of the package stay out.
    expect(one.code.length).toBeLessThan(all.code.length / 10);
  });

  it('gives a browser page the same cap as Node', async () => {
    const logs = await Promise.all(
      [118, 95].map((power) => readFile(join(project.folder, `at-${power}w.csv`), 'utf8')),
    );
    const question = `import { chooseCap, fitCooler, fitPowerCurve, loadModel, parseRun, saveModel } from 'kelvin-per-watt';
const runs = globalThis.logs.map((text, i) => parseRun(text, { label: \`run \${i}\`, conditions: { cooler: 'tower 88 mm', ambientC: 22.5 } }));
${decide}
globalThis.answer = { summary: choice.summary, again: again.summary };`;
    const { code } = await bundle('in-page.js', question);
    await project.write(
      'as-in-page.mjs',
      `globalThis.logs = ${JSON.stringify(logs)};\nawait import('./in-page.js');\nconsole.log(JSON.stringify(globalThis.answer));`,
    );
    const inNode = JSON.parse((await project.node('as-in-page.mjs')).stdout) as unknown;
    const { browser, close } = await launchBrowser();
    try {
      const page = await browser.newPage();
      const problems: string[] = [];
      page.on('pageerror', (problem) => problems.push(problem.message));
      await page.evaluate((texts) => Object.assign(globalThis, { logs: texts }), logs);
      await page.addScriptTag({ content: code });
      const answer = await page.evaluate(() => (globalThis as { answer?: unknown }).answer);
      expect(problems).toEqual([]);
      expect(answer).toEqual(inNode);
      expect(answer).toMatchObject({ summary: expect.stringMatching(/^Set the cap to \d+ W\. /) });
    } finally {
      await close();
    }
  });
});

describe('the command kelvin-per-watt', () => {
  let started: ChildProcess | undefined;
  afterAll(() => started?.kill('SIGTERM'));

  it('is a program of Node and explains itself', async () => {
    const { bin } = await manifestOf(project.packageFolder);
    const path = join(project.packageFolder, bin!['kelvin-per-watt']);
    expect(await readFile(path, 'utf8')).toMatch(/^#!\/usr\/bin\/env node\n/);
    expect((await project.node(path, '--help')).stdout).toMatch(/--no-open/);
  });

  it('opens the app on the project, where a cell fits a cooler and shows a figure', async () => {
    const { bin } = await manifestOf(project.packageFolder);
    const path = join(project.packageFolder, bin!['kelvin-per-watt']);
    started = spawn(process.execPath, [path, '--no-open'], {
      cwd: project.folder,
      env: { ...process.env, XDG_DATA_HOME: join(project.folder, '.user'), INIT_CWD: project.folder },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    const link = await linkOf(started);
    await project.write(
      'mine.ipynb',
      JSON.stringify({
        nbformat: 4,
        nbformat_minor: 5,
        metadata: {},
        cells: [{ cell_type: 'markdown', id: 'a', metadata: {}, source: '# Mine' }],
      }),
    );
    const { browser, close } = await launchBrowser();
    try {
      const page = await browser.newPage();
      page.setDefaultTimeout(120_000);
      await page.goto(link);
      await page.waitForSelector('body[data-ready]');
      await page.locator('.kpw-Entry[title="mine.ipynb"]').click();
      await kernelIs(page, 'idle');
      await writeCell(
        page,
        `const run = await kpw.readRun('at-95w.csv', { conditions: { cooler: 'tower 88 mm', ambientC: 22.5 } });\nconst cooler = kpw.fitCooler([run]);\nconsole.log(cooler.kind);\nkpw.figureOfRun(run)`,
      );
      expect(await runCell(page)).toContain('cooler');
      await page.locator('.jp-OutputArea .js-plotly-plot').first().waitFor();
    } finally {
      await close();
    }
  });
});

/** The link that the command prints once it runs; fails with what it printed if it ends before. */
function linkOf(command: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let printed = '';
    const read = (chunk: Buffer): void => {
      printed += chunk.toString('utf8');
      const [link] = /http:\/\/\S+/.exec(printed) ?? [];
      if (link !== undefined) resolve(link);
    };
    command.stdout?.on('data', read);
    command.stderr?.on('data', read);
    command.once('exit', (code) => reject(new Error(`kelvin-per-watt ended with ${code}:\n${printed}`)));
  });
}
