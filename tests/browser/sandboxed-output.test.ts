import type { CDPSession, Frame, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { launchBrowser } from './browser.js';
import { builtToolkit, kpw } from './built-toolkit.js';

vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

/**
 * A viewer that shows outputs in a frame without an origin, with no library beside it, under a policy that lets nothing be
 * loaded: as editors do that keep outputs apart from themselves. It puts HTML in place and runs the scripts in it, once.
 */
const frameHtml = `<!doctype html><html><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:">
</head><body><div id="cell-1"></div><div id="cell-2"></div><script>
function put(cell, html) {
  const place = document.getElementById(cell);
  place.innerHTML = html;
  for (const script of place.querySelectorAll('script')) {
    const fresh = document.createElement('script');
    fresh.textContent = script.textContent;
    script.replaceWith(fresh);
  }
}
</script></body></html>`;

const { displayBundles, LibraryCarrier } = await builtToolkit();
const htmlOf = (value: unknown): string =>
  displayBundles(value)
    .map((bundle) => bundle['text/html'])
    .join('');
const cooler = kpw.coolerFromSteadyPoints(
  [
    { powerW: 60, temperatureC: 52.1 },
    { powerW: 80, temperatureC: 61.9 },
    { powerW: 100, temperatureC: 72.2 },
  ],
  { cooler: 'flat 58 mm' },
);
const panel = htmlOf(kpw.explore({ cooler, limitC: 80, ambientC: 24, enclosure: { riseK: 8 } }));
const figure = kpw.figureOfComparison([cooler, cooler]);
const [figureBundle] = displayBundles(figure);
const carried = new LibraryCarrier().carry(
  { output_type: 'display_data', data: figureBundle, metadata: {} },
  'cell-1',
  '1',
);
const figureWithLibrary = 'data' in carried ? String(carried.data['text/html']) : '';

let close: () => Promise<void>;
let page: Page;
let frame: Frame;
let devtools: CDPSession;
const problems: string[] = [];

const put = (cell: string, html: string): Promise<void> =>
  frame.evaluate(([place, text]) => (globalThis as unknown as Viewer).put(place, text), [cell, html]);
interface Viewer {
  put(cell: string, html: string): void;
}

beforeAll(async () => {
  const launched = await launchBrowser();
  close = launched.close;
  const context = await launched.browser.newContext({ offline: true });
  page = await context.newPage();
  page.setDefaultTimeout(30_000);
  page.on('console', (message) => {
    if (['error', 'warning'].includes(message.type())) problems.push(`console: ${message.text()}`);
  });
  page.on('pageerror', (problem) => problems.push(`exception: ${problem.message}`));
  await page.setContent(
    '<!doctype html><title>Editor</title><iframe allow="" referrerpolicy="no-referrer" sandbox="allow-scripts" style="width: 1100px; height: 1500px; border: 0"></iframe>',
  );
  await page.locator('iframe').evaluate((element, html) => {
    (element as HTMLIFrameElement).srcdoc = html;
  }, frameHtml);
  frame = await (await page.locator('iframe').elementHandle()).contentFrame().then((found) => found!);
  await frame.locator('#cell-2').waitFor({ state: 'attached' });
  // The frame may have a process, and so a memory, of its own.
  devtools = await context.newCDPSession(frame).catch(() => context.newCDPSession(page));
});
afterAll(() => close());

const inCell = (cell: string) => frame.locator(`#${cell}`);
const reading = async (cell: string): Promise<string> =>
  (await inCell(cell).locator('[data-kpw-reading="temperatureC"]').textContent()) ?? '';
/** Whether what stood in a cell before something was done can still be reached from anywhere. */
async function isKept(selector: string, act: () => Promise<unknown>): Promise<boolean> {
  await frame.evaluate((found) => {
    Object.assign(globalThis, { gone: new WeakRef(document.querySelector(found)!) });
  }, selector);
  await act();
  const reached = (): Promise<boolean> =>
    frame.evaluate(
      () => (globalThis as unknown as { readonly gone: WeakRef<Element> }).gone.deref() !== undefined,
    );
  // Frames and timers that were waiting have run by then.
  for (let attempt = 0; attempt < 10 && (await reached()); attempt++) {
    await page.waitForTimeout(300);
    await devtools.send('HeapProfiler.collectGarbage');
  }
  return reached();
}

describe('outputs in a frame without origin, libraries and network', () => {
  it('has no origin and no way out', async () => {
    expect(await frame.evaluate(() => globalThis.origin)).toBe('null');
    expect(await frame.evaluate(() => 'define' in globalThis || 'jQuery' in globalThis)).toBe(false);
  });

  it('two panels answer, each for itself', async () => {
    await put('cell-1', panel);
    await put('cell-2', panel);
    await frame.locator('[data-kpw-ready]').nth(1).waitFor();
    const before = await reading('cell-2');
    expect(await reading('cell-1')).toBe(before);
    await inCell('cell-1')
      .getByRole('slider', { name: /^Room air/ })
      .focus();
    for (let i = 0; i < 4; i++) await page.keyboard.press('ArrowRight');
    await expect.poll(() => reading('cell-1')).not.toBe(before);
    expect(await reading('cell-2')).toBe(before);
  });

  it('gives the setting as code, selected to be copied, where the clipboard is out of reach', async () => {
    const cell = inCell('cell-1');
    await cell.getByRole('button', { name: 'This setting as code' }).click();
    await expect
      .poll(() => cell.getByRole('status').first().textContent())
      .toMatch(/^Selected: copy it, and paste it into a cell/);
    expect(await cell.getByRole('textbox').inputValue()).toMatch(
      /^const whatIf = kpw\.createWhatIf\(cooler, /,
    );
    expect(await frame.evaluate(() => String(document.activeElement?.tagName))).toBe('TEXTAREA');
  });

  it('a cell run again has one panel, alive, and nothing is left of the one before', async () => {
    for (let run = 0; run < 5; run++) {
      expect(await isKept('#cell-1 .kpw-panel', () => put('cell-1', panel))).toBe(false);
      expect(await frame.locator('.kpw-panel').count()).toBe(2);
    }
    const before = await reading('cell-1');
    await inCell('cell-1')
      .getByRole('spinbutton', { name: /^Room air/ })
      .fill('35');
    await expect.poll(() => reading('cell-1')).not.toBe(before);
  });

  it('two figures are alive with one library, and nothing is left of one whose cell is run again', async () => {
    await put('cell-1', figureWithLibrary);
    await put('cell-2', htmlOf(figure));
    await inCell('cell-1').locator('.js-plotly-plot .main-svg').first().waitFor();
    await frame.locator('#cell-2 .js-plotly-plot .main-svg').first().waitFor();
    const rerun = (): Promise<void> => put('cell-2', htmlOf(figure));
    expect(await isKept('#cell-2 .js-plotly-plot', rerun)).toBe(false);
    await frame.locator('#cell-2 .js-plotly-plot .main-svg').first().waitFor();
    // It follows the width of its place.
    const width = () =>
      frame
        .locator('#cell-2 .main-svg')
        .first()
        .evaluate((drawn) => drawn.getBoundingClientRect().width);
    const wide = await width();
    await page.locator('iframe').evaluate((element) => {
      element.style.width = '700px';
    });
    await expect.poll(width).toBeLessThan(wide);
  });

  it('had nothing to complain about all the while', () => {
    expect(problems).toEqual([]);
  });
});
