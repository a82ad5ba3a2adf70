import { readFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Notebook, parseNotebook } from '../../../../toolkit/notebook/document/notebook-file.js';
import { hasModule, type JupyterPlace, jupyterPlace, python, run } from './jupyter-place.js';

// A real client, as Debian packages it: python3-nbconvert with nbclient.
const hasNbconvert = await hasModule('nbconvert');
if (!hasNbconvert) console.warn(`skipped: ${python} has no nbconvert (Debian: python3-nbconvert)`);

let place: JupyterPlace;

beforeAll(async () => {
  place = await jupyterPlace();
});
afterAll(() => place.remove());

describe.skipIf(!hasNbconvert)('nbconvert', () => {
  const execute = async (path: string, output: string): Promise<Notebook> => {
    await run(
      python,
      ['-m', 'nbconvert', '--to', 'notebook', '--execute', '--output', join(place.folder, output), path],
      {
        env: place.environment,
        timeout: 280_000,
      },
    );
    return parseNotebook(await readFile(join(place.folder, output), 'utf8'), output);
  };

  it('runs our first notebook from top to bottom; one figure carries the drawing library', async () => {
    const path = resolve('notebooks/01-from-logs-to-a-cap.ipynb');
    const { cells } = await execute(path, 'first.ipynb');
    const outputs = cells.flatMap((cell) => cell.outputs ?? []);
    expect(outputs.filter((output) => output.output_type === 'error')).toEqual([]);
    expect(outputs.length).toBeGreaterThan(10);
    const html = outputs.map((output) => ('data' in output ? String(output.data['text/html'] ?? '') : ''));
    expect(html.filter((text) => text.includes('DecompressionStream'))).toHaveLength(1);
    expect(html.filter((text) => text.includes('<img alt=')).length).toBeGreaterThan(5);
  }, 300_000);

  it('gets all of 30,000 lines printed in one tick, displays, updates and values', async () => {
    const path = await place.writeNotebook('lines.ipynb', [
      'for (let i = 0; i < 30_000; i++) console.log("line " + i);',
      'const tell = kpw.showProgress("Refits"); tell(1, 2); tell(2, 2); ({ limitC: 85 })',
    ]);
    const { cells } = await execute(path, 'lines-run.ipynb');
    const printed = (cells[0]?.outputs ?? [])
      .map((output) => (output.output_type === 'stream' ? [output.text].flat().join('') : ''))
      .join('');
    expect(printed).toBe(Array.from({ length: 30_000 }, (_, i) => `line ${i}\n`).join(''));
    const texts = (cells[1]?.outputs ?? []).map((output) => 'data' in output && output.data['text/plain']);
    expect([texts].flat(2).map(String)).toEqual([
      expect.stringMatching(/^Refits: 2 of 2 in less than 1 s$/),
      '{ limitC: 85 }',
    ]);
  }, 120_000);

  it("fails with the cell's own line", async () => {
    const path = await place.writeNotebook('fails.ipynb', [
      'const a = 1;\n\nthrow new RangeError("too warm");',
    ]);
    await expect(execute(path, 'fails-run.ipynb')).rejects.toThrow(
      /RangeError: too warm[\s\S]*line 3, column 7/,
    );
  }, 120_000);
});
