import { escapeHtml, scriptSource } from '../../report/html-text.js';
import { firstSetting, type PanelControl, type PanelModel, type PanelReading } from './panel-model.js';
import { panelStyle } from './panel-style.js';

/**
 * A panel as one piece of HTML: controls, readings, picture and script. Nothing is loaded from anywhere and no kernel is
 * asked. Where scripts do not run, the answer for the first setting stands there.
 *
 * @param model - what it shows
 * @param data - what the script makes the same model from, as JSON
 * @param script - the script of all panels, bundled
 */
export function panelHtml(model: PanelModel, data: string, script: string): string {
  const { title, controls, missing, jumps } = model;
  const answer = model.answer(firstSetting(model));
  const buttons = ['First setting', ...jumps.map(({ label }) => label)];
  return `<section class="kpw-panel" role="group" aria-label="${escapeHtml(title)}" data-lm-suppress-shortcuts="true" data-kpw-panel="${escapeHtml(data)}">
<style>${panelStyle}</style>
<fieldset><legend>${escapeHtml(title)}</legend>
<div class="kpw-columns">
<div class="kpw-controls" hidden>
${controls.map(controlHtml).join('\n')}
${missing.map((reason) => `<p class="kpw-note">${escapeHtml(reason)}</p>`).join('\n')}
<p>${buttons.map((label, jump) => `<button type="button" data-kpw-jump="${jump}">${escapeHtml(label)}</button>`).join('')}</p>
</div>
<div class="kpw-answers">
<dl class="kpw-readings">
${readingsHtml(answer.readings)}
</dl>
<div class="kpw-picture">${answer.picture}</div>
</div>
</div>
<p class="kpw-sentence" role="status" aria-live="polite">${escapeHtml(answer.sentence)}</p>
<div class="kpw-code" hidden><button type="button" data-kpw-code>This setting as code</button>
<textarea readonly hidden spellcheck="false" aria-label="The current setting as code"></textarea></div>
</fieldset>
<noscript><p class="kpw-note">The controls need scripts; this is the first setting.</p></noscript>
</section><script>${scriptSource(script)}</script>`;
}

/** The answers as a list of terms and numbers. */
export function readingsHtml(readings: readonly PanelReading[]): string {
  return readings
    .map(({ name, label, text, mark }) => {
      const words = mark === undefined ? '' : `<span class="kpw-mark">${escapeHtml(mark)}</span>`;
      return `<dt>${escapeHtml(label)}</dt><dd data-kpw-reading="${escapeHtml(name)}">${escapeHtml(text)}${words}</dd>`;
    })
    .join('\n');
}

function controlHtml({ name, label, unit, low, high, step, value }: PanelControl): string {
  const [min, max, by, at] = [low, high, step, value].map((number) => escapeHtml(String(number)));
  const range = `min="${min}" max="${max}" step="${by}" value="${at}"`;
  const spoken = escapeHtml(`${label}, ${unit}`);
  return `<div class="kpw-control" data-kpw-control="${escapeHtml(name)}"><span class="kpw-label">${escapeHtml(label)}</span><input type="number" aria-label="${spoken}" ${range}><span class="kpw-unit">${escapeHtml(unit)}</span><input type="range" aria-label="${spoken}, slider" ${range}></div>`;
}
