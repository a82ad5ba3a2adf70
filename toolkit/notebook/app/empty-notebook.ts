import type { Notebook } from '../document/notebook-file.js';

/** A new notebook: one empty cell of our kernel. */
export const emptyNotebook: Notebook = {
  nbformat: 4,
  nbformat_minor: 5,
  metadata: {
    kernelspec: {
      display_name: 'TypeScript (Kelvin per Watt)',
      language: 'typescript',
      name: 'kelvin-per-watt',
    },
    language_info: { file_extension: '.ts', mimetype: 'text/typescript', name: 'typescript' },
  },
  cells: [{ cell_type: 'code', id: 'cell-01', metadata: {}, source: '', outputs: [], execution_count: null }],
};
