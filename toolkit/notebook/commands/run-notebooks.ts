// `npm run notebooks`: runs notebooks from top to bottom without a browser; any failure fails the command.
import { readdir, writeFile } from 'node:fs/promises';
import { basename, dirname, join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { executeNotebook, type NotebookFailure } from '../document/execute-notebook.js';
import { formatNotebook, parseNotebook } from '../document/notebook-file.js';
import { startKernel } from '../kernel/kernel.js';
import { notebookText } from './notebook-text.js';
import { withHelpNamed } from './script-options.js';

const help = `Runs notebooks from top to bottom, without a browser.

  npm run notebooks                        all notebooks of the notebooks folder, workshop included
  npm run notebooks -- path/to/a.ipynb     these notebooks

  --write           keep the outputs in the notebook files (the committed ones have none)
  --timeout 300     seconds a cell may take
  --help            this text`;

const notebooksFolder = fileURLToPath(new URL('../../../../notebooks', import.meta.url));
const typedIn = process.env['INIT_CWD'] ?? process.cwd();

async function main(): Promise<number> {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: {
      write: { type: 'boolean', default: false },
      timeout: { type: 'string', default: '300' },
      help: { type: 'boolean', default: false },
    },
  });
  if (values.help) {
    console.log(help);
    return 0;
  }
  const cellTimeoutS = Number(values.timeout);
  if (!(cellTimeoutS > 0))
    throw new Error(`--timeout must be a number of seconds above 0 (received ${values.timeout})`);
  const paths =
    positionals.length > 0 ? positionals.map((path) => resolve(typedIn, path)) : await allNotebooks();
  let failures = 0;
  for (const path of paths) if (!(await runOne(path, cellTimeoutS, values.write))) failures += 1;
  console.log(
    failures === 0
      ? `${paths.length} of ${paths.length} ran through`
      : `${failures} of ${paths.length} failed`,
  );
  return failures === 0 ? 0 : 1;
}

async function allNotebooks(): Promise<string[]> {
  // Hidden folders hold copies that editors keep.
  const names = (await readdir(notebooksFolder, { recursive: true }))
    .filter((name) => name.endsWith('.ipynb') && !/(^|[/\\])\./.test(name))
    .sort();
  if (names.length === 0) throw new Error(`no notebook in ${notebooksFolder}`);
  return names.map((name) => join(notebooksFolder, name));
}

async function runOne(path: string, cellTimeoutS: number, write: boolean): Promise<boolean> {
  const text = await notebookText(path, { asTyped: relative(typedIn, path), caller: 'npm run notebooks' });
  console.log(basename(path));
  const notebook = parseNotebook(text, basename(path));
  const kernel = await startKernel({ workingDirectory: dirname(path) });
  try {
    const execution = await executeNotebook(notebook, kernel, {
      cellTimeoutS,
      onProgress({ cell, cellCount, durationS, source, status }) {
        const place = `${String(cell).padStart(3)}/${cellCount}`;
        const time = `${durationS.toFixed(1)} s`.padStart(7);
        console.log(`${place} ${time}  ${status === 'ok' ? '' : 'FAILED  '}${firstLine(source)}`);
      },
    });
    if (write) await writeFile(path, formatNotebook(execution.notebook));
    if (execution.failure === undefined) return true;
    console.error(failureInWords(basename(path), execution.failure));
    return false;
  } finally {
    await kernel.stop();
  }
}

function failureInWords(name: string, failure: NotebookFailure): string {
  const { cell, line, error } = failure;
  const place = line === undefined ? `cell ${cell}` : `cell ${cell}, line ${line}`;
  return [
    `${name}, ${place}: ${error.ename}: ${error.evalue}`,
    ...error.traceback.map((text) => `  ${text}`),
  ].join('\n');
}

function firstLine(source: string): string {
  const line = source.split('\n').find((text) => text.trim() !== '') ?? '';
  return line.length > 70 ? `${line.slice(0, 69)}…` : line;
}

main().then(
  (exitCode) => {
    process.exitCode = exitCode;
  },
  (problem: unknown) => {
    const error = withHelpNamed('npm run notebooks', problem);
    console.error(error instanceof Error ? error.message : String(error));
    process.exitCode = 1;
  },
);
