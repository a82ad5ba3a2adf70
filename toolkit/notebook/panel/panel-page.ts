/**
 * The script of all panels, bundled with the toolkit into one file: finds the panels of the page that have not been
 * started and makes them answer. It asks no kernel and no network.
 */
import { darkTwins } from '../../figures/palette.js';
import { type PanelData, panelModelOf } from './panel-data.js';
import { controlsHtml, readingsHtml } from './panel-html.js';
import { firstSetting, type PanelModel, type PanelSetting } from './panel-model.js';

/** A screen reader hears the sentence once the hand rests, not on every step of a slider. */
const speakAfterMs = 600;

for (const panel of document.querySelectorAll<HTMLElement>('[data-kpw-panel]:not([data-kpw-started])')) {
  panel.dataset['kpwStarted'] = 'true';
  try {
    start(panel, panelModelOf(JSON.parse(panel.dataset['kpwPanel']!) as PanelData));
  } catch (problem) {
    fail(panel, problem);
  }
}

function start(panel: HTMLElement, model: PanelModel): void {
  const setting: Record<string, number> = { ...firstSetting(model) };
  const part = (name: string): HTMLElement => panel.querySelector<HTMLElement>(`.kpw-${name}`)!;
  const place = document.createElement('div');
  place.className = 'kpw-controls';
  place.innerHTML = controlsHtml(model);
  part('columns').prepend(place);
  const code = document.createElement('textarea');
  code.readOnly = true;
  code.hidden = true;
  code.spellcheck = false;
  code.setAttribute('aria-label', 'This setting as code');
  part('still').replaceWith(code);
  const controls = [...panel.querySelectorAll<HTMLElement>('[data-kpw-control]')].map((row) => ({
    name: row.dataset['kpwControl']!,
    number: row.querySelector<HTMLInputElement>('input[type=number]')!,
    slider: row.querySelector<HTMLInputElement>('input[type=range]')!,
  }));
  const [readings, sentence, picture] = [part('readings'), part('sentence'), part('picture')];
  const jumps = [() => firstSetting(model), ...model.jumps.map(({ to }) => to)];
  let frame = 0;
  let speech = 0;
  let onPaper = false;

  const draw = (): void => {
    frame = 0;
    const answer = model.answer(setting);
    readings.innerHTML = readingsHtml(answer.readings);
    picture.innerHTML = !onPaper && isOnDark(panel) ? inDarkColours(answer.picture) : answer.picture;
    code.value = answer.code;
    window.clearTimeout(speech);
    speech = window.setTimeout(() => {
      sentence.textContent = answer.sentence;
    }, speakAfterMs);
  };
  const drawSoon = (): void => {
    if (frame === 0) frame = window.requestAnimationFrame(draw);
  };
  const set = (values: PanelSetting): void => {
    for (const { name, number, slider } of controls) {
      const value = values[name];
      if (value === undefined) continue;
      slider.value = String(value);
      number.value = slider.value; // the slider keeps to the range and the step
      setting[name] = slider.valueAsNumber;
    }
    drawSoon();
  };

  for (const { name, number, slider } of controls) {
    slider.addEventListener('input', () => {
      number.value = slider.value;
      setting[name] = slider.valueAsNumber;
      drawSoon();
    });
    number.addEventListener('input', () => {
      if (!number.validity.valid || Number.isNaN(number.valueAsNumber)) return;
      slider.value = number.value;
      setting[name] = number.valueAsNumber;
      drawSoon();
    });
    // An impossible entry goes back to what the answers are for.
    number.addEventListener('change', () => {
      number.value = String(setting[name]);
    });
  }
  panel.addEventListener('click', ({ target }) => {
    const button = (target as Element).closest<HTMLElement>('button');
    const jump = button?.dataset['kpwJump'];
    if (jump !== undefined) set(jumps[Number(jump)]!(setting));
    if (button?.dataset['kpwCode'] === undefined) return;
    code.hidden = false;
    code.select();
    // Refused where the page is framed: then the text stands there, selected.
    navigator.clipboard?.writeText(code.value).catch(() => undefined);
  });
  // A notebook page takes arrow keys and digits for its own commands unless they stay in here.
  panel.addEventListener('keydown', (event) => event.stopPropagation());

  window.matchMedia('(prefers-color-scheme: dark)').addEventListener('change', drawSoon);
  for (const event of ['beforeprint', 'afterprint'])
    window.addEventListener(event, () => {
      onPaper = event === 'beforeprint';
      draw();
    });
  // Notebook pages say their theme on the body or the root.
  const themes = new MutationObserver(drawSoon);
  for (const place of [document.documentElement, document.body]) themes.observe(place, { attributes: true });

  draw();
  panel.dataset['kpwReady'] = 'true';
}

/** Light text stands on dark ground, whatever the page calls its theme. */
function isOnDark(panel: HTMLElement): boolean {
  const [red = 0, green = 0, blue = 0] =
    getComputedStyle(panel)
      .color.match(/[\d.]+/g)
      ?.map(Number) ?? [];
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue > 140;
}

function inDarkColours(picture: string): string {
  return picture.replace(
    /(fill|stroke)="([^"]+)"/g,
    (_, name: string, colour: string) => `${name}="${darkTwins[colour] ?? colour}"`,
  );
}

function fail(panel: HTMLElement, problem: unknown): void {
  const message = document.createElement('p');
  message.className = 'kpw-message';
  message.textContent = `The panel could not start: ${problem instanceof Error ? problem.message : String(problem)}`;
  panel.append(message);
}
