import { plotlySource } from '../../report/page/plotly-node.js';
import type { KernelOutput } from '../kernel/messages/outputs.js';
import { plotlyMimeType } from './display-bundle.js';
import { libraryHtml } from './display-figure.js';

/**
 * Puts the drawing library into the first figure of a notebook, for viewers that have none. The cell that carries it
 * carries it again when it is run again, since its old output is gone then.
 */
export class LibraryCarrier {
  readonly #library: () => string;
  #carrier: string | undefined;
  #execution: string | undefined;

  constructor(library: () => string = packedLibrary) {
    this.#library = library;
  }

  /** The output, with the library where it belongs. `cell` names the cell, `execution` this run of it. */
  carry(output: KernelOutput, cell: string, execution: string): KernelOutput {
    if (!('data' in output) || !(plotlyMimeType in output.data)) return output;
    this.#carrier ??= cell;
    if (this.#carrier !== cell || this.#execution === execution) return output;
    this.#execution = execution;
    const html = `${output.data['text/html'] ?? ''}\n${this.#library()}`;
    return { ...output, data: { ...output.data, 'text/html': html } };
  }
}

function packedLibrary(): string {
  const source = plotlySource();
  if (typeof source === 'string') throw new Error('the drawing library is not packed');
  return libraryHtml(source.gzipBase64);
}
