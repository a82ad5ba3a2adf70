import { firstSetting, type PanelControl, type PanelModel, type PanelSetting } from './panel-model.js';

/** Values along each control that are tried. */
const mostValues = 24;

/**
 * Answers to settings all along the controls while the page is idle, shown to nobody: a browser runs code that has run
 * often several times as fast, and the first move of a hand shall find it so. Does nothing where idle time is not told.
 *
 * @returns ends it: from the first move on the hand comes first
 */
export function rehearse(model: PanelModel): () => void {
  const settings = rehearsalsOf(model);
  let request = 0;
  const next = (): void => {
    const setting = settings.pop();
    if (setting === undefined) return;
    model.answer(setting);
    request = window.requestIdleCallback(next);
  };
  if ('requestIdleCallback' in window) request = window.requestIdleCallback(next);
  return () => {
    settings.length = 0;
    if ('cancelIdleCallback' in window) window.cancelIdleCallback(request);
  };
}

function rehearsalsOf(model: PanelModel): PanelSetting[] {
  const first = firstSetting(model);
  const values = model.controls.map((control) => valuesAlong(control));
  // One control after the other in turn: however soon it ends, all have been tried.
  return Array.from({ length: mostValues }, (_, place) =>
    model.controls.flatMap(({ name }, k) => {
      const value = values[k][place];
      return value === undefined ? [] : [{ ...first, [name]: value }];
    }),
  )
    .flat()
    .reverse();
}

/** Every value that can be set where these are few, else some from end to end. */
function valuesAlong({ low, high, step }: PanelControl): readonly number[] {
  const steps = Math.round((high - low) / step);
  const count = Math.min(steps, mostValues - 1);
  return Array.from({ length: count + 1 }, (_, k) =>
    Number((low + step * Math.round((k * steps) / Math.max(1, count))).toFixed(6)),
  );
}
