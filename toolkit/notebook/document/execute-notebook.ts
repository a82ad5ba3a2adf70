import type { Kernel } from '../kernel/kernel.js';
import type { ErrorOutput } from '../kernel/messages/outputs.js';
import type { Notebook, NotebookCell } from './notebook-file.js';

/** One code cell has been run. */
export interface CellProgress {
  /** Number of the code cell, from 1; the number a notebook page shows beside it. */
  readonly cell: number;
  readonly cellCount: number;
  readonly durationS: number;
  readonly source: string;
  readonly status: 'ok' | 'error';
}

/** The first cell that failed; the cells after it were not run. */
export interface NotebookFailure {
  readonly cell: number;
  /** Line in the cell, from 1, where the failure names one. */
  readonly line?: number;
  readonly error: ErrorOutput;
}

/** The notebook with its outputs, and the failure if there was one. */
export interface NotebookExecution {
  readonly notebook: Notebook;
  readonly failure?: NotebookFailure;
}

/** Runs the code cells from top to bottom in a kernel and stops at the first failure. */
export async function executeNotebook(
  notebook: Notebook,
  kernel: Kernel,
  options: { readonly cellTimeoutS?: number; readonly onProgress?: (progress: CellProgress) => void } = {},
): Promise<NotebookExecution> {
  const cellCount = notebook.cells.filter(isRunnable).length;
  const cells: NotebookCell[] = [];
  let failure: NotebookFailure | undefined;
  let cell = 0;
  for (const next of notebook.cells) {
    if (!isRunnable(next) || failure !== undefined) {
      cells.push(next.cell_type === 'code' ? { ...next, outputs: [], execution_count: null } : next);
      continue;
    }
    cell += 1;
    const startMs = performance.now();
    const { status, outputs } = await kernel.execute(next.source, {
      ...(options.cellTimeoutS === undefined ? {} : { timeoutS: options.cellTimeoutS }),
    });
    cells.push({ ...next, outputs, execution_count: cell });
    if (status === 'error') {
      const error = outputs.find((output): output is ErrorOutput => output.output_type === 'error');
      failure = failureOf(cell, error ?? unnamedError);
    }
    options.onProgress?.({
      cell,
      cellCount,
      durationS: (performance.now() - startMs) / 1000,
      source: next.source,
      status,
    });
  }
  return { notebook: { ...notebook, cells }, ...(failure === undefined ? {} : { failure }) };
}

const unnamedError: ErrorOutput = {
  output_type: 'error',
  ename: 'Error',
  evalue: 'the cell failed without saying why',
  traceback: [],
};

function failureOf(cell: number, error: ErrorOutput): NotebookFailure {
  const line = new RegExp(`cell ${cell}, line (\\d+)`).exec(error.traceback.join('\n'))?.[1];
  return { cell, error, ...(line === undefined ? {} : { line: Number(line) }) };
}

function isRunnable(cell: NotebookCell): boolean {
  return cell.cell_type === 'code' && cell.source.trim() !== '';
}
