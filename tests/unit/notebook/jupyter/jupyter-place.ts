import { type ExecFileOptions, execFile } from 'node:child_process';
import { access, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { expect } from 'vitest';
import type { Notebook } from '../../../../toolkit/notebook/document/notebook-file.js';

/** The interpreter whose Jupyter clients Debian packages; the one in PATH may be another. */
export const python = '/usr/bin/python3';
export const run = promisify(execFile) as (
  file: string,
  args: readonly string[],
  options?: ExecFileOptions,
) => Promise<{ readonly stdout: string; readonly stderr: string }>;

export const hasModule = async (name: string): Promise<boolean> =>
  run(python, ['-c', `import ${name}`]).then(
    () => true,
    () => false,
  );

/** A folder in which our kernel is registered for Jupyter, apart from everything of the person who runs the tests. */
export interface JupyterPlace {
  readonly folder: string;
  readonly environment: NodeJS.ProcessEnv;
  /** Writes a notebook of our kernel with these cells; resolves to its path. */
  writeNotebook(name: string, cells: readonly string[]): Promise<string>;
  remove(): Promise<void>;
}

export async function jupyterPlace(): Promise<JupyterPlace> {
  const folder = await mkdtemp(join(tmpdir(), 'jupyter-'));
  const environment = {
    ...process.env,
    JUPYTER_DATA_DIR: join(folder, 'data'),
    JUPYTER_CONFIG_DIR: join(folder, 'config'),
    JUPYTER_RUNTIME_DIR: join(folder, 'runtime'),
    IPYTHONDIR: join(folder, 'ipython'),
  };
  await mkdir(join(folder, 'runtime'));
  const { stdout } = await run(process.execPath, ['dist/toolkit/notebook/jupyter/register.js'], {
    env: environment,
  });
  const specPath = join(folder, 'data', 'kernels', 'kelvin-per-watt', 'kernel.json');
  expect(stdout).toContain(specPath);
  const { argv } = JSON.parse(await readFile(specPath, 'utf8')) as { readonly argv: readonly string[] };
  for (const program of argv.slice(0, 2)) await access(program);
  return {
    folder,
    environment,
    async writeNotebook(name, cells) {
      const notebook: Notebook = {
        nbformat: 4,
        nbformat_minor: 5,
        metadata: {
          kernelspec: { display_name: 'x', language: 'typescript', name: 'kelvin-per-watt' },
        },
        cells: cells.map((source, index) => ({
          cell_type: 'code',
          id: `cell-${index}`,
          metadata: {},
          source,
          outputs: [],
          execution_count: null,
        })),
      };
      const path = join(folder, name);
      await writeFile(path, JSON.stringify(notebook));
      return path;
    },
    remove: () => rm(folder, { recursive: true, force: true }),
  };
}
