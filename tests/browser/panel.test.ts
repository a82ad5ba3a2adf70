import type { Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { hostile, kpw, type PageFromDisk, reportFromDisk } from './page-from-disk.js';

vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

let disk: PageFromDisk;
let page: Page;
let cap: Locator;
let ladder: Locator;

const slider = (name: string, of: Locator = cap): Locator =>
  of.getByRole('slider', { name: new RegExp(`^${name}`) });
const field = (name: string, of: Locator = cap): Locator =>
  of.getByRole('spinbutton', { name: new RegExp(`^${name}`) });
const reading = async (name: string, of: Locator = cap): Promise<string> =>
  (await of.locator(`[data-kpw-reading="${name}"]`).textContent()) ?? '';

beforeAll(async () => {
  const speeds = [1900, 1350, 900].map((rpm) => `datasets-demo/fan-speeds/tower-88-at-${rpm}rpm.csv`);
  const fanned = kpw.fitCooler(await kpw.readRuns(speeds));
  const fanCurve = { ...fanned.fanCurve!, cooler: hostile };
  const logs = ['as-delivered-at-118w', 'as-delivered-at-84w', 'lowered-by-40mv-at-118w'];
  const curve = kpw.fitPowerCurve(
    await kpw.readRuns(logs.map((name) => `datasets-demo/undervolt/${name}.csv`)),
  );
  disk = await reportFromDisk([
    '# Panels',
    {
      value: kpw.explore({
        cooler: { ...fanned, cooler: hostile, label: hostile, fanCurve },
        curve: { ...curve, label: hostile },
        limitC: 85,
        ambientC: { low: 24, high: 28 },
        enclosure: { riseK: { low: 8.5, high: 11 }, atPowerW: 95 },
        defaultCapW: 118,
        fan: { sound: { soundLevelDb: 33, fanSpeedRpm: 1900 } },
        voltageOffset: { lowestMv: -40 },
      }),
    },
    { value: kpw.exploreLadder([{ heatCapacityJPerK: 330.5, resistanceKPerW: 0.45 }]) },
  ]);
  page = await disk.open({}, (context) =>
    // How long each drawing takes, as the page itself measures it.
    context.addInitScript(() => {
      const times: number[] = [];
      const original = window.requestAnimationFrame.bind(window);
      window.requestAnimationFrame = (callback) =>
        original((time) => {
          const startMs = performance.now();
          callback(time);
          times.push(performance.now() - startMs);
        });
      Object.assign(globalThis, { drawingTimesMs: times });
    }),
  );
  await page.locator('[data-kpw-ready]').nth(1).waitFor();
  cap = page.locator('.kpw-panel').first();
  ladder = page.locator('.kpw-panel').nth(1);
});
afterAll(() => disk?.close());

describe('the what-if panel in a page without kernel and network', () => {
  it('has a name, a slider and a field for every quantity, all within their range and on their steps', async () => {
    expect(await cap.getAttribute('role')).toBe('group');
    expect(await cap.getAttribute('aria-label')).toBe(`What if? ${hostile}`);
    const names = [
      'Power cap, W',
      'Room air ± 2 K, °C',
      'Enclosure adds at 95 W ± 1.25 K, K',
      'Fan speed, rpm',
      'Voltage offset, mV',
      'Temperature limit, °C',
      'Confidence, %',
    ];
    for (const name of names) {
      expect(await cap.getByRole('slider', { name: `${name}, slider`, exact: true }).count()).toBe(1);
      expect(await cap.getByRole('spinbutton', { name, exact: true }).count()).toBe(1);
    }
    expect(await page.locator('.kpw-panel input:invalid').count()).toBe(0);
    const pairs = await page
      .locator('.kpw-control')
      .evaluateAll((rows) => rows.map((row) => [...row.querySelectorAll('input')].map(({ value }) => value)));
    for (const [inField, onSlider] of pairs) expect(inField).toBe(onSlider);
    expect(await cap.getByRole('button').allInnerTexts()).toEqual([
      'First setting',
      'Set the recommended cap',
      'This setting as code',
    ]);
    expect(await cap.getByRole('status').textContent()).toMatch(/^At \d+ W the die settles at /);
  });

  it('answers to arrow keys on a slider, and says the answer once the hand rests', async () => {
    const before = Number(await field('Power cap').inputValue());
    const temperature = await reading('temperatureC');
    await slider('Power cap').focus();
    for (let i = 0; i < 5; i++) await page.keyboard.press('ArrowRight');
    expect(Number(await field('Power cap').inputValue())).toBe(before + 5);
    await expect.poll(() => reading('temperatureC')).not.toBe(temperature);
    await expect.poll(() => cap.getByRole('status').textContent()).toContain(`At ${before + 5} W`);
    expect(await reading('temperatureC')).toMatch(/above 85 °C with \d+ % chance/);
  });

  it('answers while a slider is dragged with the mouse', async () => {
    const recommended = await reading('recommendedCapW');
    const picture = await cap.locator('.kpw-picture').innerHTML();
    const box = (await slider('Room air').boundingBox())!;
    const y = box.y + box.height / 2;
    await page.mouse.move(box.x + box.width * 0.5, y);
    await page.mouse.down();
    for (let i = 1; i <= 10; i++) await page.mouse.move(box.x + box.width * (0.5 + 0.04 * i), y);
    await page.mouse.up();
    const air = Number(await field('Room air').inputValue());
    expect(air).toBeGreaterThan(38);
    await expect
      .poll(async () => Number.parseFloat(await reading('recommendedCapW')))
      .toBeLessThan(Number.parseFloat(recommended));
    expect(await cap.locator('.kpw-picture').innerHTML()).not.toBe(picture);
  });

  it('takes numbers, and puts back what is none', async () => {
    const fan = field('Fan speed');
    const sound = await reading('soundLevelDb');
    await fan.fill('1000');
    await expect.poll(() => reading('soundLevelDb')).not.toBe(sound);
    expect(await slider('Fan speed').inputValue()).toBe('1000');
    await fan.fill('99999');
    await fan.press('Tab');
    expect(await fan.inputValue()).toBe('1000');
  });

  it('sets the recommended cap of the present setting, and the first setting again', async () => {
    await cap.getByRole('button', { name: 'Set the recommended cap' }).click();
    await expect
      .poll(async () => `${await field('Power cap').inputValue()} W`)
      .toBe((await reading('recommendedCapW')).replace(/ W.*$/s, ' W'));
    await cap.getByRole('button', { name: 'First setting' }).click();
    await expect.poll(() => field('Room air').inputValue()).toBe('26');
  });

  it('gives the setting back as code, selected', async () => {
    const code = cap.getByRole('textbox', { name: 'This setting as code' });
    expect(await code.isVisible()).toBe(false);
    await cap.getByRole('button', { name: 'This setting as code' }).click();
    expect(await code.inputValue()).toMatch(/kpw\.chooseCap\(cooler, curve, \{\n {2}limitC: 85,/);
    const selected = await code.evaluate(
      (area: HTMLTextAreaElement) => area.selectionEnd - area.selectionStart,
    );
    expect(selected).toBe((await code.inputValue()).length);
  });

  it('leaves other panels of the page alone', async () => {
    const temperature = await reading('temperatureC');
    await field('Resistance', ladder).fill('0.9');
    await expect.poll(() => reading('steadyTemperatureC', ladder)).toBe('108.5 °C');
    expect(await reading('temperatureC')).toBe(temperature);
  });

  it('draws its picture in the colours of the ground it stands on, and in light ones on paper', async () => {
    const paper = (): Promise<string | null> =>
      cap.locator('.kpw-picture svg > rect').first().getAttribute('fill');
    expect(await paper()).toBe('#ffffff');
    await page.emulateMedia({ colorScheme: 'dark' });
    await expect.poll(paper).not.toBe('#ffffff');
    await page.evaluate(() => window.dispatchEvent(new Event('beforeprint')));
    expect(await paper()).toBe('#ffffff');
    await page.evaluate(() => window.dispatchEvent(new Event('afterprint')));
    expect(await paper()).not.toBe('#ffffff');
    await page.emulateMedia({ colorScheme: 'light' });
    await expect.poll(paper).toBe('#ffffff');
  });

  it('needs no wider window than a telephone has', async () => {
    await page.setViewportSize({ width: 360, height: 740 });
    const [scroll, client] = await page.evaluate(() => [
      document.documentElement.scrollWidth,
      document.documentElement.clientWidth,
    ]);
    expect(scroll).toBe(client);
    const boxes = await cap
      .locator('.kpw-columns > div')
      .evaluateAll((columns) => columns.map((column) => column.getBoundingClientRect().top));
    expect(boxes[1]).toBeGreaterThan(boxes[0]!);
    await page.setViewportSize({ width: 1280, height: 900 });
  });

  it('draws every change at once; how long that takes is printed, not tested', async () => {
    for (const [name, panel] of [
      ['Power cap', cap],
      ['Room air', cap],
      ['Fan speed', cap],
      ['Voltage offset', cap],
      ['Resistance', ladder],
    ] as const) {
      const times = await slider(name, panel).evaluate(async (element) => {
        const input = element as HTMLInputElement;
        const { drawingTimesMs } = globalThis as unknown as { readonly drawingTimesMs: number[] };
        const first = drawingTimesMs.length;
        const [low, high] = [Number(input.min), Number(input.max)];
        for (let i = 0; i < 40; i++) {
          input.value = String(low + ((high - low) * (i % 20)) / 19);
          input.dispatchEvent(new Event('input', { bubbles: true }));
          await new Promise((resolve) => setTimeout(resolve, 30));
        }
        return drawingTimesMs.slice(first).sort((a, b) => a - b);
      });
      expect(times.length).toBeGreaterThan(20);
      const [median, ninetieth] = [0.5, 0.9].map((share) => times[Math.floor(share * times.length)]!);
      console.log(
        `${name}: median ${median!.toFixed(1)} ms, 90 % within ${ninetieth!.toFixed(1)} ms, longest ${times.at(-1)!.toFixed(1)} ms`,
      );
    }
    await cap.getByRole('button', { name: 'First setting' }).click();
  });

  it('shows hostile labels as text everywhere', async () => {
    expect(await page.evaluate(() => 'hacked' in globalThis)).toBe(false);
    expect(await cap.locator('img, script').count()).toBe(0);
    expect(await cap.locator('.kpw-title').textContent()).toBe(`What if? ${hostile}`);
  });

  it('shows the first answer and its picture, and no dead controls, where scripts are off', async () => {
    const still = await disk.open({ javaScriptEnabled: false });
    const panel = still.locator('.kpw-panel').first();
    expect(await panel.locator('input, button').count()).toBe(0);
    expect(await panel.locator('.kpw-readings').textContent()).toMatch(/Steady temperature\s*[\d.]+ °C/);
    expect(await panel.locator('.kpw-picture img').getAttribute('alt')).toMatch(/^At \d+ W the die settles/);
    expect(await panel.textContent()).toContain('the controls need a viewer that runs scripts');
  });

  it('says why it cannot start where its data is broken', async () => {
    const broken = await disk.open({}, (context) =>
      context.addInitScript(() => {
        // The data is changed before the script that follows the panel reads it.
        new MutationObserver(() => {
          const panel = document.querySelector<HTMLElement>('[data-kpw-panel]:not([data-kpw-started])');
          if (panel !== null) panel.dataset['kpwPanel'] = '{"panel":"clock"}';
        }).observe(document, { childList: true, subtree: true });
      }),
    );
    await broken.locator('.kpw-message').first().waitFor();
    expect(await broken.locator('.kpw-message').first().textContent()).toMatch(
      /The panel could not start: this panel was made by another version of the toolkit: run its cell again/,
    );
    expect(await broken.locator('.kpw-readings').first().textContent()).toMatch(/Steady temperature/);
  });

  it('had nothing to complain about all the while', () => {
    expect(disk.problems).toEqual([]);
  });
});
