import { describe, expect, it } from 'vitest';
import {
  formatNotebook,
  type Notebook,
  parseNotebook,
} from '../../../../toolkit/notebook/document/notebook-file.js';

const notebook: Notebook = {
  nbformat: 4,
  nbformat_minor: 5,
  metadata: { kernelspec: { name: 'x' } },
  cells: [
    { cell_type: 'markdown', id: 'a', metadata: {}, source: '# Title\n\ntext' },
    {
      cell_type: 'code',
      id: 'b',
      metadata: { tags: ['your-logs'] },
      source: 'const a = 1;\na',
      execution_count: 1,
      outputs: [
        { output_type: 'stream', name: 'stdout', text: 'one\ntwo\n' },
        { output_type: 'execute_result', data: { 'text/plain': '1' }, metadata: {}, execution_count: 1 },
      ],
    },
  ],
};

const withCell = (fields: object): string =>
  JSON.stringify({ nbformat: 4, cells: [{ cell_type: 'code', ...fields }] });

describe('notebook files', () => {
  it('split texts into lines on disk', () => {
    const onDisk = JSON.parse(formatNotebook(notebook)) as {
      cells: { source: string[]; outputs?: unknown[] }[];
    };
    expect(onDisk.cells[0]?.source).toEqual(['# Title\n', '\n', 'text']);
    expect(onDisk.cells[1]?.outputs?.[0]).toMatchObject({ text: ['one\n', 'two\n'] });
  });

  it('come back with whole sources', () => {
    const again = parseNotebook(formatNotebook(notebook), 'a.ipynb');
    expect(again.cells.map((cell) => cell.source)).toEqual(notebook.cells.map((cell) => cell.source));
    expect(again.cells[1]?.metadata.tags).toEqual(['your-logs']);
  });

  it.each([
    ['not JSON', '{', /`a.ipynb` must be a notebook in nbformat 4 .*JSON/],
    ['another format', '{"nbformat": 3, "worksheets": []}', /`a.ipynb` must be a notebook in nbformat 4/],
    ['a list', '[]', /`a.ipynb` must be a notebook in nbformat 4/],
    ['an unknown cell', '{"nbformat": 4, "cells": [{"cell_type": "song"}]}', /`a.ipynb` must be a notebook/],
    [
      'a source that is no text',
      withCell({ source: { a: 1 } }),
      /the source of cell 1 a text or a list of texts/,
    ],
    ['a source of lists', withCell({ source: [['a']] }), /the source of cell 1 a text/],
    ['metadata in a list', '{"nbformat": 4, "metadata": [], "cells": []}', /its metadata an object/],
    ['a cell whose metadata are a text', withCell({ metadata: 'x' }), /the metadata of cell 1 an object/],
    ['a cell that says 7 of jupyter', withCell({ metadata: { jupyter: 7 } }), /what it says of jupyter too/],
  ])('are refused by name where they hold %s', (_, text, message) => {
    expect(() => parseNotebook(text, 'a.ipynb')).toThrow(message);
  });
});
