import { readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { kpw } from './built-toolkit.js';
import { hostile, type PageFromDisk, reportFromDisk } from './page-from-disk.js';

vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

let disk: PageFromDisk;
let page: Page;

const drawn = (of: Page): Promise<unknown> => of.waitForSelector('html[data-drawn]');
const hacked = (of: Page): Promise<boolean> => of.evaluate(() => 'hacked' in globalThis);

beforeAll(async () => {
  const run = await kpw.readRun('datasets-demo/tower-88-at-95w.csv');
  const named = { ...run, label: hostile, conditions: { ...run.conditions, cooler: hostile } };
  disk = await reportFromDisk([
    `# The tower\n\nIt holds that $T = T_0 + P R$.\n\n$$\\tau = R \\cdot C$$\n\n${hostile}`,
    '<details><summary>Solution</summary>\n\n68.75 °C\n\n| a | b |\n|---|---|\n| 1 | 2 |\n</details>\n\n[the logs](logs.csv)',
    { value: run },
    { value: kpw.figureOfRun(named) },
    { value: kpw.exploreLadder([{ heatCapacityJPerK: 330, resistanceKPerW: 0.45 }]) },
    { bundle: { 'text/html': hostile, 'text/plain': hostile } },
    { bundle: { 'application/vnd.plotly.v1+json': { data: [], layout: { title: hostile } } } },
    { bundle: { 'application/vnd.kelvin-per-watt.report-item+json': { kind: 'live', html: hostile } } },
    { bundle: { 'application/vnd.kelvin-per-watt.panel+json': { panel: 'ladder', ladder: hostile } } },
  ]);
  page = await disk.open();
  await drawn(page);
});
afterAll(() => disk?.close());

describe('a report page from the disk, with the network off', () => {
  it('draws its figures and starts its panel', async () => {
    expect(await page.locator('.picture .main-svg').count()).toBeGreaterThanOrEqual(2);
    expect(await page.locator('.still').count()).toBe(0);
    await page.locator('[data-kpw-ready]').waitFor();
    await page.getByRole('spinbutton', { name: 'Power, W' }).fill('60');
    await expect
      .poll(() => page.locator('[data-kpw-reading="steadyTemperatureC"]').textContent())
      .toBe('50.0 °C');
  });

  it('sets formulas, folds solutions, keeps tables and links', async () => {
    expect(await page.locator('math').count()).toBe(2);
    expect(await page.locator('math[display=block] mi').first().textContent()).toBe('τ');
    const solution = page.locator('details', { hasText: '68.75' });
    expect(await solution.locator('table').isVisible()).toBe(false);
    await solution.locator('summary').click();
    expect(await solution.locator('table').isVisible()).toBe(true);
    expect(await page.getByRole('link', { name: 'the logs' }).getAttribute('href')).toBe('logs.csv');
  });

  it('shows hostile texts as text, and says what it left out', async () => {
    expect(await hacked(page)).toBe(false);
    expect(await page.locator('img:not([src^="data:image/svg+xml"])').count()).toBe(0);
    const outputs = await page.locator('pre.output').allTextContents();
    expect(outputs).toEqual([
      hostile,
      expect.stringMatching(
        /^A picture that is none of this toolkit, or was changed, is left out: `figure\.layout/,
      ),
      expect.stringMatching(/^An output in no known form is left out: `output\.kind` must be/),
      expect.stringMatching(/^A panel cannot be made .*`panel\.ladder` must be an array/),
    ]);
  });

  it('saves a figure as PNG and as SVG, named after its title', async () => {
    const figure = page.locator('.picture').first();
    for (const [format, start] of [
      ['PNG', [0x89, 0x50, 0x4e, 0x47]],
      ['SVG', [0x3c, 0x73, 0x76, 0x67]],
    ] as const) {
      await figure.hover();
      const [download] = await Promise.all([
        page.waitForEvent('download'),
        figure.locator(`[data-title="Save the picture as ${format}"]`).click(),
      ]);
      expect(download.suggestedFilename()).toMatch(
        new RegExp(`^[\\p{L}\\p{N}-]{10,}\\.${format.toLowerCase()}$`, 'u'),
      );
      const bytes = await readFile(await download.path());
      expect([...bytes.subarray(0, 4)]).toEqual(start);
      expect(bytes.length).toBeGreaterThan(5_000);
    }
  });

  it('follows the theme, and is drawn in light colours and in its width for paper', async () => {
    const paper = (): Promise<string> =>
      page
        .locator('.picture .main-svg')
        .first()
        .evaluate((svg) => (svg as SVGElement).style.background);
    await page.emulateMedia({ colorScheme: 'dark' });
    await expect.poll(paper).toBe('rgb(21, 25, 28)');
    await page.evaluate(() => window.dispatchEvent(new Event('beforeprint')));
    await expect.poll(paper).toBe('rgb(255, 255, 255)');
    const width = page.locator('.picture .main-svg').first();
    await expect.poll(async () => width.getAttribute('width')).toBe('660');
    await page.evaluate(() => window.dispatchEvent(new Event('afterprint')));
    await page.emulateMedia({ colorScheme: 'light' });
    await expect.poll(paper).toBe('rgb(255, 255, 255)');
    const pdf = await page.pdf();
    expect(pdf.subarray(0, 5).toString()).toBe('%PDF-');
  });

  it('fits a narrow window', async () => {
    await page.setViewportSize({ width: 360, height: 740 });
    await expect
      .poll(() =>
        page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth),
      )
      .toBe(0);
    await page.setViewportSize({ width: 1280, height: 900 });
  });

  it('shows still pictures and the first answer of the panel where scripts are off', async () => {
    const still = await disk.open({ javaScriptEnabled: false });
    const pictures = still.locator('.still img');
    expect(await pictures.count()).toBeGreaterThanOrEqual(2);
    const sizes = await pictures.evaluateAll((images) =>
      images.map((image) => [image.checkVisibility(), (image as HTMLImageElement).naturalWidth]),
    );
    for (const size of sizes) expect(size).toEqual([true, 760]);
    expect(await still.locator('.kpw-panel').textContent()).toContain('Settles at');
    expect(await still.locator('math').count()).toBe(2);
  });

  it('wrote every picture into its folder', async () => {
    const names = await readdir(join(disk.folder, 'pictures'));
    expect(names.length).toBe(await page.locator('.picture').count());
    for (const name of names) expect(name).toMatch(/^[\p{L}\p{N}-]+\.svg$/u);
  });

  it('had nothing to complain about all the while', () => {
    expect(disk.problems).toEqual([]);
  });
});

describe('the widest tables', () => {
  it('fit a page of 1280 and of 800 pixels and a sheet of paper without scrolling sideways', async () => {
    const logs = ['tower-88-at-118w', 'tower-88-at-72w', 'flat-41-at-95w', 'flat-41-at-72w'];
    const runs = await kpw.readRuns(logs.map((name) => `datasets-demo/${name}.csv`));
    const coolers = kpw.groupRuns(runs, 'cooler').map((group) => kpw.fitCooler(group.runs));
    const curve = kpw.fitPowerCurve(runs);
    const scenario = { limitC: 85, ambientC: { low: 18, high: 32 }, defaultCapW: 118, minCapW: 60 };
    const tables = await reportFromDisk([
      { value: coolers.map((cooler) => kpw.chooseCap(cooler, curve, scenario)) },
      {
        value: kpw.shortlistCoolers(coolers, curve, scenario, {
          rooms: [
            { label: 'winter, 18 to 22 °C', ambientC: { low: 18, high: 22 } },
            { label: 'summer, 26 to 32 °C', ambientC: { low: 26, high: 32 } },
          ],
          enclosures: [{ label: 'open bench' }, { label: 'drawer, shut', enclosure: { riseK: 10 } }],
        }),
      },
    ]);
    try {
      const wide = await tables.open();
      const places = [
        { width: 1280, media: 'screen' },
        { width: 800, media: 'screen' },
        // 210 mm less twice 16 mm, at 96 pixels to the inch.
        { width: 672, media: 'print' },
      ] as const;
      for (const { width, media } of places) {
        await wide.emulateMedia({ media });
        await wide.setViewportSize({ width, height: 900 });
        const beyond = await wide
          .locator('.table')
          .evaluateAll((all) => all.map(({ scrollWidth, clientWidth }) => scrollWidth - clientWidth));
        expect(beyond.length).toBeGreaterThanOrEqual(2);
        for (const pixels of beyond) expect(pixels, `${width} ${media}`).toBe(0);
      }
      expect(await wide.locator('.table.wide').count()).toBeGreaterThanOrEqual(1);
    } finally {
      await tables.close();
    }
  });
});
