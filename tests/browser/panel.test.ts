import type { Locator, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { onGround } from '../../toolkit/notebook/panel/ground.js';
import { type PanelData, panelModelOf } from '../../toolkit/notebook/panel/panel-data.js';
import { cautionsHtml, readingsHtml } from '../../toolkit/notebook/panel/panel-html.js';
import { firstSetting, type PanelSetting } from '../../toolkit/notebook/panel/panel-model.js';
import { seededRandom } from '../../toolkit/numerics/random.js';
import { kpw } from './built-toolkit.js';
import { contrastBelow } from './contrast.js';
import { frameTimes } from './frame-times.js';
import { hostile, type PageFromDisk, reportFromDisk } from './page-from-disk.js';

vi.setConfig({ testTimeout: 120_000, hookTimeout: 120_000 });

let disk: PageFromDisk;
let page: Page;
let data: PanelData;
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
  const panel = kpw.explore({
    cooler: { ...fanned, cooler: hostile, label: hostile, fanCurve },
    curve: { ...curve, label: hostile },
    limitC: 85,
    ambientC: { low: 24, high: 28 },
    enclosure: { riseK: { low: 8.5, high: 11 }, atPowerW: 95 },
    defaultCapW: 118,
    fan: { sound: { soundLevelDb: 33, fanSpeedRpm: 1900 } },
    voltageOffset: { lowestMv: -40 },
  });
  data = panel.data;
  disk = await reportFromDisk([
    '# Panels',
    { value: panel },
    { value: kpw.exploreLadder([{ heatCapacityJPerK: 330.5, resistanceKPerW: 0.45 }]) },
  ]);
  page = await disk.open();
  await page.locator('[data-kpw-ready]').nth(1).waitFor();
  cap = page.locator('.kpw-panel').first();
  ladder = page.locator('.kpw-panel').nth(1);
});
afterAll(() => disk?.close());

/** Moves one slider after the other, once in 20 ms. */
async function dragged(
  sliders: readonly Locator[],
  moves: number,
  where: 'from end to end' | 'anywhere',
): Promise<void> {
  const elements = await Promise.all(sliders.map((one) => one.elementHandle()));
  const random = seededRandom(7);
  const steps = Array.from({ length: moves }, (_, move) => ({
    at: where === 'anywhere' ? Math.floor(random.uniform() * sliders.length) : move % sliders.length,
    share: where === 'anywhere' ? random.uniform() : (move % 12) / 11,
  }));
  await page.evaluate(
    async ({ elements, steps }) => {
      for (const { at, share } of steps) {
        const input = elements[at] as HTMLInputElement;
        const [low, high] = [Number(input.min), Number(input.max)];
        input.value = String(low + (high - low) * share);
        input.dispatchEvent(new Event('input', { bubbles: true }));
        await new Promise((resolve) => setTimeout(resolve, 20));
      }
    },
    { elements, steps },
  );
}

/** Steps the slider that has the focus up and down again, once in 20 ms. */
async function steppedByKeys(steps: number): Promise<void> {
  for (let step = 0; step < steps; step++) {
    await page.keyboard.press(step < steps / 2 ? 'ArrowRight' : 'ArrowLeft');
    await page.waitForTimeout(20);
  }
}

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
    expect(await cap.locator('.kpw-sentence').textContent()).toMatch(/^At \d+ W the die settles at /);
  });

  it('answers to arrow keys on a slider, and says the answer once the hand rests', async () => {
    const before = Number(await field('Power cap').inputValue());
    const temperature = await reading('temperatureC');
    await slider('Power cap').focus();
    for (let i = 0; i < 5; i++) await page.keyboard.press('ArrowRight');
    expect(Number(await field('Power cap').inputValue())).toBe(before + 5);
    await expect.poll(() => reading('temperatureC')).not.toBe(temperature);
    await expect.poll(() => cap.locator('.kpw-sentence').textContent()).toContain(`At ${before + 5} W`);
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
    expect(await code.inputValue()).toMatch(/kpw\.createWhatIf\(cooler, curve, \{\n {2}limitC: 85,/);
    const selected = await code.evaluate(
      (area: HTMLTextAreaElement) => area.selectionEnd - area.selectionStart,
    );
    expect(selected).toBe((await code.inputValue()).length);
    // Nobody copies from paper.
    await page.emulateMedia({ media: 'print' });
    expect(await code.isVisible()).toBe(false);
    await page.emulateMedia({ media: 'screen' });
    expect(await code.isVisible()).toBe(true);
  });

  it('leaves other panels of the page alone', async () => {
    const temperature = await reading('temperatureC');
    await field('Resistance', ladder).fill('0.9');
    await expect.poll(() => reading('steadyTemperatureC', ladder)).toBe('108.5 °C');
    expect(await reading('temperatureC')).toBe(temperature);
  });

  it('draws its picture in the colours of the ground it stands on, and in light ones on paper', async () => {
    const paper = (): Promise<string> =>
      cap
        .locator('.kpw-picture svg > rect')
        .first()
        .evaluate((drawn) => getComputedStyle(drawn).fill);
    const white = 'rgb(255, 255, 255)';
    expect(await paper()).toBe(white);
    await page.emulateMedia({ colorScheme: 'dark' });
    await expect.poll(paper).not.toBe(white);
    await page.emulateMedia({ colorScheme: 'dark', media: 'print' });
    expect(await paper()).toBe(white);
    await page.emulateMedia({ colorScheme: 'light', media: 'screen' });
    await expect.poll(paper).toBe(white);
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
    expect(boxes[1]).toBeGreaterThan(boxes[0]);
    // The longest words that stand behind a number are read whole.
    const powerCap = field('Power cap');
    const before = await powerCap.inputValue();
    await powerCap.fill((await powerCap.getAttribute('max')) ?? '');
    const marks = cap.locator('.kpw-mark');
    await expect.poll(async () => (await marks.allInnerTexts()).join(' ')).toMatch(/above .* with .* chance/);
    expect(
      await marks.evaluateAll(
        (all) =>
          all.filter((mark) => mark.getBoundingClientRect().right > document.documentElement.clientWidth)
            .length,
      ),
    ).toBe(0);
    await powerCap.fill(before);
    await page.setViewportSize({ width: 1280, height: 900 });
  });

  it('shows the present setting whole after any sequence of moves, though it touches only what has changed', async () => {
    const model = panelModelOf(data);
    const random = seededRandom(20_261_201);
    let setting: PanelSetting = firstSetting(model);
    for (let move = 0; move < 60; move++) {
      const { name, low, high, step } = model.controls[Math.floor(random.uniform() * model.controls.length)];
      const value = low + step * Math.round((random.uniform() * (high - low)) / step);
      setting = { ...setting, [name]: Number(value.toFixed(6)) };
      const { readings, cautions, picture } = model.answer(setting);
      const stale = await cap.evaluate(
        async (panel, { name, value, wanted }) => {
          const input = panel.querySelector<HTMLInputElement>(
            `[data-kpw-control="${name}"] input[type=range]`,
          )!;
          input.value = String(value);
          input.dispatchEvent(new Event('input', { bubbles: true }));
          await new Promise((resolve) => requestAnimationFrame(resolve));
          /** Line ends between elements say nothing. */
          const withoutBlanks = (html: string): string => html.replaceAll(/\n+(?=<|$)/g, '');
          return Object.entries(wanted).filter(([part, html]) => {
            const place = panel.querySelector(`.kpw-${part}`)!.cloneNode() as Element;
            place.innerHTML = html;
            return (
              withoutBlanks(place.innerHTML) !== withoutBlanks(panel.querySelector(`.kpw-${part}`)!.innerHTML)
            );
          });
        },
        {
          name,
          value: setting[name],
          wanted: {
            readings: readingsHtml(readings),
            cautions: cautionsHtml(cautions),
            picture: onGround(picture),
          },
        },
      );
      expect([setting, stale]).toEqual([setting, []]);
    }
    await cap.getByRole('button', { name: 'First setting' }).click();
  });

  it('answers every move about as fast as the screen is drawn: processor time with style, layout and painting', async () => {
    const told: string[] = [];
    const referenceMs = await page.evaluate(() => {
      const times = Array.from({ length: 30 }, () => {
        const startMs = performance.now();
        let sum = 0;
        for (let i = 0; i < 100_000; i++) sum += Math.exp(-1e-5 * i);
        return sum > 0 ? performance.now() - startMs : 0;
      });
      return Math.min(...times);
    });
    const asked = (act: () => Promise<unknown>) => async (name: string) => {
      const frames = await frameTimes(page, act);
      expect(frames.length).toBeGreaterThan(5);
      const sorted = frames.map(({ frameMs }) => frameMs).sort((a, b) => a - b);
      const script = frames.map(({ scriptMs }) => scriptMs).sort((a, b) => a - b);
      const [undisturbed, median, most] = [0.1, 0.5, 1].map(
        (share) => sorted[Math.round(share * (sorted.length - 1))],
      ) as [number, number, number];
      told.push(
        `${name}: a tenth within ${undisturbed.toFixed(1)} ms, median ${median.toFixed(1)} ms, of it script ${script[script.length >> 1].toFixed(1)} ms; longest ${most.toFixed(1)} ms`,
      );
      // How long it takes is printed: other work stretches most frames and slows the processor itself. What is tested is
      // that no frame holds work of another order: up to 15 of these loops were seen.
      expect(undisturbed / referenceMs).toBeLessThan(40);
      await cap.getByRole('button', { name: 'First setting' }).click();
    };
    const names = [
      'Power cap',
      'Room air',
      'Enclosure adds',
      'Fan speed',
      'Voltage offset',
      'Temperature limit',
      'Confidence',
    ];
    for (const name of names) await asked(() => dragged([slider(name)], 24, 'from end to end'))(name);
    await asked(() =>
      dragged(
        names.map((name) => slider(name)),
        120,
        'anywhere',
      ),
    )('All of them in any order');
    await slider('Room air').focus();
    await asked(() => steppedByKeys(40))('Room air by arrow keys');
    await asked(() => dragged([slider('Resistance', ladder)], 24, 'from end to end'))('Resistance');
    console.log(`100,000 exponentials take ${referenceMs.toFixed(2)} ms\n${told.join('\n')}`);
  });

  it('is a group of named controls with values and units for a screen reader', async () => {
    const tree = await cap.ariaSnapshot();
    expect(tree).toMatch(/^- group "What if\? /);
    for (const line of [
      /- slider "Power cap, W, slider"/,
      /- spinbutton "Power cap, W"/,
      /- button "Set the recommended cap"/,
      /- status: "?At \d+ W the die settles at/,
      /- term: Steady temperature/,
      /- definition: [\d.]+ °C/,
      /- img "\d+ W holds 85 °C/,
      /- listitem: "?Stay within the makers' limits/,
    ])
      expect(tree).toMatch(line);
    const silent = await cap
      .locator('input, button, textarea')
      .evaluateAll(
        (all) => all.filter((one) => (one.getAttribute('aria-label') ?? one.textContent ?? '') === '').length,
      );
    expect(silent).toBe(0);
    // What is spoken as the value follows the hand, with its unit.
    await slider('Fan speed').focus();
    await page.keyboard.press('ArrowLeft');
    for (const control of [slider('Fan speed'), field('Fan speed')])
      expect(await control.getAttribute('aria-valuetext')).toBe(
        `${await field('Fan speed').inputValue()} rpm`,
      );
    await cap.getByRole('button', { name: 'First setting' }).click();
    expect(await slider('Fan speed').getAttribute('aria-valuetext')).toBe('1900 rpm');
  });

  it('says its answer once after a drag, not on the way', async () => {
    await page.evaluate(() => {
      const said: string[] = [];
      const sentence = document.querySelector('.kpw-sentence')!;
      new MutationObserver(() => said.push(sentence.textContent)).observe(sentence, {
        childList: true,
        characterData: true,
        subtree: true,
      });
      Object.assign(globalThis, { said });
    });
    await slider('Room air').focus();
    for (let i = 0; i < 12; i++) {
      await page.keyboard.press('ArrowRight');
      await page.waitForTimeout(40);
    }
    await page.waitForTimeout(900);
    const said = await page.evaluate(() => (globalThis as unknown as { readonly said: string[] }).said);
    expect(said).toHaveLength(1);
    await cap.getByRole('button', { name: 'First setting' }).click();
  });

  it('can be used by the keyboard alone, and shows where the keys go', async () => {
    await field('Power cap').focus();
    const visited: string[] = [];
    for (let i = 0; i < 17; i++) {
      const [name, outline] = await page.evaluate(() => {
        const at = document.activeElement!;
        const { outlineStyle, outlineWidth } = getComputedStyle(at);
        return [at.getAttribute('aria-label') ?? at.textContent, `${outlineStyle} ${outlineWidth}`];
      });
      visited.push(name);
      expect([name, outline]).toEqual([name, 'solid 3px']);
      await page.keyboard.press('Tab');
    }
    expect(visited).toHaveLength(new Set(visited).size);
    expect(visited.slice(-3)).toEqual(['First setting', 'Set the recommended cap', 'This setting as code']);
  });

  it.each(['light', 'dark'] as const)(
    'is readable on %s ground: 4.5 to 1 or more for every text',
    async (scheme) => {
      await page.emulateMedia({ colorScheme: scheme });
      await slider('Power cap').evaluate((element) => {
        const input = element as HTMLInputElement;
        input.value = input.max;
        input.dispatchEvent(new Event('input', { bubbles: true }));
      });
      await expect.poll(() => cap.getAttribute('data-kpw-ground')).toBe(scheme);
      await expect.poll(() => cap.locator('.kpw-mark').count()).toBeGreaterThan(2);
      const poor = await cap.evaluate(contrastBelow, 4.5);
      expect(poor).toEqual([]);
      await page.emulateMedia({ colorScheme: 'light' });
      await cap.getByRole('button', { name: 'First setting' }).click();
    },
  );

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
