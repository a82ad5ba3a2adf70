import {
  mkdir,
  mkdtemp,
  readdir,
  readFile,
  realpath,
  rename,
  rm,
  symlink,
  writeFile,
} from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { inHeldFolder } from '../../../../toolkit/notebook/app/server/held-folder.js';
import { ServedFolder } from '../../../../toolkit/notebook/app/server/served-folder.js';

let served: string;
let outside: string;

beforeAll(async () => {
  served = await realpath(await mkdtemp(join(tmpdir(), 'kpw-held-')));
  outside = await realpath(await mkdtemp(join(tmpdir(), 'kpw-outside-')));
});
afterAll(() => Promise.all([served, outside].map((folder) => rm(folder, { recursive: true }))));

describe.runIf(process.platform === 'linux')('inHeldFolder', () => {
  it('stays in the folder when a link is put in its place', async () => {
    await mkdir(join(served, 'evening'));
    await writeFile(join(outside, 'run.csv'), 'somebody else’s');
    const read = await inHeldFolder(join(served, 'evening', 'run.csv'), async (held) => {
      await rename(join(served, 'evening'), join(served, 'moved'));
      await symlink(outside, join(served, 'evening'));
      await writeFile(held, 'own');
      return readFile(held, 'utf8');
    });
    expect(read).toBe('own');
    expect(await readFile(join(served, 'moved', 'run.csv'), 'utf8')).toBe('own');
    expect(await readFile(join(outside, 'run.csv'), 'utf8')).toBe('somebody else’s');
  });

  it('does nothing in a place that became a link after it was checked', async () => {
    await symlink(outside, join(served, 'late'));
    const before = await readdir(outside);
    const save = (path: string): Promise<void> => inHeldFolder(path, (held) => writeFile(held, 'x'));
    await expect(save(join(served, 'late', 'new.txt'))).rejects.toThrow(/ENOTDIR|ELOOP/);
    // A link further up: the folder opens, but it is not the one that was checked.
    await mkdir(join(outside, 'inner'));
    await expect(save(join(served, 'late', 'inner', 'new.txt'))).rejects.toMatchObject({ code: 'ENOENT' });
    expect(await readdir(join(outside, 'inner'))).toEqual([]);
    expect(await readdir(outside)).toEqual([...before, 'inner'].sort());
  });
});

it('a served folder that is gone is said to be', async () => {
  const gone = join(served, 'gone');
  await mkdir(gone);
  const folder = await ServedFolder.at(gone);
  await rm(gone, { recursive: true });
  for (const path of ['', 'a.ipynb', 'inner/a.ipynb'])
    await expect(folder.resolve(path)).rejects.toThrow('The folder “gone” is not there any more.');
});
