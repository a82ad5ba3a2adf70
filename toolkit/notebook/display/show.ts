import { displayBundles } from './display-bundle.js';
import { notebookHook } from './display-hook.js';

/**
 * Shows a value in the notebook below the cell, as the cell's last value shows itself; any number per cell.
 *
 * Runs, models, curves, caps, figures, tables, findings and danfojs tables show as pictures and tables, several
 * results of one kind side by side; any other value as text. Outside a notebook the text goes to standard output.
 *
 * @param value - what to show
 * @example
 * show({ limitC: 85 }); // => undefined
 */
export function show(value: unknown): void {
  const hook = notebookHook();
  for (const bundle of displayBundles(value)) {
    if (hook !== undefined) hook.display(bundle);
    else console.log(bundle['text/plain']);
  }
}
