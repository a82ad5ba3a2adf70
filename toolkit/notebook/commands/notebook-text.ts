import { readFile } from 'node:fs/promises';
import { ArgumentError } from '../../errors.js';

/** The text of a notebook file; throws `ArgumentError` that names it as it was typed where it cannot be read. */
export async function notebookText(
  path: string,
  { asTyped, caller }: { readonly asTyped: string; readonly caller: string },
): Promise<string> {
  try {
    return await readFile(path, 'utf8');
  } catch (cause) {
    const code = (cause as { readonly code?: unknown }).code;
    throw new ArgumentError({
      caller,
      argument: asTyped,
      expected: 'a notebook file that can be read',
      received: code === 'ENOENT' ? 'no such file' : code === 'EISDIR' ? 'a folder' : String(code),
    });
  }
}
