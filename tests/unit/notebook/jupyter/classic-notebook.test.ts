import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { readFile, writeFile } from 'node:fs/promises';
import { type AddressInfo, createServer } from 'node:net';
import { join } from 'node:path';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import type { WhatIfAnswer } from '../../../../toolkit/cap/choose/what-if.js';
import { parseNotebook } from '../../../../toolkit/notebook/document/notebook-file.js';
import { hasModule, type JupyterPlace, jupyterPlace, python, run } from './jupyter-place.js';

// A real client, as Debian packages it: the classic Notebook 6, in a real browser.
const executablePath = ['/usr/bin/chromium', '/usr/bin/google-chrome'].find(existsSync);
const isThere = executablePath !== undefined && (await hasModule('notebook'));
if (!isThere)
  console.warn('skipped: no classic Notebook with a Chromium (Debian: jupyter-notebook, chromium)');

vi.setConfig({ testTimeout: 240_000, hookTimeout: 120_000 });

/** A port nobody listens on; the Notebook itself would not tell which one it took. */
async function freePort(): Promise<number> {
  const probe = createServer();
  await new Promise<void>((listening) => probe.listen(0, '127.0.0.1', listening));
  const { port } = probe.address() as AddressInfo;
  await new Promise((closed) => probe.close(closed));
  return port;
}

describe.skipIf(!isThere)('the classic Notebook in a browser', () => {
  const token = 'puppet';
  let place: JupyterPlace;
  let server: ChildProcess;
  let browser: Browser;
  let address: string;
  const problems: string[] = [];

  beforeAll(async () => {
    place = await jupyterPlace();
    server = spawn(
      python,
      [
        '-m',
        'notebook',
        '--no-browser',
        '--allow-root',
        '--ip=127.0.0.1',
        `--port=${await freePort()}`,
        `--NotebookApp.token=${token}`,
        `--notebook-dir=${place.folder}`,
      ],
      { env: place.environment, stdio: ['ignore', 'ignore', 'pipe'] },
    );
    browser = await chromium.launch({
      ...(executablePath === undefined ? {} : { executablePath }),
      args: ['--no-sandbox'],
    });
    address = await new Promise<string>((found, failed) => {
      let said = '';
      server.stderr?.setEncoding('utf8').on('data', (text: string) => {
        said += text;
        const match = /http:\/\/127\.0\.0\.1:[1-9]\d*\//.exec(said);
        if (match !== null) found(match[0]);
      });
      server.once('exit', () => failed(new Error(`the Notebook did not start: ${said}`)));
    });
  });
  afterAll(async () => {
    await browser.close();
    const ended = new Promise((done) => server.once('exit', done));
    server.kill('SIGTERM');
    await ended;
    await place.remove();
  });

  async function open(name: string, cells: readonly string[]): Promise<Page> {
    await place.writeNotebook(name, cells);
    const page = await browser.newPage({ viewport: { width: 1280, height: 1000 } });
    page.on('pageerror', (error) => problems.push(error.message));
    page.on('console', (message) => {
      // The Notebook itself asks for an extension that Debian does not package with it.
      if (
        message.type() === 'error' &&
        !`${message.text()} ${message.location().url}`.includes('/nbextensions/')
      )
        problems.push(`console: ${message.text()} ${message.location().url}`);
    });
    await page.goto(`${address}notebooks/${name}?token=${token}`);
    await page.locator('#kernel_indicator_icon.kernel_idle_icon').waitFor({ timeout: 60_000 });
    return page;
  }

  it('runs a cell, draws the figure, shows the logo, interrupts a loop and keeps the still picture unscripted', async () => {
    const page = await open('classic.ipynb', [
      'const cooler = kpw.coolerFromSteadyPoints([{ powerW: 60, temperatureC: 55 }, { powerW: 90, temperatureC: 71 }], { cooler: "flat 58 mm" });\nkpw.figureOfComparison([cooler, cooler])',
      'await null; while (true) {}',
    ]);
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

    // The same file with a change from outside is untrusted: scripts are dropped, the drawing stays.
    const saved = parseNotebook(await readFile(join(place.folder, 'classic.ipynb'), 'utf8'), 'classic.ipynb');
    const foreign = {
      ...saved,
      cells: saved.cells.map((cell, index) => ({ ...cell, id: `foreign-${index}` })),
    };
    await writeFile(
      join(place.folder, 'foreign.ipynb'),
      JSON.stringify(foreign).replaceAll('thermal resistance', 'thermal  resistance'),
    );
    await page.goto(`${address}notebooks/foreign.ipynb`);
    const still = page.locator('.output_area img[src^="data:image/svg+xml"]').first();
    await still.waitFor({ timeout: 60_000 });
    expect(await still.evaluate((image) => (image as HTMLImageElement).naturalWidth)).toBe(760);
    await page.close();
  });

  it('answers in the what-if panel, whose setting as code gives the same answers in a cell', async () => {
    const page = await open('panel.ipynb', [
      'const points = [{ powerW: 60, temperatureC: 52.1, frequencyMHz: 3180 }, { powerW: 80, temperatureC: 61.9, frequencyMHz: 3450 }, { powerW: 100, temperatureC: 72.2, frequencyMHz: 3650 }];\nconst cooler = kpw.coolerFromSteadyPoints(points.map(({ powerW, temperatureC }) => ({ powerW, temperatureC })), { cooler: "flat 58 mm" });\nconst curve = kpw.curveFromSteadyPoints(points);\nkpw.figureOfPowerCurve(curve)',
      'kpw.explore({ cooler, curve, limitC: 80, ambientC: { low: 22.3, high: 27.9 }, enclosure: { riseK: 8.3, atPowerW: 90 }, defaultCapW: 110 })',
    ]);
    await page.evaluate('Jupyter.notebook.execute_all_cells()');
    await page.locator('[data-kpw-ready]').waitFor({ timeout: 60_000 });
    await page.locator('.output_area .js-plotly-plot .main-svg').first().waitFor({ timeout: 60_000 });
    const panel = page.locator('.kpw-panel');
    const reading = async (name: string): Promise<string> =>
      (await panel.locator(`[data-kpw-reading="${name}"]`).textContent()) ?? '';

    // By hand, and by keys that the Notebook would take for its own commands.
    const cells = (): Promise<unknown> =>
      page.evaluate('Jupyter.notebook.get_cells().map(({ cell_type }) => cell_type)');
    const before = await reading('recommendedCapW');
    const box = (await panel.getByRole('slider', { name: /^Room air/ }).boundingBox())!;
    const y = box.y + box.height / 2;
    await page.mouse.move(box.x + box.width / 2, y);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width * 0.8, y, { steps: 8 });
    await page.mouse.up();
    await expect.poll(() => reading('recommendedCapW')).not.toBe(before);
    await panel.getByRole('slider', { name: /^Confidence/ }).focus();
    for (const key of ['ArrowLeft', 'ArrowLeft', 'a', 'b', 'd', 'd', 'x', 'm'])
      await page.keyboard.press(key);
    await panel.getByRole('spinbutton', { name: /^Power cap/ }).fill('97');
    await expect.poll(() => panel.locator('.kpw-sentence').textContent()).toContain('At 97 W');
    expect(await cells()).toEqual(['code', 'code']);

    await panel.getByRole('button', { name: 'This setting as code' }).click();
    const code = await panel.getByRole('textbox', { name: 'This setting as code' }).inputValue();
    await page.evaluate(
      `(() => {
        const add = (text) => Jupyter.notebook.insert_cell_at_bottom('code').set_text(text);
        add(${JSON.stringify(code)});
        add('console.log(JSON.stringify([whatIf.at(97), whatIf.answer]))');
        Jupyter.notebook.execute_cells([2, 3]);
      })()`,
    );
    const printed = page.locator('.cell').nth(3).locator('.output_stdout pre');
    await printed.waitFor({ timeout: 60_000 });
    const [at, best] = JSON.parse((await printed.textContent())!) as [WhatIfAnswer, WhatIfAnswer];
    const shown = page.locator('.cell').nth(2).locator('.output_area');
    await shown.getByText(`Set the cap to ${best.powerCapW} W`).first().waitFor();
    expect(await page.locator('.output_error').count()).toBe(0);
    // Sentences of a table stand on the left, where the Notebook puts every cell to the right.
    const sentence = shown.locator('td', { hasText: "Stay within the makers' limits" }).first();
    expect(await sentence.evaluate((cell) => getComputedStyle(cell).textAlign)).toBe('left');
    const ends = at.temperatureInterval95C.map((end) => end.toFixed(1)).join(' to ');
    expect(await reading('temperatureC')).toContain(`${at.temperatureC.toFixed(1)} °C (${ends})`);
    expect(await reading('recommendedCapW')).toMatch(new RegExp(`^${best.powerCapW} W`));
    expect(await panel.getByRole('listitem').allInnerTexts()).toEqual(at.cautions);

    // Trusted, the panel of the saved notebook is alive when it is opened again: no kernel is asked.
    await page.evaluate('Jupyter.notebook.save_notebook()');
    await expect.poll(() => page.evaluate('Jupyter.notebook.dirty')).toBe(false);
    await run(python, ['-m', 'nbformat.sign', join(place.folder, 'panel.ipynb')], {
      env: place.environment,
    });
    await page.reload();
    await panel.getByRole('spinbutton', { name: /^Power cap/ }).fill('97', { timeout: 60_000 });
    await expect.poll(() => panel.locator('.kpw-sentence').textContent()).toContain('At 97 W');
    await page.close();
  });

  it('had nothing to complain about all the while', () => {
    expect(problems).toEqual([]);
  });
});
