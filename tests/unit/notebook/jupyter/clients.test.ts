import { execFile, spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { type AddressInfo, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { promisify } from 'node:util';
import { chromium } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Notebook, parseNotebook } from '../../../../toolkit/notebook/document/notebook-file.js';

// Real clients, as Debian packages them: python3-nbconvert with nbclient, and the classic Notebook 6.
const python = '/usr/bin/python3';
const browser = ['/usr/bin/chromium', '/usr/bin/google-chrome'].find(existsSync);
const run = promisify(execFile);
const hasModule = async (name: string): Promise<boolean> =>
  run(python, ['-c', `import ${name}`]).then(
    () => true,
    () => false,
  );
const [hasNbconvert, hasNotebook] = await Promise.all([hasModule('nbconvert'), hasModule('notebook')]);
if (!hasNbconvert) console.warn(`skipped: ${python} has no nbconvert (Debian: python3-nbconvert)`);
if (!hasNotebook || browser === undefined)
  console.warn('skipped: no classic Notebook with a Chromium (Debian: jupyter-notebook, chromium)');

let folder: string;
let environment: NodeJS.ProcessEnv;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'jupyter-'));
  environment = {
    ...process.env,
    JUPYTER_DATA_DIR: join(folder, 'data'),
    JUPYTER_CONFIG_DIR: join(folder, 'config'),
    JUPYTER_RUNTIME_DIR: join(folder, 'runtime'),
    IPYTHONDIR: join(folder, 'ipython'),
  };
  await mkdir(join(folder, 'runtime'));
  const { stdout } = await run(process.execPath, ['dist/toolkit/notebook/jupyter/register.js'], {
    env: environment,
  });
  expect(stdout).toContain(join(folder, 'data', 'kernels', 'kelvin-per-watt', 'kernel.json'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

async function writeNotebook(name: string, cells: readonly string[]): Promise<string> {
  const notebook: Notebook = {
    nbformat: 4,
    nbformat_minor: 5,
    metadata: {
      kernelspec: { display_name: 'x', language: 'typescript', name: 'kelvin-per-watt' },
    },
    cells: cells.map((source, index) => ({
      cell_type: 'code',
      id: `cell-${index}`,
      metadata: {},
      source,
      outputs: [],
      execution_count: null,
    })),
  };
  const path = join(folder, name);
  await writeFile(path, JSON.stringify(notebook));
  return path;
}

/** A port nobody listens on; the Notebook itself would not tell which one it took. */
async function freePort(): Promise<number> {
  const probe = createServer();
  await new Promise<void>((listening) => probe.listen(0, '127.0.0.1', listening));
  const { port } = probe.address() as AddressInfo;
  await new Promise((closed) => probe.close(closed));
  return port;
}

describe.skipIf(!hasNbconvert)('nbconvert', () => {
  const execute = async (path: string, output: string): Promise<Notebook> => {
    await run(
      python,
      ['-m', 'nbconvert', '--to', 'notebook', '--execute', '--output', join(folder, output), path],
      {
        env: environment,
        timeout: 280_000,
      },
    );
    return parseNotebook(await readFile(join(folder, output), 'utf8'), output);
  };

  it('runs our first notebook from top to bottom; one figure carries the drawing library', async () => {
    const path = resolve('notebooks/01-from-logs-to-a-cap.ipynb');
    const { cells } = await execute(path, 'first.ipynb');
    const outputs = cells.flatMap((cell) => cell.outputs ?? []);
    expect(outputs.filter((output) => output.output_type === 'error')).toEqual([]);
    expect(outputs.length).toBeGreaterThan(10);
    const html = outputs.map((output) => ('data' in output ? String(output.data['text/html'] ?? '') : ''));
    expect(html.filter((text) => text.includes('DecompressionStream'))).toHaveLength(1);
    expect(html.filter((text) => text.includes('<img alt=')).length).toBeGreaterThan(5);
  }, 300_000);

  it('gets all of 30,000 lines printed in one tick, displays, updates and values', async () => {
    const path = await writeNotebook('lines.ipynb', [
      'for (let i = 0; i < 30_000; i++) console.log("line " + i);',
      'const tell = kpw.showProgress("Refits"); tell(1, 2); tell(2, 2); ({ limitC: 85 })',
    ]);
    const { cells } = await execute(path, 'lines-run.ipynb');
    const printed = (cells[0]?.outputs ?? [])
      .map((output) => (output.output_type === 'stream' ? [output.text].flat().join('') : ''))
      .join('');
    expect(printed).toBe(Array.from({ length: 30_000 }, (_, i) => `line ${i}\n`).join(''));
    const texts = (cells[1]?.outputs ?? []).map((output) => 'data' in output && output.data['text/plain']);
    expect([texts].flat(2).map(String)).toEqual([
      expect.stringMatching(/^Refits: 2 of 2 in less than 1 s$/),
      '{ limitC: 85 }',
    ]);
  }, 120_000);

  it("fails with the cell's own line", async () => {
    const path = await writeNotebook('fails.ipynb', ['const a = 1;\n\nthrow new RangeError("too warm");']);
    await expect(execute(path, 'fails-run.ipynb')).rejects.toThrow(
      /RangeError: too warm[\s\S]*line 3, column 7/,
    );
  }, 120_000);
});

describe.skipIf(!hasNotebook || browser === undefined)('the classic Notebook in a browser', () => {
  it('runs a cell, draws the figure, shows the logo, interrupts a loop and keeps the still picture unscripted', async () => {
    await writeNotebook('classic.ipynb', [
      'const cooler = kpw.coolerFromSteadyPoints([{ powerW: 60, temperatureC: 55 }, { powerW: 90, temperatureC: 71 }], { cooler: "flat 58 mm" });\nkpw.figureOfComparison([cooler, cooler])',
      'await null; while (true) {}',
    ]);
    const token = 'puppet';
    const server = spawn(
      python,
      [
        '-m',
        'notebook',
        '--no-browser',
        '--allow-root',
        '--ip=127.0.0.1',
        `--port=${await freePort()}`,
        `--NotebookApp.token=${token}`,
        `--notebook-dir=${folder}`,
      ],
      { env: environment, stdio: ['ignore', 'ignore', 'pipe'] },
    );
    const chromiumBrowser = await chromium.launch({
      ...(browser === undefined ? {} : { executablePath: browser }),
      args: ['--no-sandbox'],
    });
    try {
      const address = await new Promise<string>((found, failed) => {
        let said = '';
        server.stderr?.setEncoding('utf8').on('data', (text: string) => {
          said += text;
          const match = /http:\/\/127\.0\.0\.1:[1-9]\d*\//.exec(said);
          if (match !== null) found(match[0]);
        });
        server.once('exit', () => failed(new Error(`the Notebook did not start: ${said}`)));
      });
      const page = await chromiumBrowser.newPage();
      const problems: string[] = [];
      page.on('pageerror', (error) => problems.push(error.message));
      await page.goto(`${address}notebooks/classic.ipynb?token=${token}`);
      await page.locator('#kernel_indicator_icon.kernel_idle_icon').waitFor({ timeout: 60_000 });
      expect(
        await page
          .locator('#kernel_logo_widget img')
          .evaluate((image) => (image as HTMLImageElement).naturalWidth),
      ).toBe(64);
      await page.evaluate('Jupyter.notebook.execute_cells([0])');
      await page.locator('.output_area .js-plotly-plot .main-svg').first().waitFor({ timeout: 60_000 });
      await page.evaluate('Jupyter.notebook.execute_cells([1])');
      await page.waitForTimeout(1000);
      await page.evaluate('Jupyter.notebook.kernel.interrupt()');
      await page.getByText('Interrupted: the cell was stopped').first().waitFor({ timeout: 10_000 });
      await page.evaluate('Jupyter.notebook.save_notebook()');
      await page.waitForTimeout(1000);
      expect(problems).toEqual([]);

      // The same file with a change from outside is untrusted: scripts are dropped, the drawing stays.
      const saved = parseNotebook(await readFile(join(folder, 'classic.ipynb'), 'utf8'), 'classic.ipynb');
      await writeNotebook('foreign.ipynb', []);
      const foreign = {
        ...saved,
        cells: saved.cells.map((cell, index) => ({ ...cell, id: `foreign-${index}` })),
      };
      await writeFile(
        join(folder, 'foreign.ipynb'),
        JSON.stringify(foreign).replaceAll('thermal resistance', 'thermal  resistance'),
      );
      await page.goto(`${address}notebooks/foreign.ipynb`);
      const still = page.locator('.output_area img[src^="data:image/svg+xml"]').first();
      await still.waitFor({ timeout: 60_000 });
      expect(await still.evaluate((image) => (image as HTMLImageElement).naturalWidth)).toBe(760);
    } finally {
      await chromiumBrowser.close();
      const ended = new Promise((done) => server.once('exit', done));
      server.kill('SIGTERM');
      await ended;
    }
  }, 240_000);
});
