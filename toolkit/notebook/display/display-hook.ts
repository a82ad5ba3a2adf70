import type { Comms } from '../kernel/messages/comms.js';
import type { MimeBundle } from '../kernel/messages/outputs.js';

/** The way from the toolkit to the notebook page it runs in. */
export interface NotebookHook {
  /** Shows a bundle below the cell; under an id it can be replaced later. */
  display(
    bundle: MimeBundle,
    options?: { readonly displayId?: string /** Replaces what has the id. */; readonly update?: boolean },
  ): void;
  /** Takes away what the cell has shown so far; with `wait` when the next output comes. */
  clear(options: { readonly wait: boolean }): void;
  /** Conversations with pages. */
  readonly comms: Comms;
}

/** Where the kernel puts the hook; a symbol, so that copies of the toolkit agree. */
export const displayHookKey: unique symbol = Symbol.for('kelvin-per-watt.display') as never;

/** The hook of the notebook kernel this code runs in, if it runs in one. */
export function notebookHook(): NotebookHook | undefined {
  return (globalThis as { [displayHookKey]?: NotebookHook })[displayHookKey];
}
