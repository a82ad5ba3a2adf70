import { describe, expect, it } from 'vitest';
import { figureOfRun } from '../../../../toolkit/figures/figure-of-run.js';
import {
  panelMimeType,
  plotlyMimeType,
  reportItemMimeType,
} from '../../../../toolkit/notebook/display/display-bundle.js';
import type { NotebookCell } from '../../../../toolkit/notebook/document/notebook-file.js';
import { reportOfNotebook } from '../../../../toolkit/notebook/document/notebook-report.js';
import type { CellOutput } from '../../../../toolkit/notebook/kernel/messages/outputs.js';
import { coolerModel, drawerRun } from '../../figures/puppet-theatre.js';

const figure = JSON.parse(JSON.stringify(figureOfRun(drawerRun({ sampleCount: 200 }))));
const hostile = '</script><script>alert(1)</script>';

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
        display({ [plotlyMimeType]: figure, 'text/plain': 'figure' }),
        display({ [reportItemMimeType]: table, 'text/plain': 'table' }),
        display({ 'text/plain': '42' }),
      ]),
      code('tmp', [display({ 'text/plain': '/tmp/x' })], ['notebook-only']),
      code(' ', []),
    ]);
    expect(items).toEqual([
      { kind: 'code', text: 'const logs = [];' },
      { kind: 'output', text: 'one\ntwo' },
      { kind: 'figure', figure },
      table,
      { kind: 'output', text: '42' },
    ]);
  });

  it('names a notebook without a heading as it is told, and lifts no line of code', () => {
    const cells = [{ cell_type: 'markdown', metadata: {}, source: '```\n## kept\n```\n### lifted' } as const];
    const { title, items } = reportOfNotebook(
      { nbformat: 4, nbformat_minor: 5, metadata: {}, cells },
      'my-notebook',
    );
    expect(title).toBe('my-notebook');
    expect(items).toEqual([{ kind: 'markdown', text: '```\n## kept\n```\n## lifted' }]);
  });

  it('takes no HTML and nothing that runs from outputs', () => {
    const { items, leftOut } = report([
      code('a', [
        display({ 'text/html': hostile, 'text/plain': hostile }),
        display({ 'text/html': hostile }),
        display({ [reportItemMimeType]: { kind: 'live', html: hostile }, 'text/plain': 'x' }),
        { output_type: 'stream', name: 'stdout', text: '\u001b[31mred\u001b[0m\n' },
        { output_type: 'error', ename: 'Error', evalue: 'on purpose', traceback: [] },
      ]),
    ]);
    expect(items).toEqual([
      { kind: 'output', text: hostile },
      { kind: 'output', text: 'An output without plain text is left out (text/html).' },
      { kind: 'output', text: expect.stringMatching(/no known form.*`output\.kind` must be 'heading'/) },
      { kind: 'output', text: 'red' },
      { kind: 'output', text: 'on purpose' },
    ]);
    expect(leftOut).toHaveLength(2);
  });

  it.each([
    ['a picture', plotlyMimeType, { data: [] }, /`figure\.layout` must be an object/],
    [
      'a size that is a text',
      plotlyMimeType,
      withField(figure, 'layout.height', hostile),
      /`figure\.layout\.height`/,
    ],
    ['a point', plotlyMimeType, withField(figure, 'data.0.x.3', {}), /`figure\.data\[0\]\.x\[3\]`/],
    [
      'a colour',
      plotlyMimeType,
      withField(figure, 'data.0.line', { color: 7 }),
      /`figure\.data\[0\]\.line\.color`/,
    ],
    [
      'a table',
      reportItemMimeType,
      { kind: 'table', table: { kind: 'table', columns: [{}], rows: [] } },
      /`output\.table\.columns\[0\]\.name`/,
    ],
    [
      'findings',
      reportItemMimeType,
      { kind: 'findings', findings: [{ message: 1 }] },
      /`output\.findings\[0\]\.code`/,
    ],
    ['an unknown panel', panelMimeType, { panel: 'clock' }, /`panel\.panel` must be 'cap' or 'ladder'/],
    [
      'a ladder',
      panelMimeType,
      { panel: 'ladder', ladder: [{ heatCapacityJPerK: -1 }] },
      /`panel\.ladder\[0\]\.heatCapacityJPerK` must be a finite number above 0/,
    ],
    [
      'a cooler',
      panelMimeType,
      { panel: 'cap', cooler: { ...coolerModel(), stages: 3 }, scenario: {} },
      /`panel\.cooler\.stages` must be an array/,
    ],
    [
      'a scenario',
      panelMimeType,
      {
        panel: 'cap',
        cooler: JSON.parse(JSON.stringify(coolerModel())),
        scenario: { limitC: hostile, ambientC: 20 },
      },
      /limitC` must be .*Run its cell again/,
    ],
  ])('says which field of %s is wrong', (_, type, data, message) => {
    const { items, leftOut } = report([
      code('a', [display({ [type]: data, 'text/html': hostile, 'text/plain': 'x' })]),
    ]);
    expect(items).toEqual([{ kind: 'output', text: expect.stringMatching(message) }]);
    expect(leftOut).toEqual([expect.stringMatching(message)]);
  });
});

function withField(value: object, path: string, field: unknown): object {
  const copy = structuredClone(value) as Record<string, unknown>;
  const names = path.split('.');
  const last = names.pop()!;
  const parent = names.reduce((part, name) => part[name] as Record<string, unknown>, copy);
  parent[last] = field;
  return copy;
}
