import { ArgumentError } from '../../errors.js';
import type { CellOutput } from '../kernel/messages/outputs.js';

/** A cell of a notebook; texts are whole strings here, lists of lines on disk. */
export interface NotebookCell {
  readonly cell_type: 'code' | 'markdown' | 'raw';
  readonly id?: string;
  readonly metadata: { readonly tags?: readonly string[]; readonly [key: string]: unknown };
  readonly source: string;
  readonly outputs?: readonly CellOutput[];
  readonly execution_count?: number | null;
}

/** A notebook in nbformat 4, the JSON file format of the Jupyter project. */
export interface Notebook {
  readonly nbformat: 4;
  readonly nbformat_minor: number;
  readonly metadata: Readonly<Record<string, unknown>>;
  readonly cells: readonly NotebookCell[];
}

/** Reads a notebook from the text of an .ipynb file; `name` is used in messages. */
export function parseNotebook(text: string, name: string): Notebook {
  const refuse = (received: unknown, what = 'JSON with a list of cells'): never => {
    throw new ArgumentError({
      caller: 'parseNotebook',
      argument: name,
      expected: `a notebook in nbformat 4 (${what})`,
      received,
    });
  };
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    return refuse(error instanceof Error ? error.message : text);
  }
  if (!isRecord(value) || value['nbformat'] !== 4 || !Array.isArray(value['cells'])) return refuse(value);
  const { metadata = {} } = value;
  if (!isRecord(metadata)) return refuse(metadata, 'its metadata an object');
  const cells = value['cells'].map((cell: unknown, index): NotebookCell => {
    if (!isRecord(cell) || !isCellType(cell['cell_type'])) return refuse(cell);
    const { source = '', metadata: cellMetadata = {}, outputs } = cell;
    // What is read as something else would be saved as something else.
    if (!isText(source)) return refuse(source, `the source of cell ${index + 1} a text or a list of texts`);
    if (!isRecord(cellMetadata) || !isRecord(cellMetadata['jupyter'] ?? {}))
      return refuse(
        cellMetadata,
        `the metadata of cell ${index + 1} an object, and what it says of jupyter too`,
      );
    return {
      ...cell,
      cell_type: cell['cell_type'],
      metadata: cellMetadata,
      source: typeof source === 'string' ? source : source.join(''),
      ...(Array.isArray(outputs) ? { outputs: outputs as CellOutput[] } : {}),
    };
  });
  return {
    ...value,
    nbformat: 4,
    nbformat_minor: typeof value['nbformat_minor'] === 'number' ? value['nbformat_minor'] : 5,
    metadata,
    cells,
  };
}

/** The text of an .ipynb file: texts split into lines as nbformat asks, so that version control shows small changes. */
export function formatNotebook(notebook: Notebook): string {
  const cells = notebook.cells.map((cell) => ({
    ...cell,
    source: inLines(cell.source),
    ...(cell.cell_type === 'code'
      ? { execution_count: cell.execution_count ?? null, outputs: (cell.outputs ?? []).map(outputInLines) }
      : {}),
  }));
  return `${JSON.stringify({ ...notebook, cells }, null, 1)}\n`;
}

function outputInLines(output: CellOutput): object {
  if (output.output_type === 'stream') return { ...output, text: inLines(output.text) };
  if (output.output_type === 'error') return output;
  const data = Object.entries(output.data).map(([type, value]) => [
    type,
    typeof value === 'string' ? inLines(value) : value,
  ]);
  return { ...output, data: Object.fromEntries(data) };
}

function inLines(text: string): string[] {
  return text === '' ? [] : text.split(/(?<=\n)/);
}

function isText(value: unknown): value is string | readonly string[] {
  return (
    typeof value === 'string' || (Array.isArray(value) && value.every((line) => typeof line === 'string'))
  );
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function isCellType(value: unknown): value is NotebookCell['cell_type'] {
  return value === 'code' || value === 'markdown' || value === 'raw';
}
