import { executeNotebook, type NotebookFailure } from '../document/execute-notebook.js';
import type { Notebook } from '../document/notebook-file.js';
import { startKernel } from '../kernel/kernel.js';

/** What a command needs from the place it runs in. */
export interface Surroundings {
  /** Folder the command was typed in. */
  readonly typedIn: string;
  readonly environment: Readonly<Record<string, string | undefined>>;
  readonly print: (line: string) => void;
  readonly printError: (line: string) => void;
  /** Shows what is under way, on a line that the next call replaces. */
  readonly progress?: (text: string) => void;
}

// Failures that are about the person's data or request: their message says it all, a stack would bury it.
const clearNames = new Set(['ArgumentError', 'LogFormatError', 'NumericalError', 'KernelError']);

/** Runs a command to its exit code; a failure that is about the person's request is printed, anything else is thrown. */
export async function withClearFailures(
  command: () => Promise<number>,
  printError: (message: string) => void,
): Promise<number> {
  try {
    return await command();
  } catch (error) {
    if (!(error instanceof Error) || !clearNames.has(error.name)) throw error;
    printError(error.message);
    return 1;
  }
}

/** Runs a notebook in a kernel of its own, showing the progress. */
export async function runNotebook(
  notebook: Notebook,
  options: {
    readonly workingDirectory: string;
    readonly cellTimeoutS: number;
    readonly progress: ((text: string) => void) | undefined;
  },
): Promise<{ readonly notebook: Notebook; readonly failure?: NotebookFailure }> {
  const { workingDirectory, cellTimeoutS, progress } = options;
  progress?.('starting the notebook kernel');
  const kernel = await startKernel({ workingDirectory });
  try {
    return await executeNotebook(notebook, kernel, {
      cellTimeoutS,
      onProgress: ({ cell, cellCount }) => progress?.(`cell ${cell} of ${cellCount}`),
    });
  } finally {
    await kernel.stop();
    progress?.('');
  }
}

/** Which cell failed and why; where the person's data or request is at fault only why. */
export function failureInWords({ error, cell, line }: NotebookFailure): string {
  if (clearNames.has(error.ename)) return error.evalue;
  const place = line === undefined ? `cell ${cell}` : `cell ${cell}, line ${line}`;
  return [`The notebook failed in ${place}: ${error.ename}: ${error.evalue}`, ...error.traceback].join('\n');
}
