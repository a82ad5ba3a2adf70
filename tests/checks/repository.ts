import { execFileSync } from 'node:child_process';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** Folder of the repository, with a slash at its end. */
export const REPOSITORY: string = fileURLToPath(new URL('../../', import.meta.url));

/** A file and its text; the path is relative to the repository, with forward slashes. */
export interface SourceFile {
  readonly path: string;
  readonly text: string;
}

/** Paths of the repository's own files: what git tracks, and what is new and not ignored. */
export function repositoryPaths(...under: readonly string[]): readonly string[] {
  paths ??= pathsFromGit() ?? pathsFromDisk();
  if (under.length === 0) return paths;
  return paths.filter((path) => under.some((folder) => path.startsWith(`${folder}/`)));
}

let paths: readonly string[] | undefined;

/** Undefined where there is no git, or the files came without their history. */
function pathsFromGit(): readonly string[] | undefined {
  const list = (...options: readonly string[]): readonly string[] =>
    execFileSync('git', ['ls-files', '-z', ...options], {
      cwd: REPOSITORY,
      encoding: 'utf8',
      maxBuffer: 64 * 1024 * 1024,
      stdio: ['ignore', 'pipe', 'ignore'],
    })
      .split('\0')
      .filter((path) => path !== '');
  if (!existsSync(`${REPOSITORY}.git`)) return undefined;
  try {
    const deleted = new Set(list('--deleted'));
    return list('--cached', '--others', '--exclude-standard', '--deduplicate').filter(
      (path) => !deleted.has(path),
    );
  } catch {
    return undefined;
  }
}

/** Everything on disk but what `.gitignore` names; its lines are plain names, or `*` and an ending. */
export function pathsFromDisk(): readonly string[] {
  const patterns = readFileSync(`${REPOSITORY}.gitignore`, 'utf8')
    .split('\n')
    .map((line) => line.trim().replace(/^\/|\/$/g, ''))
    .filter((line) => line !== '');
  const isIgnored = (name: string): boolean =>
    name === '.git' ||
    patterns.some((pattern) =>
      pattern.startsWith('*') ? name.endsWith(pattern.slice(1)) : name === pattern,
    );
  const walk = (folder: string): readonly string[] =>
    readdirSync(REPOSITORY + folder, { withFileTypes: true }).flatMap((entry) => {
      const path = folder + entry.name;
      if (isIgnored(entry.name)) return [];
      return entry.isDirectory() ? walk(`${path}/`) : [path];
    });
  return walk('');
}

/** TypeScript files under these folders, with their texts. */
export function typeScriptFiles(...under: readonly string[]): readonly SourceFile[] {
  return repositoryPaths(...under)
    .filter((path) => /\.[cm]?tsx?$/.test(path))
    .map((path) => ({ path, text: readFileSync(REPOSITORY + path, 'utf8') }));
}
