import { randomUUID } from 'node:crypto';
import { open, rename, rm } from 'node:fs/promises';
import { dirname, resolve } from 'node:path';
import { ArgumentError } from '../../errors.js';
import { plotlySource } from './plotly-node.js';
import { type ReportItem, type ReportOptions, reportHtml } from './report-html.js';

/**
 * Writes a report page to a file. The file appears whole or not at all: an older one of that name stays as it is
 * until the new one is complete.
 *
 * @param path - of the file to write, `.html`; its folder must be there
 * @param items - what the page shows, as for `reportHtml`
 * @param options - title and more, as for `reportHtml`; Plotly's source is added
 * @returns the absolute path written
 * @throws ArgumentError if the folder is missing or cannot be written, or the path is a folder
 * @example
 * const path = await writeReport('drawer.html', [{ kind: 'markdown', text: 'Cap: **92 W**' }], { title: 'Drawer' });
 * path.endsWith('drawer.html'); // => true
 */
export async function writeReport(
  path: string,
  items: readonly ReportItem[],
  options: ReportOptions,
): Promise<string> {
  const target = resolve(path);
  const page = reportHtml(items, { plotlySource: plotlySource(), ...options });
  // In the same folder, so that the renaming cannot cross file systems. The name is no result: it may be random.
  const draft = `${target}.${randomUUID()}.part`;
  try {
    const file = await open(draft, 'wx');
    try {
      await file.writeFile(page, 'utf8');
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(draft, target);
    return target;
  } catch (cause) {
    await rm(draft, { force: true }).catch(() => undefined);
    throw new ArgumentError({
      caller: 'writeReport',
      argument: 'path',
      expected: 'a file that can be written',
      received: path,
      remedy: remedyFor(cause, target),
    });
  }
}

function remedyFor(cause: unknown, target: string): string {
  const code = (cause as { readonly code?: unknown }).code;
  if (code === 'ENOENT' || code === 'ENOTDIR') return `make the folder ${dirname(target)} first`;
  if (code === 'EISDIR' || code === 'EEXIST' || code === 'ENOTEMPTY')
    return 'that is a folder; add a file name such as report.html';
  if (code === 'EACCES' || code === 'EPERM' || code === 'EROFS') return 'choose a folder you may write in';
  if (code === 'ENOSPC') return 'the disk is full; the older file, if any, is unchanged';
  return cause instanceof Error ? cause.message : String(cause);
}
