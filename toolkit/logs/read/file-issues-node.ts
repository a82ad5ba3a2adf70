import type { Stats } from 'node:fs';
import { LogFormatError, type LogIssue } from '../log-format-error.js';

/** Why a file cannot be read, with the remedy. */
export function fileError(error: unknown, source: string, what: string): LogFormatError {
  const code = codeOf(error);
  const issue: LogIssue =
    code === 'ENOENT' || code === 'ENOTDIR'
      ? {
          code: 'no-file',
          message: 'there is no such file',
          remedy: `check the path of ${what}; it is looked for from ${process.cwd()}`,
        }
      : code === 'EACCES' || code === 'EPERM'
        ? {
            code: 'no-permission',
            message: `${what} may not be read`,
            remedy: 'give yourself the right to read it',
          }
        : {
            code: 'unreadable-file',
            message: `${what} cannot be read (${error instanceof Error ? error.message : String(error)})`,
          };
  return new LogFormatError([{ ...issue, source }]);
}

/** Refuses what is no file before it is opened: a pipe that nobody writes to would be waited for without end. */
export function requireFile(facts: Stats, source: string, what: string): void {
  if (facts.isFile()) return;
  throw new LogFormatError([
    facts.isDirectory()
      ? {
          code: 'directory',
          source,
          message: `this is a directory, not ${what}`,
          remedy: 'give the path of one file, or of all its files',
        }
      : {
          code: 'no-plain-file',
          source,
          message: `this is a pipe or a device, not ${what}`,
          remedy: 'give the path of a file; read what comes through a pipe with parseRunStream',
        },
  ]);
}

/** The system's name of a failure, such as `ENOENT`. */
export function codeOf(error: unknown): string | undefined {
  return error instanceof Error && 'code' in error ? String(error.code) : undefined;
}
