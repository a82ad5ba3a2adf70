import { mkdir, readFile, stat } from 'node:fs/promises';
import { basename, dirname, extname, join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { ArgumentError } from '../../errors.js';
import type { Figure } from '../../figures/figure.js';
import { writeReport } from '../../report/page/write-report-node.js';
import { stillPicture } from '../../report/still/still-picture.js';
import { writeAtomically } from '../app/server/atomic-write.js';
import { notebookFromDisk } from '../app/server/notebook-on-disk.js';
import { loadMathmlOfTex } from '../document/mathml-of-tex.js';
import type { Notebook } from '../document/notebook-file.js';
import { reportOfNotebook } from '../document/notebook-report.js';
import { failureInWords, runNotebook, type Surroundings, withClearFailures } from './notebook-command.js';
import { notebookText } from './notebook-text.js';
import { openPage } from './open-page.js';
import { requireFreePlace } from './page-place.js';

const caller = 'npm run report';

const help = `One page from a notebook: its texts, pictures, tables and panels, alive in any browser without a network, and ready to print.

  npm run report -- my-notebook.ipynb

  --out page.html      where to write it; otherwise beside the notebook, under its name
  --as-saved           run nothing: take the outputs that are saved in the notebook
  --figures folder     also write every picture as SVG into this folder, named after its title
  --timeout 600        seconds a cell may take
  --open               open the page in the browser
  --help               this text

Code is left out, except of cells tagged your-logs; cells tagged notebook-only are left out. From outputs that are saved
in the file nothing runs: pictures and panels are made again from their data.`;

interface ReportOptions {
  readonly notebook: string;
  readonly out?: string;
  readonly asSaved: boolean;
  readonly figures?: string;
  readonly cellTimeoutS: number;
  readonly open: boolean;
}

/** `npm run report`: a notebook as one page that stands by itself. Returns the exit code. */
export async function runReport(args: readonly string[], surroundings: Surroundings): Promise<number> {
  return withClearFailures(async () => {
    const options = optionsOf(args);
    if (options !== 'help') return report(options, surroundings);
    surroundings.print(help);
    return 0;
  }, surroundings.printError);
}

async function report(options: ReportOptions, surroundings: Surroundings): Promise<number> {
  const { typedIn, print, printError, progress } = surroundings;
  const path = resolve(typedIn, options.notebook);
  const page = resolve(typedIn, options.out ?? join(dirname(path), `${basename(path, extname(path))}.html`));
  const place = await requireFreePlace(page, { create: false, caller });
  const saved = notebookFromDisk(
    await notebookText(path, { asTyped: options.notebook, caller }),
    basename(path),
    false,
  );
  if (options.asSaved && !hasOutputs(saved))
    print(
      `No output is saved in ${basename(path)}: the page holds its texts only; leave out --as-saved to run it.`,
    );
  const { notebook, failure } = options.asSaved
    ? { notebook: saved, failure: undefined }
    : await runNotebook(saved, {
        workingDirectory: dirname(path),
        cellTimeoutS: options.cellTimeoutS,
        progress,
      });
  if (failure !== undefined) {
    printError(`${failureInWords(failure)}\nNo page was written.`);
    return 1;
  }
  const { title, items, leftOut } = reportOfNotebook(notebook, basename(path, extname(path)));
  const mathml = loadMathmlOfTex();
  await writeReport(page, items, {
    title,
    subtitle: `${basename(path)}, ${options.asSaved ? 'with the outputs saved in it; nothing was run for this page' : 'run from top to bottom for this page'}.`,
    ...(mathml === undefined ? {} : { mathml }),
  });
  for (const reason of leftOut) print(reason);
  if (options.figures !== undefined) {
    const figures = items.flatMap((item) => (item.kind === 'figure' ? [item.figure] : []));
    const folder = resolve(typedIn, options.figures);
    await writeFigures(figures, folder);
    print(`${figures.length === 1 ? 'One picture' : `${figures.length} pictures`} as SVG: ${folder}`);
  }
  print(`Page${place === 'replaces' ? ' (an earlier one was replaced)' : ''}: ${page}`);
  if (options.open && (await openPage(page))) print('Opened in your browser.');
  return 0;
}

function hasOutputs({ cells }: Notebook): boolean {
  return cells.some(({ outputs = [] }) => outputs.length > 0);
}

/** One drawing per figure, named after its title; the second of one name gets a number. */
async function writeFigures(figures: readonly Figure[], folder: string): Promise<void> {
  await mkdir(folder, { recursive: true });
  const taken = new Set<string>();
  for (const figure of figures) {
    const name = fileName(figure.layout.meta.title);
    let path = join(folder, `${name}.svg`);
    for (let number = 2; taken.has(path); number++) path = join(folder, `${name}-${number}.svg`);
    taken.add(path);
    await requireOwnPicture(path);
    await writeAtomically(path, `${stillPicture(figure)}\n`);
  }
}

/** A file name that every system takes. */
function fileName(title: string): string {
  const words = title
    .toLowerCase()
    .replaceAll(/[^\p{L}\p{N}]+/gu, '-')
    .replaceAll(/^-|-$/g, '');
  return words.slice(0, 80) || 'figure';
}

/** Refuses to write over a file that is no picture of ours. */
async function requireOwnPicture(path: string): Promise<void> {
  const there = await stat(path).catch(() => undefined);
  if (there === undefined) return;
  const start = there.isFile() ? (await readFile(path, 'utf8')).slice(0, 400) : '';
  if (start.startsWith('<svg xmlns="http://www.w3.org/2000/svg"') && start.includes('role="img"')) return;
  throw new ArgumentError({
    caller,
    argument: '--figures',
    expected: 'a folder without other files of these names',
    received: path,
    remedy: 'name another folder',
  });
}

function optionsOf(args: readonly string[]): ReportOptions | 'help' {
  const { values, positionals } = parsed(args);
  if (values.help === true) return 'help';
  const [notebook, ...more] = positionals;
  if (notebook === undefined || more.length > 0)
    throw new ArgumentError({
      caller,
      argument: 'notebook',
      expected: 'one notebook file',
      received: positionals.length === 0 ? 'nothing' : positionals.join(' '),
      remedy: 'npm run report -- my-notebook.ipynb',
    });
  const cellTimeoutS = Number(values.timeout ?? '600');
  if (!(cellTimeoutS > 0))
    throw new ArgumentError({
      caller,
      argument: '--timeout',
      expected: 'a number of seconds above 0',
      received: values.timeout,
    });
  return {
    notebook,
    ...(values.out === undefined ? {} : { out: values.out }),
    asSaved: values['as-saved'] === true,
    ...(values.figures === undefined ? {} : { figures: values.figures }),
    cellTimeoutS,
    open: values.open === true,
  };
}

function parsed(args: readonly string[]) {
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: true,
      options: {
        out: { type: 'string' },
        'as-saved': { type: 'boolean' },
        figures: { type: 'string' },
        timeout: { type: 'string' },
        open: { type: 'boolean' },
        help: { type: 'boolean' },
      },
    });
  } catch (problem) {
    throw new ArgumentError({
      caller,
      argument: 'options',
      expected: 'known and complete',
      received: problem instanceof Error ? problem.message.split('. ')[0] : problem,
      remedy: 'npm run report -- --help lists them',
    });
  }
}
