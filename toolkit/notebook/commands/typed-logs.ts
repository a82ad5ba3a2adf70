import { stat } from 'node:fs/promises';
import { basename, isAbsolute, relative, resolve } from 'node:path';
import { ArgumentError } from '../../errors.js';
import { logFilesOf } from '../../logs/read/log-files-node.js';

/**
 * The logs that the arguments of a command stand for, named the way they were typed: a file is itself, a folder all
 * logs in it, and a pattern the files that fit, since not every shell replaces patterns by names.
 *
 * @throws LogFormatError if a folder holds no log or no file fits a pattern
 * @throws ArgumentError if a file is no log but what is read with one
 */
export async function typedLogs(
  typed: readonly string[],
  typedIn: string,
  caller: string,
): Promise<readonly string[]> {
  const found = await Promise.all(typed.map((text) => logsOf(text, typedIn)));
  const logs = found.flat();
  const conditions = logs.find((path) => path.endsWith('.conditions.json'));
  if (conditions === undefined) return logs;
  throw new ArgumentError({
    caller,
    argument: 'logs',
    expected: 'logs only: conditions files are read with the log beside them',
    received: basename(conditions),
    remedy: 'leave it out: give the folder, or a pattern that fits the logs alone, such as my-logs/*.csv',
  });
}

async function logsOf(text: string, typedIn: string): Promise<readonly string[]> {
  const full = resolve(typedIn, text);
  const there = await stat(full).catch(() => undefined);
  const standsForSeveral = there === undefined ? /[*?]/.test(text) : there.isDirectory();
  if (!standsForSeveral) return [text];
  const files = await logFilesOf(full);
  return isAbsolute(text) ? files : files.map((path) => relative(typedIn, path));
}
