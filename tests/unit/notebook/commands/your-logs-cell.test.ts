import { describe, expect, it } from 'vitest';
import {
  withDemoChanges,
  withYourLogs,
  yourLogsCode,
} from '../../../../toolkit/notebook/commands/your-logs-cell.js';
import type { Notebook } from '../../../../toolkit/notebook/document/notebook-file.js';

const notebook: Notebook = {
  nbformat: 4,
  nbformat_minor: 5,
  metadata: {},
  cells: [
    { cell_type: 'markdown', metadata: {}, source: '# Title' },
    { cell_type: 'code', metadata: { tags: ['your-logs'] }, source: 'const question = {};' },
    { cell_type: 'code', metadata: {}, source: 'question' },
  ],
};

describe('the your-logs cell', () => {
  it('is code a person would write', () => {
    expect(
      yourLogsCode({
        logs: ['../my-logs/a.csv', '/elsewhere/"b".csv'],
        whatTheLogsDoNotSay: { cooler: 'tower 88 mm', ambientC: 22.5 },
        howToRead: { columns: { temperature: 'die "A"', frequency: false } },
        question: { limitC: 85, ambientC: { low: 20, high: 26 }, enclosure: { riseK: 9 } },
      }),
    ).toBe(
      [
        '// Your logs, and your question. Everything below follows from this cell.',
        'const logs = [',
        '  "../my-logs/a.csv",',
        '  "/elsewhere/\\"b\\".csv",',
        '];',
        'const whatTheLogsDoNotSay: kpw.Conditions = {',
        '  cooler: "tower 88 mm",',
        '  ambientC: 22.5,',
        '};',
        'const howToRead: kpw.ParseRunOptions = {',
        '  columns: { temperature: "die \\"A\\"", frequency: false },',
        '};',
        'const question: kpw.CapScenario = {',
        '  limitC: 85,',
        '  ambientC: { low: 20, high: 26 },',
        '  enclosure: { riseK: 9 },',
        '};',
      ].join('\n'),
    );
  });

  it('replaces the tagged cell and nothing else', () => {
    const changed = withYourLogs(notebook, {
      logs: [],
      whatTheLogsDoNotSay: {},
      howToRead: {},
      question: { limitC: 85, ambientC: 23 },
    });
    expect(changed.cells.map((cell) => cell === notebook.cells[changed.cells.indexOf(cell)])).toEqual([
      true,
      false,
      true,
    ]);
    expect(changed.cells[1]?.source).toContain('limitC: 85');
    expect(changed.cells[1]?.metadata.tags).toEqual(['your-logs']);
  });

  it('changes single fields of the demo question', () => {
    const changed = withDemoChanges(notebook, { question: { limitC: 80 }, whatTheLogsDoNotSay: {} });
    expect(changed.cells[1]?.source).toBe(
      'const question = {};\nObject.assign(question, {\n  limitC: 80,\n});',
    );
    expect(withDemoChanges(notebook, { question: {}, whatTheLogsDoNotSay: {} })).toEqual(notebook);
  });

  it('refuses a notebook without exactly one such cell', () => {
    expect(() =>
      withDemoChanges({ ...notebook, cells: [] }, { question: {}, whatTheLogsDoNotSay: {} }),
    ).toThrow(/must be a notebook with one cell tagged your-logs \(received 0\)/);
  });
});
