import { mkdir, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import type { BrowserContext, Page } from 'playwright-core';
import type { runApp as RunApp } from '../../toolkit/notebook/app/run-app.js';
import type { AppServer } from '../../toolkit/notebook/app/server/app-server.js';
import { launchBrowser } from './browser.js';

/** The built app on a folder of its own, in a real browser. */
export interface AppInBrowser {
  readonly server: AppServer;
  readonly folder: string;
  readonly context: BrowserContext;
  /** What went wrong in any page: errors on the console, exceptions, answers that are failures. */
  readonly problems: string[];
  open(notebook?: string): Promise<Page>;
  close(): Promise<void>;
}

/** Starts the app and the browser; `prepare` fills the folder before. */
export async function startAppInBrowser(prepare: (folder: string) => Promise<void>): Promise<AppInBrowser> {
  const place = await mkdtemp(join(tmpdir(), 'kpw-browser-'));
  const folder = join(place, 'notebooks');
  await mkdir(folder);
  await prepare(folder);
  process.env['XDG_DATA_HOME'] = join(place, 'user');
  const path = pathToFileURL(resolve('dist/toolkit/notebook/app/run-app.js')).href;
  const { runApp } = (await import(path)) as { runApp: typeof RunApp };
  const problems: string[] = [];
  const server = await runApp({
    folder,
    port: 0,
    open: false,
    print: () => {},
    printError: (line) => problems.push(`server: ${line}`),
  });
  const { browser, close } = await launchBrowser();
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 } });
  // Whatever the page wants from elsewhere is a fault.
  context.on('request', (request) => {
    const url = new URL(request.url());
    if (/^https?:$/.test(url.protocol) && url.port !== String(server.port))
      problems.push(`asked another host: ${request.url()}`);
  });
  return {
    server,
    folder,
    context,
    problems,
    async open(notebook) {
      const page = await context.newPage();
      page.setDefaultTimeout(30_000);
      page.on('console', (message) => {
        if (message.type() === 'error') problems.push(`console: ${message.text()}`);
      });
      page.on('pageerror', (problem) => problems.push(`exception: ${problem.message}`));
      await page.goto(server.link(notebook));
      await page.waitForSelector('body[data-ready]');
      return page;
    },
    async close() {
      await close();
      await server.close();
      await rm(place, { recursive: true, force: true });
    },
  };
}

/** Waits until the kernel is in a state, as the page says it. */
export async function kernelIs(page: Page, state: 'idle' | 'busy' | 'dead' | 'none'): Promise<void> {
  await page.waitForSelector(`.kpw-KernelState[data-state="${state}"]`);
}

/** Waits until the page says that all is saved. */
export async function isSaved(page: Page): Promise<void> {
  await page.waitForSelector('.kpw-SavedState[data-state="saved"]');
}

/** A new code cell at the end with this text; it is not run. */
export async function writeCell(page: Page, code: string): Promise<void> {
  // Beside the cell: a figure keeps clicks to itself.
  await page
    .locator('.jp-Notebook .jp-Cell')
    .last()
    .click({ position: { x: 24, y: 12 } });
  await page.keyboard.press('Escape');
  await page.keyboard.press('b');
  await page.keyboard.press('Enter');
  await page.keyboard.insertText(code);
}

/** Runs the active cell and waits for what comes out of it. */
export async function runCell(page: Page): Promise<string> {
  await page.keyboard.press('Control+Enter');
  const active = page.locator('.jp-Cell.jp-mod-active');
  await active.locator('.jp-OutputArea-output').first().waitFor();
  await kernelIs(page, 'idle');
  return (await active.locator('.jp-OutputArea-output').allInnerTexts()).join('\n');
}
