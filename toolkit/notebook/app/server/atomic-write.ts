import { randomBytes } from 'node:crypto';
import { chmod, open, readdir, rename, rm, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';

/** A draft that nobody has touched for so long is of a process that was ended in the middle of a save. */
const abandonedMs = 10 * 60 * 1000;

/**
 * Writes a file whole or not at all: into a hidden file beside it, flushed to the disk, then renamed over it. A full
 * disk, a crash or a pulled plug leaves the earlier file as it was.
 */
export async function writeAtomically(path: string, data: string | Uint8Array): Promise<void> {
  const draft = join(dirname(path), `${draftPrefix(path)}${randomBytes(6).toString('hex')}.draft`);
  try {
    const mode = await stat(path).then(
      (there) => there.mode & 0o777,
      () => undefined,
    );
    const file = await open(draft, 'wx', 0o666);
    try {
      await file.writeFile(data);
      await file.sync();
    } finally {
      await file.close();
    }
    if (mode !== undefined) await chmod(draft, mode);
    await rename(draft, path);
  } catch (problem) {
    await rm(draft, { force: true }).catch(() => undefined);
    throw problem;
  }
  // What remains is nobody's loss, and another matter than the save that has succeeded.
  await removeAbandonedDrafts(path).catch(() => undefined);
}

function draftPrefix(path: string): string {
  return `.${basename(path).slice(0, 100)}.`;
}

async function removeAbandonedDrafts(path: string): Promise<void> {
  const prefix = draftPrefix(path);
  for (const name of await readdir(dirname(path))) {
    if (!name.startsWith(prefix) || !/^[0-9a-f]{12}\.draft$/.test(name.slice(prefix.length))) continue;
    const draft = join(dirname(path), name);
    if (Date.now() - (await stat(draft)).mtimeMs > abandonedMs) await rm(draft, { force: true });
  }
}

/** Writes a file that was not there: `EEXIST` if it is. What could not be written whole is taken away again. */
export async function writeNew(path: string, text: string): Promise<void> {
  const file = await open(path, 'wx');
  try {
    await file.writeFile(text).finally(() => file.close());
  } catch (problem) {
    await rm(path, { force: true }).catch(() => undefined);
    throw problem;
  }
}
