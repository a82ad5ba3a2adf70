import { displayBundles } from './display-bundle.js';
import type { MimeBundle } from './kernel/outputs.js';

/** Where the kernel puts the function that receives display bundles; a symbol, so that copies of the toolkit agree. */
export const displayHookKey: unique symbol = Symbol.for('kelvin-per-watt.display') as never;

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
  const hook = (globalThis as { [displayHookKey]?: (bundle: MimeBundle) => void })[displayHookKey];
  for (const bundle of displayBundles(value)) {
    if (hook !== undefined) hook(bundle);
    else console.log(bundle['text/plain']);
  }
}
