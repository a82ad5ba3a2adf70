import { existsSync } from 'node:fs';
import { copyFile, mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { runStart as RunStart } from '../../../../toolkit/notebook/commands/start-command.js';
import { parseNotebook } from '../../../../toolkit/notebook/document/notebook-file.js';

// The command serves the built page and starts kernels of the built toolkit.
const built = resolve('dist/toolkit/notebook/commands/start-command.js');
if (!existsSync(built))
  throw new Error('the app is the built one, and dist/ is missing: run `npm run build` first');
const { runStart } = (await import(pathToFileURL(built).href)) as { runStart: typeof RunStart };

let folder: string;
const userFolder = process.env['XDG_DATA_HOME'];

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'kpw-start-'));
  process.env['XDG_DATA_HOME'] = join(folder, 'user');
  await mkdir(join(folder, 'my-logs'));
  for (const name of ['tower-88-at-118w.csv', 'tower-88-at-95w.csv'])
    await copyFile(join('datasets-demo', name), join(folder, 'my-logs', name));
  await copyFile(
    'datasets-demo/tower-88-at-95w.conditions.json',
    join(folder, 'my-logs', 'tower-88-at-95w.conditions.json'),
  );
});
afterAll(async () => {
  if (userFolder === undefined) delete process.env['XDG_DATA_HOME'];
  else process.env['XDG_DATA_HOME'] = userFolder;
  await rm(folder, { recursive: true, force: true });
});

interface Started {
  readonly exitCode: number | undefined;
  readonly printed: string;
  readonly printedErrors: string;
}

async function start(
  args: readonly string[],
  environment: Readonly<Record<string, string>> = {},
  whileOpen: (link: string) => Promise<void> = async () => {},
): Promise<Started> {
  const printed: string[] = [];
  const errors: string[] = [];
  const app = await runStart(args, {
    typedIn: folder,
    environment,
    print: (line) => printed.push(line),
    printError: (line) => errors.push(line),
  });
  if (typeof app !== 'number') {
    await whileOpen(app.link());
    await app.close();
  }
  return {
    exitCode: typeof app === 'number' ? app : undefined,
    printed: printed.join('\n'),
    printedErrors: errors.join('\n'),
  };
}

const logs = ['my-logs/tower-88-at-118w.csv', 'my-logs/tower-88-at-95w.csv'];

describe('npm start', () => {
  it('writes a new notebook beside the logs, with what is known and what is open, and serves that folder', async () => {
    const { printed, printedErrors } = await start(
      [...logs, '--limit', '85', '--no-open', '--port', '0'],
      {},
      async (link) => {
        const token = new URL(link).searchParams.get('token');
        const answer = await fetch(new URL('/api/contents', link), {
          headers: { Authorization: `token ${token}` },
        });
        const { content } = (await answer.json()) as { content: { name: string }[] };
        expect(content.map(({ name }) => name)).toContain('tower-88-at-95w.csv');
      },
    );
    expect(printedErrors).toBe('');
    expect(printed).toMatch(
      /my-logs\n {2}http:\/\/127\.0\.0\.1:\d+\/\?notebook=from-logs-to-a-cap\.ipynb&token=\S+$/m,
    );
    const text = await readFile(join(folder, 'my-logs', 'from-logs-to-a-cap.ipynb'), 'utf8');
    const { cells } = parseNotebook(text, 'x');
    const cell = cells.find(({ metadata }) => metadata.tags?.includes('your-logs'));
    expect(cell?.source).toContain('  "tower-88-at-118w.csv",\n  "tower-88-at-95w.csv",\n');
    expect(cell?.source).toContain('limitC: 85,');
    expect(cell?.source).toContain('ambientC: Number.NaN, // fill in: the air of the room');
    expect(cell?.source).toContain(
      '// cooler: "tower 88 mm", // tower-88-at-118w.csv does not say which cooler was on the processor',
    );
    expect(cells.some(({ metadata }) => metadata.tags?.includes('demo-only'))).toBe(false);
  });

  it('overwrites no notebook that is there', async () => {
    await start([...logs, '--limit', '85', '--ambient', '23', '--no-open', '--port', '0']);
    expect(await readdir(join(folder, 'my-logs'))).toEqual(
      expect.arrayContaining(['from-logs-to-a-cap.ipynb', 'from-logs-to-a-cap-2.ipynb']),
    );
    const second = await readFile(join(folder, 'my-logs', 'from-logs-to-a-cap-2.ipynb'), 'utf8');
    expect(second).not.toContain('Number.NaN');
  });

  it('names a log that cannot be read before anything is opened or written', async () => {
    await writeFile(join(folder, 'empty.csv'), '');
    const { exitCode, printedErrors } = await start(['empty.csv', '--no-open', '--port', '0']);
    expect(exitCode).toBe(1);
    expect(printedErrors).toMatch(/^empty\.csv: the log is empty/);
    expect(await readdir(folder)).not.toContain('from-logs-to-a-cap.ipynb');
  });

  it.each([
    [['--folder', 'nowhere'], /^npm start: `--folder` must be in a folder that exists/],
    [['--out', 'page.html'], /^npm start: `--out` must be left to npm run decide/],
  ])('refuses %j in words', async (args, message) => {
    const { exitCode, printedErrors } = await start([...args, '--no-open', '--port', '0']);
    expect(exitCode).toBe(1);
    expect(printedErrors).toMatch(message);
  });

  it('says when npm kept an option, and shows its help', async () => {
    const kept = await start(['run.csv'], { npm_config_limit: 'true' });
    expect(kept.printedErrors).toMatch(/`--limit` must be written after --/);
    const { exitCode, printed } = await start(['--help']);
    expect(exitCode).toBe(0);
    expect(printed).toMatch(/npm start -- my-logs\/\*\.csv --limit 85/);
  });
});
