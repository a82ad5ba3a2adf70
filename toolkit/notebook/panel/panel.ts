import { readFileSync } from 'node:fs';
import { type PanelData, panelModelOf } from './panel-data.js';
import { panelHtml } from './panel-html.js';
import { firstSetting } from './panel-model.js';

/**
 * A panel to drag, as `explore` and `exploreLadder` return it. Plain data: the last value of a cell shows it, and pages
 * made from the notebook make it again.
 */
export interface Panel {
  readonly kind: 'panel';
  readonly data: PanelData;
}

/** The panel as HTML that runs by itself in any viewer that runs scripts. */
export function htmlOfPanel(data: PanelData): string {
  return panelHtml(panelModelOf(data), JSON.stringify(data), panelScript());
}

/** The panel's first answer in words, for terminals. */
export function textOfPanel(data: PanelData): string {
  const model = panelModelOf(data);
  const { readings, sentence } = model.answer(firstSetting(model));
  const lines = readings.map(
    ({ label, text, mark }) => `${label}: ${text}${mark === undefined ? '' : ` (${mark})`}`,
  );
  return [model.title, ...lines, sentence].join('\n');
}

let script: string | undefined;

function panelScript(): string {
  script ??= readFileSync(new URL('./panel-script.js', import.meta.url), 'utf8');
  return script;
}
