// `npm run pictures`: the pictures of the README, photographed in the notebook app while it runs our own notebooks.
import { copyFile, mkdir, readdir, stat, symlink } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { BrowserContextOptions, Locator, Page } from 'playwright-core';
import { readScriptOptions, runScript } from '../../toolkit/notebook/commands/script-options.js';
import {
  type AppInBrowser,
  isSaved,
  kernelIs,
  runCell,
  startAppInBrowser,
  writeCell,
} from '../browser/app-in-browser.js';

const repository = fileURLToPath(new URL('../../../', import.meta.url));
const pictures = join(repository, 'notebooks', 'pictures');
const mostBytes = 200_000;
const marginPx = 5;
const mainNotebook = '01-from-logs-to-a-cap.ipynb';
const whatIfNotebook = '06-cap-and-what-if.ipynb';

// Light and without motion, since a README page may be either; as wide as a laptop's window.
const look: BrowserContextOptions = {
  viewport: { width: 1240, height: 940 },
  deviceScaleFactor: 1,
  colorScheme: 'light',
  reducedMotion: 'reduce',
};
const runLimitMs = 180_000;

/** Our notebooks and the demo logs, laid out as in the repository. */
async function layOut(folder: string): Promise<void> {
  const notebooks = join(repository, 'notebooks');
  for (const name of await readdir(notebooks))
    if (name.endsWith('.ipynb')) await copyFile(join(notebooks, name), join(folder, name));
  await symlink(join(repository, 'datasets-demo'), join(dirname(folder), 'datasets-demo'), 'junction');
}

/** Opens a notebook and runs all its cells. */
async function runNotebook(page: Page, app: AppInBrowser, name: string): Promise<void> {
  await page.goto(app.server.link(name));
  await page.waitForSelector('body[data-ready]');
  await kernelIs(page, 'idle');
  await page.getByRole('button', { name: 'Run all', exact: true }).click();
  const last = page.locator('.jp-CodeCell .jp-InputPrompt').last();
  await page.waitForFunction((prompt) => /\d/.test(prompt?.textContent ?? ''), await last.elementHandle(), {
    timeout: runLimitMs,
  });
  await kernelIs(page, 'idle');
  await isSaved(page);
  await page.mouse.move(0, 0);
}

/** Photographs the window, or a part of the page with a margin; says how large the picture is. */
async function photograph(page: Page, name: string, part?: Locator): Promise<void> {
  const path = join(pictures, name);
  await page.waitForTimeout(1000);
  await page.screenshot(part === undefined ? { path } : { path, clip: await withMargin(part) });
  const { size } = await stat(path);
  console.log(`${path}: ${Math.round(size / 1000)} kB`);
  if (size >= mostBytes)
    throw new Error(`${name} has ${size} bytes; a README picture has less than ${mostBytes}`);
}

async function withMargin(part: Locator): Promise<{ x: number; y: number; width: number; height: number }> {
  await part.scrollIntoViewIfNeeded();
  const box = await part.boundingBox();
  if (box === null) throw new Error('what is to be photographed is not shown');
  return {
    x: box.x - marginPx,
    y: box.y - marginPx,
    width: box.width + 2 * marginPx,
    height: box.height + 2 * marginPx,
  };
}

/** A run under load, in the window of the app. */
async function photographApp(page: Page, app: AppInBrowser): Promise<void> {
  await runNotebook(page, app, mainNotebook);
  const figure = page.locator('.js-plotly-plot').first();
  await figure.evaluate((element) => element.scrollIntoView({ block: 'end' }));
  await photograph(page, 'notebook-in-the-app.png');
}

/** The panel of the notebook on what-if, then the cap of the tower as a figure of one more cell. */
async function photographAnswers(page: Page, app: AppInBrowser): Promise<void> {
  // Taller than panel and figure, which otherwise hide behind the head of the page.
  await page.setViewportSize({ width: look.viewport!.width, height: 1500 });
  await runNotebook(page, app, whatIfNotebook);
  const panel = page.locator('.kpw-panel');
  await panel.locator('.kpw-controls:not([hidden])').waitFor();
  await photograph(page, 'what-if-panel.png', panel);
  await writeCell(
    page,
    `kpw.figureOfCapChoice(kpw.chooseCap(shown, curve, question), { place: "in the shut drawer" })`,
  );
  await runCell(page);
  // The mark of the active cell would stand at the edge of the picture.
  await page.keyboard.press('Escape');
  await page.keyboard.press('k');
  const figure = page.locator('.js-plotly-plot').last();
  await photograph(page, 'cap-of-the-tower.png', figure);
}

async function main(): Promise<undefined> {
  const options = readScriptOptions(process.argv.slice(2), {
    script: 'npm run pictures',
    about:
      'Takes the README’s pictures again, in a headless browser in which the notebook app runs our own notebooks, and writes\n' +
      'them into notebooks/pictures. One to three minutes. Look at them before you commit them.',
  });
  if (options === undefined) return;
  await mkdir(pictures, { recursive: true });
  const app = await startAppInBrowser(layOut);
  try {
    const context = await app.context.browser()!.newContext(look);
    const page = await context.newPage();
    page.setDefaultTimeout(60_000);
    await photographApp(page, app);
    await photographAnswers(page, app);
    if (app.problems.length > 0) throw new Error(app.problems.join('\n'));
  } finally {
    await app.close();
  }
}

runScript(main);
