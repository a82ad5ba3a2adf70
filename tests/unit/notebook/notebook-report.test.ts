import { describe, expect, it } from 'vitest';
import { plotlyMimeType, reportItemMimeType } from '../../../toolkit/notebook/display-bundle.js';
import type { CellOutput } from '../../../toolkit/notebook/kernel/outputs.js';
import type { NotebookCell } from '../../../toolkit/notebook/notebook-file.js';
import { reportOfNotebook } from '../../../toolkit/notebook/notebook-report.js';

const code = (source: string, outputs: CellOutput[], tags: string[] = []): NotebookCell => ({
  cell_type: 'code',
  metadata: { tags },
  source,
  outputs,
});
const display = (data: Record<string, string | object>): CellOutput => ({
  output_type: 'display_data',
  data,
  metadata: {},
});
const report = (cells: NotebookCell[]): ReturnType<typeof reportOfNotebook> =>
  reportOfNotebook({ nbformat: 4, nbformat_minor: 5, metadata: {}, cells });

describe('reportOfNotebook', () => {
  it('takes the first heading for the title and leaves it out of the text, and lifts the sections', () => {
    const { title, items } = report([
      { cell_type: 'markdown', metadata: {}, source: '# From logs\n\nText.\n\n## Section' },
    ]);
    expect(title).toBe('From logs');
    expect(items).toEqual([{ kind: 'markdown', text: 'Text.\n\n# Section' }]);
  });

  it('shows outputs in order, and the code only of the cell that asks the question', () => {
    const table = { kind: 'table', table: { kind: 'table', columns: [], rows: [] } };
    const { items } = report([
      code('const logs = [];', [], ['your-logs']),
      code('secret', [
        { output_type: 'stream', name: 'stdout', text: 'one\ntwo\n' },
        display({ [plotlyMimeType]: { data: [] }, 'text/plain': 'figure' }),
        display({ [reportItemMimeType]: table, 'text/plain': 'table' }),
        display({ 'text/plain': '42' }),
      ]),
      code('tmp', [display({ 'text/plain': '/tmp/x' })], ['notebook-only']),
      code(' ', []),
    ]);
    expect(items).toEqual([
      { kind: 'code', text: 'const logs = [];' },
      { kind: 'output', text: 'one\ntwo' },
      { kind: 'figure', figure: { data: [] } },
      table,
      { kind: 'output', text: '42' },
    ]);
  });
});
