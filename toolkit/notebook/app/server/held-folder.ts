import { constants } from 'node:fs';
import { open, readlink } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';

/** Both are missing on Windows, which has no path of an open folder either. */
const { O_DIRECTORY = 0, O_NOFOLLOW = 0, O_RDONLY } = constants;

/**
 * Works on a file by way of its folder, held open: a link that somebody puts in the folder's place after the path was
 * checked leads nowhere. `use` gets the path to work on. Where the system shows no open folders under `/proc`, that is
 * the path itself.
 *
 * @param full - the path, checked, with links followed
 */
export async function inHeldFolder<Result>(
  full: string,
  use: (held: string) => Promise<Result>,
): Promise<Result> {
  if (process.platform !== 'linux') return use(full);
  const checked = dirname(full);
  const folder = await open(checked, O_RDONLY | O_DIRECTORY | O_NOFOLLOW);
  try {
    const held = `/proc/self/fd/${folder.fd}`;
    const where = await readlink(held).catch(() => undefined);
    if (where === undefined) return await use(full);
    if (where !== checked)
      throw Object.assign(new Error('the folder was put elsewhere meanwhile'), { code: 'ENOENT' });
    return await use(join(held, basename(full)));
  } finally {
    await folder.close();
  }
}
