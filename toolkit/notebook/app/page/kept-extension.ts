import { isLogName } from '../../../logs/read/log-name.js';

const notebookExtension = '.ipynb';

/**
 * A new name as typed, with the extension of the old one where it would otherwise be lost: the list shows notebooks and logs
 * by theirs, and the full stop of "version 1.2" begins none.
 */
export function withKeptExtension(typed: string, oldName: string): string {
  if (oldName.endsWith(notebookExtension))
    return typed.endsWith(notebookExtension) ? typed : typed + notebookExtension;
  const extension = /\.[^.]*(?:\.gz)?$/i.exec(oldName)?.[0] ?? '';
  return isLogName(typed) ? typed : typed + extension;
}
