import { execFile } from 'node:child_process';
import {
  cp,
  mkdir,
  mkdtemp,
  readdir,
  readFile,
  realpath,
  rm,
  stat,
  symlink,
  writeFile,
} from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { promisify } from 'node:util';
import { REPOSITORY } from '../checks/repository.js';

const run = promisify(execFile);

/** What npm says about a packed package. */
export interface PackedFiles {
  readonly paths: readonly string[];
  readonly packedBytes: number;
  readonly unpackedBytes: number;
}

/** A fresh project in which the packed package is installed. */
export interface PackedProject {
  readonly folder: string;
  /** The installed package. */
  readonly packageFolder: string;
  readonly files: PackedFiles;
  /** Runs a program of this Node in the project; fails with all it printed. */
  node(...args: readonly string[]): Promise<{ readonly stdout: string; readonly stderr: string }>;
  write(name: string, text: string): Promise<string>;
  remove(): Promise<void>;
}

/**
 * Packs the built package as npm does and installs it into an empty project, without the network: its own dependencies,
 * and nothing else of this checkout, are links to what is installed here. One that is not declared is not found.
 */
export async function packedProject(): Promise<PackedProject> {
  const place = await realpath(await mkdtemp(join(tmpdir(), 'kpw-packed-')));
  const folder = join(place, 'project');
  const packageFolder = join(folder, 'node_modules', 'kelvin-per-watt');
  await mkdir(packageFolder, { recursive: true });
  const packed = await run(
    'npm',
    ['pack', '--ignore-scripts', '--json', '--offline', '--pack-destination', place],
    { cwd: REPOSITORY, maxBuffer: 64e6, shell: process.platform === 'win32' },
  );
  const [report] = JSON.parse(packed.stdout) as [PackReport];
  await run('tar', ['-xzf', join(place, report.filename), '-C', place]);
  await cp(join(place, 'package'), packageFolder, { recursive: true });
  const { dependencies } = await manifestOf(packageFolder);
  for (const name of Object.keys(dependencies ?? {})) {
    const link = join(folder, 'node_modules', name);
    await mkdir(dirname(link), { recursive: true });
    await symlink(join(REPOSITORY, 'node_modules', name), link, 'junction');
  }
  await writeFile(join(folder, 'package.json'), '{ "name": "fresh", "private": true, "type": "module" }\n');
  return {
    folder,
    packageFolder,
    files: {
      paths: report.files.map(({ path }) => path),
      packedBytes: report.size,
      unpackedBytes: report.unpackedSize,
    },
    node: (...args) => run(process.execPath, [...args], { cwd: folder, maxBuffer: 64e6 }),
    async write(name, text) {
      const path = join(folder, name);
      await mkdir(dirname(path), { recursive: true });
      await writeFile(path, text);
      return path;
    },
    remove: () => rm(place, { recursive: true, force: true }),
  };
}

/**
 * Bytes of every package that installing the given ones brings, by name and version: dependencies and the optional ones
 * that are there, theirs too, each counted once. Peers that are optional are not installed and do not count.
 */
export async function installedBytes(names: readonly string[]): Promise<ReadonlyMap<string, number>> {
  const sizes = new Map<string, number>();
  const seen = new Set<string>();
  const visit = async (name: string, from: string): Promise<void> => {
    const folder = await folderOf(name, from);
    if (folder === undefined || seen.has(folder)) return;
    seen.add(folder);
    const manifest = await manifestOf(folder);
    const own = await bytesOf(folder);
    sizes.set(`${name} ${manifest.version}`, own);
    const peers = Object.keys(manifest.peerDependencies ?? {}).filter(
      (peer) => manifest.peerDependenciesMeta?.[peer]?.optional !== true,
    );
    const brought = { ...manifest.dependencies, ...manifest.optionalDependencies };
    for (const next of [...Object.keys(brought), ...peers]) await visit(next, folder);
  };
  for (const name of names) {
    if ((await folderOf(name, REPOSITORY)) === undefined)
      throw new Error(`installedBytes: ${name} is not installed; run npm ci`);
    await visit(name, REPOSITORY);
  }
  return sizes;
}

interface PackReport {
  readonly filename: string;
  readonly size: number;
  readonly unpackedSize: number;
  readonly files: readonly { readonly path: string }[];
}

interface Manifest {
  readonly version: string;
  readonly bin?: Readonly<Record<string, string>>;
  readonly dependencies?: Readonly<Record<string, string>>;
  readonly optionalDependencies?: Readonly<Record<string, string>>;
  readonly peerDependencies?: Readonly<Record<string, string>>;
  readonly peerDependenciesMeta?: Readonly<Record<string, { readonly optional?: boolean }>>;
  readonly scripts?: Readonly<Record<string, string>>;
}

/** The package.json of a folder. */
export async function manifestOf(folder: string): Promise<Manifest> {
  return JSON.parse(await readFile(join(folder, 'package.json'), 'utf8')) as Manifest;
}

/** Where a package lies for one who asks from a folder. */
async function folderOf(name: string, from: string): Promise<string | undefined> {
  for (const place of createRequire(join(from, 'package.json')).resolve.paths(name) ?? []) {
    const folder = join(place, name);
    if ((await stat(join(folder, 'package.json')).catch(() => undefined)) !== undefined) return folder;
  }
  return undefined;
}

/** Bytes of a folder's own files; packages inside it are counted by their own names. */
async function bytesOf(folder: string): Promise<number> {
  let bytes = 0;
  for (const entry of await readdir(folder, { withFileTypes: true })) {
    if (entry.name === 'node_modules') continue;
    const path = join(folder, entry.name);
    if (entry.isDirectory()) bytes += await bytesOf(path);
    else if (entry.isFile()) bytes += (await stat(path)).size;
  }
  return bytes;
}
