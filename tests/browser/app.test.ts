import { copyFile, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import {
  type AppInBrowser,
  isSaved,
  kernelIs,
  runCell,
  startAppInBrowser,
  writeCell,
} from './app-in-browser.js';
import { contrastBelow } from './contrast.js';

// A real browser, a real server, real kernels; the machine may be shared.
vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

const markdown = (id: string, source: string): object => ({
  cell_type: 'markdown',
  id,
  metadata: {},
  source,
});
const code = (id: string, source: string, outputs: readonly object[] = []): object => ({
  cell_type: 'code',
  id,
  metadata: { trusted: true },
  source,
  outputs,
  execution_count: null,
});
const notebook = (...cells: readonly object[]): string =>
  JSON.stringify({
    nbformat: 4,
    nbformat_minor: 5,
    metadata: { kernelspec: { name: 'kelvin-per-watt', display_name: 'x', language: 'typescript' } },
    cells,
  });

const firstText = '# Steady state\n\nIt holds that $T = T_0 + P R$.';
const hostileName = '<img src=x onerror=hacked=1>.ipynb';
const hostileHtml = '<b>seen</b><script>globalThis.hacked = true</script><img src="x" onerror="hacked=true">';

let app: AppInBrowser;
let page: Page;

const textOnDisk = (name: string): Promise<string> => readFile(join(app.folder, name), 'utf8');
const hacked = (of: Page): Promise<boolean> => of.evaluate(() => 'hacked' in globalThis);

beforeAll(async () => {
  app = await startAppInBrowser(async (folder) => {
    await writeFile(
      join(folder, 'main.ipynb'),
      notebook(
        markdown('a', firstText),
        code('b', 'const answer = 6 * 7;\nanswer'),
        markdown('c', '## The run'),
        code('d', 'const run = await kpw.readRun("tower.csv");\nkpw.figureOfRun(run)'),
      ),
    );
    await copyFile('datasets-demo/tower-88-at-95w.csv', join(folder, 'tower.csv'));
    await writeFile(
      join(folder, 'foreign.ipynb'),
      notebook(
        markdown('a', `# Foreign\n\n${hostileHtml}`),
        code('b', '1', [
          {
            output_type: 'display_data',
            metadata: {},
            data: { 'text/html': hostileHtml, 'text/plain': 'x' },
          },
        ]),
      ),
    );
    await writeFile(join(folder, hostileName), notebook(code('a', '1')));
    await writeFile(join(folder, 'tabs.ipynb'), notebook(code('a', '"as it was"')));
  });
  page = await app.open();
});
afterAll(() => app?.close());

describe('the app in a browser', () => {
  it('shows the notebooks, and hostile names as text', async () => {
    const entries = await page.locator('.kpw-Entry-label').allInnerTexts();
    expect(entries).toEqual([hostileName.replace('.ipynb', ''), 'foreign', 'main', 'tabs', 'tower.csv']);
    expect(await page.locator('.kpw-SidePlace img, .kpw-Welcome img').count()).toBe(0);
    expect(await hacked(page)).toBe(false);
  });

  it('opens a notebook with maths and contents, runs all of it and draws the figure', async () => {
    await page.locator('.kpw-Entry', { hasText: 'main' }).click();
    await kernelIs(page, 'idle');
    await page.locator('mjx-container').first().waitFor();
    expect(await page.locator('.jp-tocItem').allInnerTexts()).toEqual(
      expect.arrayContaining([expect.stringMatching('Steady state'), expect.stringMatching('The run')]),
    );
    await page.click('[data-command="run-all"]');
    await page.locator('.kpw-Figure .main-svg').first().waitFor();
    await kernelIs(page, 'idle');
    expect(await page.locator('.jp-OutputArea-output').first().textContent()).toBe('42');
  });

  it('saves by itself, whole, and shows it again after a reload', async () => {
    await writeCell(page, 'answer + 1');
    await page.waitForSelector('.kpw-SavedState[data-state="changed"]');
    expect(await page.locator('.kpw-Header').evaluate(contrastBelow, 4.5)).toEqual([]);
    expect(await runCell(page)).toBe('43');
    await isSaved(page);
    const saved = JSON.parse(await textOnDisk('main.ipynb'));
    expect(saved.cells.at(-1).source).toEqual(['answer + 1']);
    expect(saved.cells.at(-1).outputs[0].data['text/plain']).toEqual(['43']);
    await page.reload();
    await page.locator('.kpw-Figure .main-svg').first().waitFor();
    expect(await page.locator('.jp-OutputArea-output').last().textContent()).toBe('43');
    expect(await page.locator('.kpw-Notice').count()).toBe(0);
    await kernelIs(page, 'idle');
  });

  it('completes names and shows the help that belongs to them', async () => {
    await writeCell(page, 'kpw.fitCool');
    await page.keyboard.press('Tab');
    await page.locator('.jp-Completer .jp-Completer-item', { hasText: 'fitCooler' }).first().waitFor();
    await page.keyboard.press('Enter');
    const cell = page.locator('.jp-Cell.jp-mod-active .cm-content');
    await expect.poll(() => cell.textContent()).toBe('kpw.fitCooler');
    await page.keyboard.press('Shift+Tab');
    const help = page.locator('.jp-Tooltip');
    await help.waitFor();
    expect(await help.textContent()).toMatch(/fitCooler\(runs: .*Fits a lumped model/s);
    await page.keyboard.press('Escape');
    await help.waitFor({ state: 'detached' });
  });

  it('has the keys of Jupyter: delete a cell, undo it, find in all cells', async () => {
    const cells = page.locator('.jp-Notebook .jp-Cell');
    const before = await cells.count();
    const text = page.locator('.jp-Cell.jp-mod-active .cm-content');
    await page.keyboard.type(' // x');
    await expect.poll(() => text.textContent()).toBe('kpw.fitCooler // x');
    await page.keyboard.press('Control+z');
    await expect.poll(() => text.textContent()).not.toContain('x');
    // Changes within half a second of each other are undone together: a person takes longer between them.
    await page.waitForTimeout(1200);
    await page.keyboard.press('Escape');
    await page.keyboard.press('d');
    await page.keyboard.press('d');
    await expect.poll(() => cells.count()).toBe(before - 1);
    // The page gives the focus to the next cell a moment later; a key before that is nobody's.
    await page.waitForFunction(() => document.activeElement?.closest('.jp-Notebook .jp-Cell') != null);
    await page.keyboard.press('z');
    await expect.poll(() => cells.count()).toBe(before);
    await page.keyboard.press('Control+f');
    await page.locator('.jp-DocumentSearch-overlay').waitFor();
    await page.keyboard.type('answer');
    await expect
      .poll(() => page.locator('.jp-DocumentSearch-index-counter').textContent())
      .toMatch(/^(-|\d+)\/3$/);
    // A text with a match is shown as it was written, until the search is over.
    const asRead = page.locator('.jp-MarkdownCell.jp-mod-rendered');
    const textCount = await asRead.count();
    await page.keyboard.press('Control+a');
    await page.keyboard.type('holds that');
    await page.keyboard.press('Enter');
    await expect.poll(() => asRead.count()).toBe(textCount - 1);
    await page.keyboard.press('Escape');
    await page.locator('.jp-DocumentSearch-overlay').waitFor({ state: 'detached' });
    await expect.poll(() => asRead.count()).toBe(textCount);
  });

  it('interrupts a loop that never ends, in the kernel that goes on', async () => {
    await writeCell(page, 'while (true) {}');
    await page.keyboard.press('Control+Enter');
    await kernelIs(page, 'busy');
    expect(await page.locator('.kpw-Header').evaluate(contrastBelow, 4.5)).toEqual([]);
    await page.click('[data-command="interrupt"]');
    await page.locator('.jp-Cell.jp-mod-active .jp-OutputArea-output', { hasText: 'Interrupted' }).waitFor();
    await kernelIs(page, 'idle');
    await writeCell(page, '1 + 2');
    expect(await runCell(page)).toBe('3');
  });

  it('says when a cell does not hear an interrupt, and restarts on request', async () => {
    await writeCell(page, 'require("node:child_process").execSync("sleep 600")');
    await page.keyboard.press('Control+Enter');
    await kernelIs(page, 'busy');
    await page.click('[data-command="interrupt"]');
    const notice = page.locator('.kpw-Notice[data-matter="interrupt"]');
    await notice.waitFor();
    await expect
      .poll(() => notice.textContent())
      .toMatch(/cannot be stopped: it waits for something outside/);
    await notice.getByRole('button', { name: 'Restart', exact: true }).click();
    await notice.waitFor({ state: 'detached' });
    await kernelIs(page, 'idle');
    await writeCell(page, '3 + 4');
    expect(await runCell(page)).toBe('7');
  });

  it('says when the kernel died, keeps the notebook and restarts on request', async () => {
    const sources = await page.locator('.jp-Notebook .cm-content').allInnerTexts();
    await writeCell(page, 'process.kill(process.pid, "SIGKILL")');
    await page.keyboard.press('Control+Enter');
    await kernelIs(page, 'dead');
    const notice = page.locator('.kpw-Notice[data-matter="kernel"]');
    await notice.waitFor();
    await expect
      .poll(() => notice.textContent())
      .toMatch(/ended by itself \(.*SIGKILL.*\)\. Your notebook is unharmed/s);
    expect((await page.locator('.jp-Notebook .cm-content').allInnerTexts()).slice(0, sources.length)).toEqual(
      sources,
    );
    await isSaved(page);
    await notice.getByRole('button', { name: 'Restart', exact: true }).click();
    await kernelIs(page, 'idle');
    await notice.waitFor({ state: 'detached' });
    await writeCell(page, '2 + 2');
    expect(await runCell(page)).toBe('4');
  });

  it('says so when the kernel ran out of memory', async () => {
    // A small heap, so that the test does not fill the machine.
    process.env['NODE_OPTIONS'] = '--max-old-space-size=256';
    await page.keyboard.press('Escape');
    await page.keyboard.press('0');
    await page.keyboard.press('0');
    await page.waitForSelector(
      '.kpw-KernelState[data-state="restarting"], .kpw-KernelState[data-state="starting"]',
    );
    await kernelIs(page, 'idle');
    delete process.env['NODE_OPTIONS'];
    await writeCell(page, 'const all: number[][] = [];\nfor (;;) all.push(new Array(100_000).fill(1.5))');
    await page.keyboard.press('Control+Enter');
    await kernelIs(page, 'dead');
    const notice = page.locator('.kpw-Notice[data-matter="kernel"]');
    await expect.poll(() => notice.textContent()).toMatch(/memory/);
    await isSaved(page);
    await notice.getByRole('button', { name: 'Restart', exact: true }).click();
    await kernelIs(page, 'idle');
  });

  it('takes in a log that is dropped: the file beside the notebook, a cell that reads it', async () => {
    const log = await readFile('datasets-demo/flat-58-at-72w.csv', 'utf8');
    const hostile = log
      .trimEnd()
      .split('\n')
      .map((line, i) => `${line},${i === 0 ? '<img src=x onerror=hacked=1>' : '0'}\n`)
      .join('');
    const files = await page.evaluateHandle((text) => {
      const transfer = new DataTransfer();
      transfer.items.add(new File([text], 'flat 58.csv', { type: 'text/csv' }));
      transfer.items.add(new File(['{"cooler":"flat 58 mm"}'], 'flat 58.conditions.json'));
      return transfer;
    }, hostile);
    for (const type of ['dragenter', 'dragover', 'drop'])
      await page.dispatchEvent('.jp-Notebook', type, { dataTransfer: files });
    const cell = page.locator('.jp-Cell.jp-mod-active .cm-content');
    await expect.poll(() => cell.textContent()).toContain('await kpw.readRun("flat 58.csv")');
    expect(await textOnDisk('flat 58.csv')).toBe(hostile);
    const dialog = page.locator('.jp-Dialog');
    await expect
      .poll(() => dialog.textContent())
      .toMatch(/Taken in: flat 58\.conditions\.json.*beside the notebook/);
    await dialog.getByRole('button', { name: 'Ok' }).click();
    await dialog.waitFor({ state: 'detached' });
    await cell.click();
    await page.keyboard.press('Escape');
    await page.keyboard.press('Control+Enter');
    await page.locator('.jp-Cell.jp-mod-active .kpw-Figure .main-svg').first().waitFor();
    await kernelIs(page, 'idle');
    expect(await page.locator('.kpw-Entry-label').allInnerTexts()).toContain('flat 58.csv');
    // Labels come from people as well.
    await writeCell(page, `({ ...runFlat58, label: ${JSON.stringify(hostileHtml)} })`);
    await page.keyboard.press('Control+Enter');
    await page.locator('.jp-Cell.jp-mod-active .kpw-Figure .main-svg').first().waitFor();
    await kernelIs(page, 'idle');
    await writeCell(page, `[{ ...runFlat58, label: ${JSON.stringify(hostileHtml)} }]`);
    expect(await runCell(page)).toContain('<script>');
    expect(await hacked(page)).toBe(false);
  });

  it('changes to the dark theme, figures too, and stays with it', async () => {
    await page.click('[aria-label="To the dark theme"]');
    const paper = (): Promise<string> =>
      page.evaluate(() => getComputedStyle(document.querySelector('.kpw-Main')!).backgroundColor);
    expect(await paper()).toBe('rgb(21, 25, 28)');
    await expect
      .poll(() =>
        page.evaluate(() => (document.querySelector('.kpw-Figure .main-svg') as SVGElement).style.background),
      )
      .toBe('rgb(21, 25, 28)');
    await isSaved(page);
    await page.reload();
    await page.waitForSelector('body[data-ready]');
    expect(await paper()).toBe('rgb(21, 25, 28)');
    await page.click('[aria-label="To the light theme"]');
    expect(await paper()).toBe('rgb(255, 255, 255)');
  });

  it('asks before one tab overwrites what another has saved', async () => {
    await page.locator('.kpw-Entry', { hasText: 'tabs' }).click();
    await kernelIs(page, 'idle');
    const other = await app.open('tabs.ipynb');
    await kernelIs(other, 'idle');
    await writeCell(other, '"from the other tab"');
    await isSaved(other);
    await writeCell(page, '"from this tab"');
    const dialog = page.locator('.jp-Dialog');
    await dialog.waitFor();
    expect(await dialog.textContent()).toMatch(
      /was changed elsewhere.*another tab or program has changed it/s,
    );
    expect(await textOnDisk('tabs.ipynb')).toContain('from the other tab');
    await dialog.getByRole('button', { name: 'Load the other state' }).click();
    await expect
      .poll(() => page.locator('.jp-Notebook .cm-content').allInnerTexts())
      .toEqual(['"as it was"', '"from the other tab"']);
    await isSaved(page);
    await other.close();
  });

  it('says when the file was changed by another program', async () => {
    const text = await textOnDisk('tabs.ipynb');
    await writeFile(join(app.folder, 'tabs.ipynb'), text.replace('as it was', 'as an editor left it'));
    const notice = page.locator('.kpw-Notice[data-matter="file"]');
    await notice.waitFor();
    await notice.getByRole('button', { name: 'Load the other state' }).click();
    await expect
      .poll(() => page.locator('.jp-Notebook .cm-content').first().textContent())
      .toBe('"as an editor left it"');
  });

  it('says when the file is gone, and no more once it is saved again', async () => {
    await isSaved(page);
    await rm(join(app.folder, 'tabs.ipynb'));
    const notice = page.locator('.kpw-Notice[data-matter="gone"]');
    await notice.waitFor();
    await page.keyboard.press('Control+s');
    await expect.poll(() => notice.count(), { timeout: 1500 }).toBe(0);
    expect(await textOnDisk('tabs.ipynb')).toContain('as an editor left it');
  });

  it('runs no script of a foreign notebook until the person trusts it', async () => {
    await page.locator('.kpw-Entry', { hasText: 'foreign' }).click();
    const notice = page.locator('.kpw-Notice[data-matter="trust"]');
    await notice.waitFor();
    await page.locator('.jp-OutputArea-output b', { hasText: 'seen' }).waitFor();
    expect(await hacked(page)).toBe(false);
    await notice.getByRole('button', { name: 'Trust this notebook' }).click();
    await expect.poll(() => hacked(page)).toBe(true);
    await notice.waitFor({ state: 'detached' });
    await isSaved(page);
  });

  it('duplicates, renames and deletes from the list', async () => {
    const more = async (name: string, item: string): Promise<void> => {
      await page
        .locator('.kpw-Entry-row', { hasText: name })
        .locator('.kpw-Entry-more')
        .click({ force: true });
      await page.locator('.lm-Menu-item', { hasText: item }).click();
    };
    await page.locator('.kpw-Entry', { hasText: 'main' }).first().click();
    await kernelIs(page, 'idle');
    await writeCell(page, '"written a moment before"');
    await more('main', 'Duplicate');
    await page.locator('.kpw-Entry', { hasText: 'main-copy' }).waitFor();
    expect(await textOnDisk('main-copy.ipynb')).toContain('written a moment before');
    await more('main-copy', 'Rename');
    await page.locator('.jp-Dialog input').fill('second, 1.2');
    await page.locator('.jp-Dialog').getByRole('button', { name: 'Rename' }).click();
    await page.locator('.kpw-Entry', { hasText: 'second' }).waitFor();
    expect(await readdir(app.folder)).toContain('second, 1.2.ipynb');
    // Who works by keys goes on where they were.
    await expect.poll(() => page.evaluate(() => document.activeElement?.className)).toBe('kpw-Entry-more');
    await more('second', 'Delete');
    await page.locator('.jp-Dialog').getByRole('button', { name: 'Delete' }).click();
    await page.locator('.kpw-Entry', { hasText: 'second' }).waitFor({ state: 'detached' });
    expect(await readdir(app.folder)).not.toContain('second, 1.2.ipynb');
  });

  it('puts a notebook away whole while a save is under way', async () => {
    const route = '**/api/contents/main.ipynb?*';
    await page.route(route, async (request) => {
      await new Promise((done) => setTimeout(done, 700));
      await request.continue();
    });
    await writeCell(page, '"saved on the way out"');
    await page.keyboard.press('Control+s');
    await page.waitForSelector('.kpw-SavedState[data-state="saving"]');
    await page.locator('.kpw-Home').click();
    await page.locator('.kpw-Welcome').waitFor();
    expect(await textOnDisk('main.ipynb')).toContain('saved on the way out');
    await page.waitForTimeout(1000); // a save that was broken off would say so by now
    expect(await page.locator('.jp-Dialog').count()).toBe(0);
    await page.unroute(route);
    await page.locator('.kpw-Entry', { hasText: 'main' }).first().click();
    await kernelIs(page, 'idle');
  });

  it('reads a log that is chosen while no notebook is open in a new one', async () => {
    await page.locator('.kpw-Home').click();
    await page.locator('.kpw-Welcome').waitFor();
    await page.locator('.kpw-Entry', { hasText: 'tower.csv' }).click();
    await kernelIs(page, 'idle');
    await expect
      .poll(() => page.locator('.jp-Notebook .cm-content').allInnerTexts())
      .toEqual(['const runTower = await kpw.readRun("tower.csv");\nrunTower']);
    await isSaved(page);
    expect(await textOnDisk('untitled.ipynb')).toContain('tower.csv');
    // Deleted while a change is not saved yet: one question, and it is gone.
    await writeCell(page, '"not saved yet"');
    await page
      .locator('.kpw-Entry-row', { hasText: 'untitled' })
      .locator('.kpw-Entry-more')
      .click({ force: true });
    await page.locator('.lm-Menu-item', { hasText: 'Delete' }).click();
    await page.locator('.jp-Dialog').getByRole('button', { name: 'Delete' }).click();
    await page.locator('.kpw-Welcome').waitFor();
    expect(await page.locator('.jp-Dialog').count()).toBe(0);
    expect(await readdir(app.folder)).not.toContain('untitled.ipynb');
  });

  it('says that a kernel was stopped, and runs no cell until another is asked for', async () => {
    await page.locator('.kpw-Entry', { hasText: 'main' }).first().click();
    await kernelIs(page, 'idle');
    await page
      .locator('.kpw-Entry-row', { hasText: 'main' })
      .first()
      .locator('.kpw-Entry-more')
      .click({ force: true });
    await page.locator('.lm-Menu-item', { hasText: 'Stop its kernel' }).click();
    await kernelIs(page, 'none');
    const notice = page.locator('.kpw-Notice[data-matter="kernel"]');
    await expect.poll(() => notice.textContent()).toMatch(/No kernel runs for this notebook/);
    await writeCell(page, '"too early"');
    await page.keyboard.press('Control+Enter');
    await notice.getByRole('button', { name: 'Restart', exact: true }).click();
    await kernelIs(page, 'idle');
    await notice.waitFor({ state: 'detached' });
    expect(await page.locator('.jp-Cell.jp-mod-active .jp-OutputArea-output').count()).toBe(0);
    expect(await runCell(page)).toBe('too early');
  });

  it('needs no wider window than an enlarged page leaves', async () => {
    await page.setViewportSize({ width: 400, height: 800 });
    const [scroll, client] = await page.evaluate(() => [
      document.documentElement.scrollWidth,
      document.documentElement.clientWidth,
    ]);
    expect(scroll).toBe(client);
    await page.setViewportSize({ width: 1280, height: 900 });
  });

  it('had nothing to complain about all the while', () => {
    // The image that a hostile text asks for is refused or missing: the browser says so, and that is right.
    const expected = /Failed to load resource|Content Security Policy/;
    expect(app.problems.filter((problem) => !expected.test(problem))).toEqual([]);
  });

  it('says when the server is gone, and keeps the notebook', async () => {
    await page.locator('.kpw-Entry', { hasText: 'main' }).click();
    await kernelIs(page, 'idle');
    const text = await textOnDisk('main.ipynb');
    await app.server.close();
    await page.locator('.kpw-Notice[data-matter="server"]').waitFor();
    expect(await page.locator('.jp-Notebook .cm-content').count()).toBeGreaterThan(4);
    expect(await textOnDisk('main.ipynb')).toBe(text);
    await page.keyboard.press('Control+s');
    await expect
      .poll(() => page.locator('.jp-Dialog').textContent())
      .toMatch(/was not saved.*The server does not answer\. What you see is kept in this page/);
  });
});
