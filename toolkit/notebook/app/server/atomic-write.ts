import { randomBytes } from 'node:crypto';
import { chmod, open, rename, rm, stat } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';

/**
 * Writes a file whole or not at all: into a hidden file beside it, flushed to the disk, then renamed over it. A full
 * disk, a crash or a pulled plug leaves the earlier file as it was.
 */
export async function writeAtomically(path: string, data: string | Uint8Array): Promise<void> {
  const draft = join(
    dirname(path),
    `.${basename(path).slice(0, 100)}.${randomBytes(6).toString('hex')}.draft`,
  );
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
