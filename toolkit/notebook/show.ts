import { displayBundle } from './display-bundle.js';
import type { MimeBundle } from './kernel/outputs.js';

/** Where the kernel puts the function that receives display bundles; a symbol, so that copies of the toolkit agree. */
export const displayHookKey: unique symbol = Symbol.for('kelvin-per-watt.display') as never;

/**
 * Shows a value in the notebook, below the cell, as if it were the cell's last value; more than one per cell.
 *
 * Runs, models, curves, caps, figures and tables have a display of their own: a picture where the viewer can draw,
 * a table or a sentence elsewhere. Any other value shows as text. Outside a notebook the text goes to standard output.
 *
 * @param value - what to show
 * @example
 * show({ limitC: 85 }); // => undefined
 */
export function show(value: unknown): void {
  const bundle = displayBundle(value);
  const hook = (globalThis as { [displayHookKey]?: (bundle: MimeBundle) => void })[displayHookKey];
  if (hook !== undefined) hook(bundle);
  else console.log(bundle['text/plain']);
}
