/**
 * The script of all panels, bundled with the toolkit into one file: finds the panels of the page that have not been
 * started and makes them answer. It asks no kernel and no network, and needs nothing of the page around it: a frame of
 * its own without an origin will do.
 */
import { followGround, onGround } from './ground.js';
import { type PanelData, panelModelOf } from './panel-data.js';
import { cautionsHtml, controlsHtml, readingsHtml } from './panel-html.js';
import { firstSetting, type PanelModel, type PanelSetting, shownValue } from './panel-model.js';
import { rehearse } from './rehearse.js';
import { showIn } from './shown.js';

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
  const told = document.createElement('p');
  told.className = 'kpw-note';
  told.setAttribute('role', 'status');
  // Beside their button: in a viewer that shows little at once nobody sees what appears further down.
  place.querySelector('p')!.after(told, code);
  part('still').remove();
  const controls = model.controls.map((control) => {
    const row = panel.querySelector<HTMLElement>(`[data-kpw-control="${CSS.escape(control.name)}"]`)!;
    return {
      ...control,
      number: row.querySelector<HTMLInputElement>('input[type=number]')!,
      slider: row.querySelector<HTMLInputElement>('input[type=range]')!,
    };
  });
  const sentence = part('sentence');
  const showReadings = showIn(part('readings'));
  const showPicture = showIn(part('picture'), onGround);
  const showCautions = showIn(part('cautions'));
  const jumps = [() => firstSetting(model), ...model.jumps.map(({ to }) => to)];
  let frame = 0;
  let speech = 0;

  const draw = (): void => {
    frame = 0;
    const answer = model.answer(setting);
    showReadings(readingsHtml(answer.readings));
    showPicture(answer.picture);
    showCautions(cautionsHtml(answer.cautions));
    if (code.value !== answer.code) {
      code.value = answer.code;
      told.textContent = '';
    }
    window.clearTimeout(speech);
    speech = window.setTimeout(() => {
      if (sentence.textContent !== answer.sentence) sentence.textContent = answer.sentence;
    }, speakAfterMs);
  };
  /** However many moves of the hand a frame sees, it answers once. */
  const drawSoon = (): void => {
    endRehearsal();
    if (frame === 0) frame = window.requestAnimationFrame(draw);
  };
  const sayValue = ({ number, slider, unit }: (typeof controls)[number]): void => {
    for (const input of [number, slider]) input.setAttribute('aria-valuetext', `${slider.value} ${unit}`);
  };
  const set = (values: PanelSetting): void => {
    for (const control of controls) {
      const { name, number, slider, step } = control;
      const value = values[name];
      if (value === undefined) continue;
      slider.value = String(shownValue(control, value));
      number.value = slider.value; // the slider keeps to the range and the step
      setting[name] = Math.abs(slider.valueAsNumber - value) < step / 2 ? value : slider.valueAsNumber;
      sayValue(control);
    }
    drawSoon();
  };

  for (const control of controls) {
    const { name, number, slider } = control;
    slider.addEventListener('input', () => {
      number.value = slider.value;
      setting[name] = slider.valueAsNumber;
      sayValue(control);
      drawSoon();
    });
    number.addEventListener('input', () => {
      if (!number.validity.valid || Number.isNaN(number.valueAsNumber)) return;
      slider.value = number.value;
      setting[name] = number.valueAsNumber;
      sayValue(control);
      drawSoon();
    });
    // An impossible entry goes back to what the answers are for.
    number.addEventListener('change', () => {
      number.value = String(shownValue(control, setting[name]));
    });
  }
  panel.addEventListener('click', ({ target }) => {
    const button = (target as Element).closest<HTMLElement>('button');
    const jump = button?.dataset['kpwJump'];
    if (jump !== undefined) set(jumps[Number(jump)](setting));
    if (button?.dataset['kpwCode'] === undefined) return;
    code.hidden = false;
    code.select();
    copied(code).then((isCopied) => {
      told.textContent = isCopied
        ? 'Copied: paste it into a cell of the notebook that made this panel.'
        : 'Selected: copy it, and paste it into a cell of the notebook that made this panel.';
    });
  });
  // A notebook page takes arrow keys and digits for its own commands unless they stay in here.
  panel.addEventListener('keydown', (event) => event.stopPropagation());

  followGround(panel);
  draw();
  const endRehearsal = rehearse(model);
  panel.dataset['kpwReady'] = 'true';
}

/** Whether the selected text is in the clipboard: refused where the page is framed, absent where it came unencrypted. */
async function copied(code: HTMLTextAreaElement): Promise<boolean> {
  return (
    navigator.clipboard?.writeText(code.value).then(
      () => true,
      () => false,
    ) ?? false
  );
}

function fail(panel: HTMLElement, problem: unknown): void {
  const message = document.createElement('p');
  message.className = 'kpw-message';
  message.textContent = `The panel could not start: ${problem instanceof Error ? problem.message : String(problem)}`;
  panel.append(message);
}
