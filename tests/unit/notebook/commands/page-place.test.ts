import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { pagePath, requireFreePlace } from '../../../../toolkit/notebook/commands/page-place.js';
import { reportHtml } from '../../../../toolkit/report/page/report-html.js';

describe('pagePath', () => {
  const place = { typedIn: '/home/p', demoFolder: '/project/dist/reports' };

  it('puts the demo into the build folder and own logs beside the first of them', () => {
    expect(pagePath({ ...place, logs: [] })).toBe('/project/dist/reports/from-logs-to-a-cap.html');
    expect(pagePath({ ...place, logs: ['my-logs/a.csv', '/other/b.csv'] })).toBe(
      '/home/p/my-logs/from-logs-to-a-cap.html',
    );
  });

  it('takes --out from the folder the command was typed in', () => {
    expect(pagePath({ ...place, logs: ['a.csv'], out: 'pages/cap.html' })).toBe('/home/p/pages/cap.html');
  });
});

describe('requireFreePlace', () => {
  let folder: string;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'kpw-place-'));
  });
  afterAll(() => rm(folder, { recursive: true }));

  it('accepts a new file and an earlier page of ours', async () => {
    const path = join(folder, 'cap.html');
    await expect(requireFreePlace(path, { create: false })).resolves.toBe('new');
    await writeFile(path, reportHtml([], { title: 'An earlier page' }));
    await expect(requireFreePlace(path, { create: false })).resolves.toBe('replaces');
  });

  it('makes the folder where it may', async () => {
    await expect(requireFreePlace(join(folder, 'new', 'cap.html'), { create: true })).resolves.toBe('new');
  });

  it('never writes over what somebody else wrote', async () => {
    const page = join(folder, 'letter.html');
    await writeFile(page, '<h1>Dear aunt</h1>');
    await expect(requireFreePlace(page, { create: false })).rejects.toThrow(
      /`--out` must be a new file or an earlier page of ours/,
    );
    const log = join(folder, 'run.csv');
    await writeFile(log, 'time_s,temperature_c,power_w\n');
    await expect(requireFreePlace(log, { create: false })).rejects.toThrow(/`--out` must be a new file/);
    await expect(requireFreePlace(folder, { create: false })).rejects.toThrow(/`--out` must be a file /);
  });

  it('says when the folder is missing', async () => {
    await expect(requireFreePlace(join(folder, 'nowhere', 'a.html'), { create: false })).rejects.toThrow(
      /`--out` must be in a folder that exists .*--out page\.html/,
    );
  });
});
