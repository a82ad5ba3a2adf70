import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { figureOfRun } from '../../../../toolkit/figures/figure-of-run.js';
import { runReport } from '../../../../toolkit/notebook/commands/report-command.js';
import { plotlyMimeType } from '../../../../toolkit/notebook/display/display-bundle.js';
import { drawerRun } from '../../figures/puppet-theatre.js';

const hostile = '<img src=x onerror=alert(1)>';
const figure = (label: string): object => figureOfRun(drawerRun({ sampleCount: 100, label }));
const markdown = (source: string | string[]): object => ({ cell_type: 'markdown', metadata: {}, source });
const code = (source: string, ...data: readonly object[]): object => ({
  cell_type: 'code',
  metadata: {},
  source,
  execution_count: 1,
  outputs: data.map((bundle) => ({ output_type: 'display_data', metadata: {}, data: bundle })),
});

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'kpw-report-'));
});
afterAll(() => rm(folder, { recursive: true }));

async function put(name: string, ...cells: readonly object[]): Promise<void> {
  await writeFile(
    join(folder, name),
    JSON.stringify({ nbformat: 4, nbformat_minor: 5, metadata: {}, cells }),
  );
}

async function report(
  ...args: readonly string[]
): Promise<{ exitCode: number; printed: string; errors: string }> {
  const printed: string[] = [];
  const errors: string[] = [];
  const exitCode = await runReport(args, {
    typedIn: folder,
    environment: {},
    print: (line) => printed.push(line),
    printError: (line) => errors.push(line),
  });
  return { exitCode, printed: printed.join('\n'), errors: errors.join('\n') };
}

describe('npm run report', () => {
  it('makes a page of the outputs saved in a notebook, without running anything', async () => {
    await put(
      'saved.ipynb',
      markdown(['# The drawer\n', '\n', 'Rise: $T = P R$ ', hostile]),
      markdown('<details><summary>Solution</summary>\n\n68.75 °C\n</details>'),
      code(
        'throw new Error("not to be run")',
        { [plotlyMimeType]: figure('evening'), 'text/plain': ['a\n', 'b'] },
        { 'text/plain': ['one\n', 'two'], 'text/html': [hostile] },
      ),
    );
    const { exitCode, printed, errors } = await report('saved.ipynb', '--as-saved');
    expect(errors).toBe('');
    expect(exitCode).toBe(0);
    expect(printed).toBe(`Page: ${join(folder, 'saved.html')}`);
    const page = await readFile(join(folder, 'saved.html'), 'utf8');
    expect(page).toContain('<h1>The drawer</h1>');
    expect(page).toContain('nothing was run for this page');
    expect(page).toMatch(/Rise: <math [^>]*><mi>T<\/mi><mo>=<\/mo>/);
    expect(page).toContain('&lt;img src=x onerror=alert(1)&gt;');
    expect(page).not.toContain(hostile);
    expect(page).toMatch(/<details><summary>Solution<\/summary>\n<p>68\.75\u00a0°C<\/p>/);
    expect(page).toContain('<pre class="output">one\ntwo</pre>');
    expect(page).toMatch(/<figure><div class="picture" id="figure-1".*?<img alt="/s);
    expect(page).not.toContain('not to be run');
    expect((await report('saved.ipynb', '--as-saved')).printed).toMatch(/an earlier one was replaced/);
  });

  it('writes every picture as SVG named after its title, and over nothing that is none of ours', async () => {
    const bundle = (label: string): object => ({ [plotlyMimeType]: figure(label), 'text/plain': 'x' });
    await put('two.ipynb', code('1', bundle(`../${hostile}`), bundle(`../${hostile}`)));
    const args = ['two.ipynb', '--as-saved', '--figures', 'pictures'];
    const { printed, errors } = await report(...args);
    expect(errors).toBe('');
    expect(printed).toMatch(/^2 pictures as SVG: .*pictures$/m);
    const names = (await readdir(join(folder, 'pictures'))).sort();
    expect(names).toHaveLength(2);
    for (const name of names) {
      expect(name).toMatch(/^[\p{L}\p{N}-]+\.svg$/u);
      const text = await readFile(join(folder, 'pictures', name), 'utf8');
      expect(text).toMatch(/^<svg xmlns="http:\/\/www\.w3\.org\/2000\/svg"/);
      expect(text).not.toContain('<img');
    }
    expect(names[0]).toBe(names[1].replace('.svg', '-2.svg'));
    expect((await report(...args)).exitCode).toBe(0);
    await writeFile(join(folder, 'pictures', names[0]), 'a letter');
    expect((await report(...args)).errors).toMatch(
      /`--figures` must be a folder without other files of these/,
    );
    expect(await readFile(join(folder, 'pictures', names[0]), 'utf8')).toBe('a letter');
  });

  it('says that a notebook holds no outputs', async () => {
    await put('empty.ipynb', markdown('Text'), code('1'));
    expect((await report('empty.ipynb', '--as-saved')).printed).toMatch(
      /No output is saved in empty\.ipynb: .* leave out --as-saved to run it/,
    );
    expect(await readFile(join(folder, 'empty.html'), 'utf8')).toContain('<h1>empty</h1>');
  });

  it.each([
    ['nothing', [], /`notebook` must be one notebook file \(received "?nothing/],
    ['two notebooks', ['a.ipynb', 'b.ipynb'], /`notebook` must be one notebook file/],
    ['a missing file', ['none.ipynb'], /`none\.ipynb` must be a notebook file .*no such file/],
    ['a folder', ['.', '--out', 'x.html'], /must be a notebook file .*a folder/],
    ['a file that is none', ['text.ipynb', '--as-saved'], /must be a notebook in nbformat 4/],
    ['an unknown option', ['a.ipynb', '--pdf'], /Unknown option '--pdf'.*--help/],
    ['an option without value', ['a.ipynb', '--out'], /--out.*argument missing/],
    ['a timeout of words', ['a.ipynb', '--timeout', 'long'], /`--timeout` must be a number of seconds/],
    [
      'a page that is not ours',
      ['text.ipynb', '--out', 'letter.html'],
      /npm run report: `--out` must be a new file/,
    ],
    [
      'a folder that is not there',
      ['text.ipynb', '--out', 'no/p.html'],
      /`--out` must be in a folder that exists/,
    ],
  ])('refuses %s with the remedy', async (_, args, message) => {
    await writeFile(join(folder, 'text.ipynb'), 'dear aunt');
    await writeFile(join(folder, 'letter.html'), '<h1>Dear aunt</h1>');
    const { exitCode, printed, errors } = await report(...args);
    expect(exitCode).toBe(1);
    expect(printed).toBe('');
    expect(errors).toMatch(message);
    expect(await readFile(join(folder, 'letter.html'), 'utf8')).toBe('<h1>Dear aunt</h1>');
  });

  it('explains itself', async () => {
    expect((await report('--help')).printed).toMatch(/npm run report -- my-notebook\.ipynb/);
  });
});
