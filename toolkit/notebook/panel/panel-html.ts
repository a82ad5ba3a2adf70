import { escapeHtml, scriptSource } from '../../report/html-text.js';
import { drawingAsImage } from '../../report/still/still-picture.js';
import {
  firstSetting,
  type PanelControl,
  type PanelModel,
  type PanelReading,
  shownValue,
} from './panel-model.js';
import { panelStyle } from './panel-style.js';

/**
 * A panel as one piece of HTML: its answer to the first setting, and the script that puts the controls beside it. Nothing
 * is loaded from anywhere and no kernel is asked. Where scripts do not run, or a viewer takes them out, the answer stands
 * there, with its picture as an image, which such viewers keep.
 *
 * @param model - what it shows
 * @param data - what the script makes the same model from, as JSON
 * @param script - the script of all panels, bundled
 */
export function panelHtml(model: PanelModel, data: string, script: string): string {
  const title = escapeHtml(model.title);
  const { readings, picture, sentence, cautions } = model.answer(firstSetting(model));
  return `<section class="kpw-panel" role="group" aria-label="${title}" data-lm-suppress-shortcuts="true" data-kpw-panel="${escapeHtml(data)}">
<style>${panelStyle}</style>
<p class="kpw-title"><strong>${title}</strong></p>
<div class="kpw-columns">
<div class="kpw-answers">
<dl class="kpw-readings">${readingsHtml(readings)}</dl>
<div class="kpw-picture">${picture === '' ? '' : drawingAsImage(picture, sentence)}</div>
</div>
</div>
<p class="kpw-sentence" role="status" aria-live="polite">${escapeHtml(sentence)}</p>
<div class="kpw-cautions">${cautionsHtml(cautions)}</div>
<p class="kpw-note kpw-still">This is the first setting; the controls need a viewer that runs scripts.</p>
</section><script>${scriptSource(script)}</script>`;
}

/** Sliders, number fields and buttons: the script puts them there, so that nobody sees controls that do nothing. */
export function controlsHtml({ controls, missing, jumps }: PanelModel): string {
  const buttons = ['First setting', ...jumps.map(({ label }) => label)];
  return `${controls.map(controlHtml).join('\n')}
<p>${buttons.map((label, jump) => `<button type="button" data-kpw-jump="${jump}">${escapeHtml(label)}</button>`).join('')}<button type="button" data-kpw-code>This setting as code</button></p>
${missing.map((reason) => `<p class="kpw-note">${escapeHtml(reason)}</p>`).join('\n')}`;
}

/** The answers as a list of terms and numbers, an element a line. */
export function readingsHtml(readings: readonly PanelReading[]): string {
  return readings
    .flatMap(({ name, label, text, mark }) => [
      `<dt>${escapeHtml(label)}</dt>`,
      `<dd data-kpw-reading="${escapeHtml(name)}">`,
      `<span>${escapeHtml(mark === undefined ? text : `${text} `)}</span>`,
      ...(mark === undefined ? [] : [`<span class="kpw-mark">${escapeHtml(mark)}</span>`]),
      '</dd>',
    ])
    .join('\n');
}

/** What to know before setting it, in whole sentences, an element a line. */
export function cautionsHtml(cautions: readonly string[]): string {
  if (cautions.length === 0) return '';
  const items = cautions.map((caution) => `<li>${escapeHtml(caution)}</li>`);
  return ['<p>Before you set this:</p>', '<ul>', ...items, '</ul>'].join('\n');
}

function controlHtml(control: PanelControl): string {
  const { name, label, unit, low, high, step, value } = control;
  const [min, max, by, at] = [low, high, step, shownValue(control, value)].map((number) =>
    escapeHtml(String(number)),
  );
  const range = `min="${min}" max="${max}" step="${by}" value="${at}" aria-valuetext="${at} ${escapeHtml(unit)}"`;
  const spoken = escapeHtml(`${label}, ${unit}`);
  return `<div class="kpw-control" data-kpw-control="${escapeHtml(name)}"><span class="kpw-label">${escapeHtml(label)}</span><input type="number" aria-label="${spoken}" ${range}><span class="kpw-unit">${escapeHtml(unit)}</span><input type="range" aria-label="${spoken}, slider" ${range}></div>`;
}
