import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** Folder of the repository, with a slash at its end. */
export const REPOSITORY: string = fileURLToPath(new URL('../../', import.meta.url));

/** A file and its text; the path is relative to the repository, with forward slashes. */
export interface SourceFile {
  readonly path: string;
  readonly text: string;
}

/** Paths that git tracks or would track: what is committed and what is new and not ignored. */
export function repositoryPaths(...under: readonly string[]): readonly string[] {
  const listed = execFileSync(
    'git',
    ['ls-files', '-z', '--cached', '--others', '--exclude-standard', '--deduplicate', '--', ...under],
    { cwd: REPOSITORY, encoding: 'utf8', maxBuffer: 64 * 1024 * 1024 },
  );
  const deleted = new Set(
    execFileSync('git', ['ls-files', '-z', '--deleted', '--', ...under], {
      cwd: REPOSITORY,
      encoding: 'utf8',
    }).split('\0'),
  );
  return listed.split('\0').filter((path) => path !== '' && !deleted.has(path));
}

/** TypeScript files under these folders, with their texts. */
export function typeScriptFiles(...under: readonly string[]): readonly SourceFile[] {
  return repositoryPaths(...under)
    .filter((path) => /\.[cm]?tsx?$/.test(path))
    .map((path) => ({ path, text: readFileSync(REPOSITORY + path, 'utf8') }));
}
