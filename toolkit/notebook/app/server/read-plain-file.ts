import { constants } from 'node:fs';
import { open } from 'node:fs/promises';
import { HttpError } from './http-error.js';

/** Both are missing on Windows, where neither fault can be made this way. */
const { O_NOFOLLOW = 0, O_NONBLOCK = 0, O_RDONLY } = constants;

/**
 * The bytes of a file, and of nothing else: a pipe or device would hold the reading up for good. What is looked at is
 * what was opened, so nothing can be put in its place between; a link put there after its path was resolved is not
 * followed. Throws `HttpError` 400 for what is no file, and what the disk says.
 */
export async function readPlainFile(full: string, name: string): Promise<Buffer> {
  const file = await open(full, O_RDONLY | O_NOFOLLOW | O_NONBLOCK);
  try {
    const info = await file.stat();
    if (!info.isFile() && !info.isDirectory())
      throw new HttpError(400, `“${name}” is neither a file nor a folder.`);
    return await file.readFile();
  } finally {
    await file.close();
  }
}
