import { mkdir, readFile, stat } from 'node:fs/promises';
import { basename, dirname, resolve } from 'node:path';
import { ArgumentError } from '../../errors.js';
import { generatorTag } from '../../report/page/report-html.js';

/**
 * Where the page goes: where `--out` says; for the demo into the build folder; for own logs beside the first of them,
 * where the people who keep the logs will look for it.
 */
export function pagePath(input: {
  readonly out?: string;
  readonly logs: readonly string[];
  /** Folder the command was typed in. */
  readonly typedIn: string;
  readonly demoFolder: string;
}): string {
  if (input.out !== undefined) return resolve(input.typedIn, input.out);
  const [first] = input.logs;
  if (first === undefined) return resolve(input.demoFolder, 'from-logs-to-a-cap.html');
  return resolve(dirname(resolve(input.typedIn, first)), 'from-logs-to-a-cap.html');
}

/**
 * Refuses to write over anything that is not an earlier page of ours; `caller` is the command, `create` makes a missing folder first. Resolves
 * to whether there is such an earlier page.
 */
export async function requireFreePlace(
  path: string,
  options: { readonly create: boolean; readonly caller?: string },
): Promise<'new' | 'replaces'> {
  if (options.create) await mkdir(dirname(path), { recursive: true });
  const refuse = (expected: string, received: string): never => {
    throw new ArgumentError({
      caller: options.caller ?? 'npm run decide',
      argument: '--out',
      expected,
      received,
      remedy: 'name another file, for example --out page.html',
    });
  };
  const there = await stat(path).catch(() => undefined);
  if (there === undefined) {
    const folder = await stat(dirname(path)).catch(() => undefined);
    if (folder?.isDirectory() !== true) refuse('in a folder that exists', dirname(path));
    return 'new';
  }
  if (!there.isFile()) refuse('a file', path);
  if (!/\.html?$/i.test(basename(path)) || !(await readFile(path, 'utf8')).includes(generatorTag))
    refuse('a new file or an earlier page of ours: this file was written by something else', path);
  return 'replaces';
}
