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
  ])('are refused by name where they hold %s', (_, text, message) => {
    expect(() => parseNotebook(text, 'a.ipynb')).toThrow(message);
  });
});
