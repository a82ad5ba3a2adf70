import { readdir, stat } from 'node:fs/promises';
import { basename, dirname, extname, join, parse } from 'node:path';
import { LogFormatError } from '../log-format-error.js';
import { isLogName, LOG_ENDINGS } from './log-name.js';

/** The name of a log without folder, extension and `.gz`: `logs/run.csv.gz` → `run`. */
export function logName(path: string): string {
  const plain = path.toLowerCase().endsWith('.gz') ? path.slice(0, -3) : path;
  return basename(plain, extname(plain));
}

/** Where the conditions of a log are looked for: `logs/run.csv` → `logs/run.conditions.json`. */
export function conditionsPathOf(path: string): string {
  return join(dirname(path), `${logName(path)}.conditions.json`);
}

/**
 * The logs that a text stands for, in order of their names: all logs of a folder; or all files that a pattern fits, with
 * `*` for any part of a name, `?` for one character and `**` for any folders.
 *
 * @throws LogFormatError if there is none
 */
export async function logFilesOf(pattern: string): Promise<readonly string[]> {
  const facts = await stat(pattern).catch(() => undefined);
  if (facts?.isFile() === true) return [pattern];
  const found =
    facts?.isDirectory() === true
      ? (await readdir(pattern, { withFileTypes: true }))
          .filter((entry) => entry.isFile() && isLogName(entry.name))
          .map(({ name }) => join(pattern, name))
      : await fitting(pattern);
  if (found.length > 0) return found.sort((a, b) => a.localeCompare(b, 'en', { numeric: true }));
  throw new LogFormatError([
    {
      code: 'no-file',
      source: pattern,
      message: facts?.isDirectory() === true ? 'there is no log in this folder' : 'no file fits this pattern',
      remedy: `logs end with ${LOG_ENDINGS.join(', ')}, packed or not; check the path, it is looked for from ${process.cwd()}`,
    },
  ]);
}

async function fitting(pattern: string): Promise<string[]> {
  const { root } = parse(pattern);
  const parts = pattern.slice(root.length).split(/[/\\]+/);
  let places: string[] = [root === '' ? '.' : root];
  for (const [index, part] of parts.entries()) {
    const isLast = index === parts.length - 1;
    const next = new Set<string>();
    for (const place of places) {
      if (part === '**') for (const folder of await foldersBelow(place)) next.add(folder);
      else for (const name of await namesFitting(place, part, isLast)) next.add(join(place, name));
    }
    places = [...next];
  }
  return places;
}

/** The folder itself and all folders below it. */
async function foldersBelow(folder: string): Promise<string[]> {
  const entries = await readdir(folder, { withFileTypes: true }).catch(() => []);
  const inner = await Promise.all(
    entries.filter((entry) => entry.isDirectory()).map(({ name }) => foldersBelow(join(folder, name))),
  );
  return [folder, ...inner.flat()];
}

async function namesFitting(folder: string, part: string, isFile: boolean): Promise<string[]> {
  if (part === '.' || part === '..') return [part];
  const entries = await readdir(folder, { withFileTypes: true }).catch(() => []);
  const escaped = part.replaceAll(/[.+^${}()|[\]\\]/g, '\\$&');
  const shape = new RegExp(`^${escaped.replaceAll('*', '.*').replaceAll('?', '.')}$`);
  const isConditions = (name: string): boolean => name.endsWith('.conditions.json');
  return entries
    .filter((entry) => (isFile ? !entry.isDirectory() : entry.isDirectory() || entry.isSymbolicLink()))
    .map(({ name }) => name)
    .filter(
      (name) => shape.test(name) && !isConditions(name) && (!name.startsWith('.') || part.startsWith('.')),
    );
}
