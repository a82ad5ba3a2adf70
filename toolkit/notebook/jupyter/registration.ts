import { copyFile, mkdir, readdir, readFile, rename, rm, rmdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { ArgumentError } from '../../errors.js';
import { type Kernelspec, kernelName } from './kernelspec.js';

/** The files of our kernelspec: the spec and its pictures. */
const specFile = 'kernel.json';
const logoFiles = ['logo-32x32.png', 'logo-64x64.png', 'logo-svg.svg'] as const;
const sourceOfLogo: Readonly<Record<(typeof logoFiles)[number], string>> = {
  'logo-32x32.png': 'logo-32x32.png',
  'logo-64x64.png': 'logo-64x64.png',
  'logo-svg.svg': 'logo.svg',
};

/** Writes the kernelspec with its logo; resolves to the files written. Replaces an earlier one of ours only. */
export async function register(
  folder: string,
  options: { readonly spec: Kernelspec; readonly logoFolder: string },
): Promise<readonly string[]> {
  await requireOurs(folder);
  await mkdir(folder, { recursive: true });
  for (const name of logoFiles)
    await copyFile(join(options.logoFolder, sourceOfLogo[name]), join(folder, name));
  // Last and in one step: Jupyter never sees half of it.
  const path = join(folder, specFile);
  await writeFile(`${path}.new`, `${JSON.stringify(options.spec, null, 2)}\n`);
  await rename(`${path}.new`, path);
  return [specFile, ...logoFiles].map((name) => join(folder, name));
}

/** Takes away what `register` wrote; resolves to the files that were there. Whatever else is in the folder stays. */
export async function unregister(folder: string): Promise<readonly string[]> {
  const names = await requireOurs(folder);
  const ours = names.filter((name) => name === specFile || logoFiles.some((logo) => logo === name));
  for (const name of ours) await rm(join(folder, name));
  if (names.length > 0 && ours.length === names.length) await rmdir(folder);
  return ours.map((name) => join(folder, name));
}

/** The names in the folder; refuses a kernelspec that something else wrote. */
async function requireOurs(folder: string): Promise<readonly string[]> {
  const names: readonly string[] = await readdir(folder).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return [];
    throw error;
  });
  if (!names.includes(specFile)) return names;
  const text = await readFile(join(folder, specFile), 'utf8');
  if (!isOurs(text))
    throw new ArgumentError({
      caller: 'npm run jupyter:register',
      argument: kernelName,
      expected: 'a kernelspec of ours or none: this one starts another program',
      received: join(folder, specFile),
      remedy: 'move that folder away first',
    });
  return names;
}

function isOurs(text: string): boolean {
  try {
    const { argv } = JSON.parse(text) as { readonly argv?: unknown };
    return Array.isArray(argv) && argv.some((part) => /zeromq-process\.js$/.test(String(part)));
  } catch {
    return false;
  }
}
