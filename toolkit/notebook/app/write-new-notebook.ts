import { join } from 'node:path';
import type { Notebook } from '../document/notebook-file.js';
import { writeNew } from './server/atomic-write.js';
import { notebookToDisk } from './server/notebook-on-disk.js';

/** Writes a notebook under a name that is free: `name.ipynb`, else `name-2.ipynb` … Returns its path. */
export async function writeNewNotebook(folder: string, name: string, notebook: Notebook): Promise<string> {
  const text = notebookToDisk(notebook);
  for (let count = 1; ; count += 1) {
    const path = join(folder, `${name}${count === 1 ? '' : `-${count}`}.ipynb`);
    try {
      await writeNew(path, text);
      return path;
    } catch (problem) {
      if ((problem as NodeJS.ErrnoException).code !== 'EEXIST') throw problem;
    }
  }
}
